package open

import (
	"strings"

	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
)

// lastValues finds what stood in each column in the last session before that
// has it. It stands beside the field and is never put into it.
func (p *sessionPage) lastValues() {
	if p.found == nil || p.found.log == nil {
		return
	}
	sessions := p.found.log.Sessions
	at := len(sessions)
	if i, ok := p.found.found[p.Row]; ok {
		at = i
	}
	for _, s := range p.Sections {
		if s.Entry == nil || s.ID == "plan" || s.ID == "notes" {
			continue
		}
		for _, f := range append(s.Entry.Fields[:len(s.Entry.Fields):len(s.Entry.Fields)], s.Entry.More...) {
			for i := at - 1; i >= 0 && i >= at-20 && f.Last == ""; i-- {
				if v := sessions[i].Values[f.column.Field]; v.OK() && v.Unit == f.column.Unit {
					f.Last = v.Text
				} else if t := sessions[i].Texts[f.column.Field]; t.OK() && f.Kind == "text" {
					f.Last = t.Text
				}
			}
		}
	}
}

// neighbours finds the sessions before and after this one.
func (p *sessionPage) neighbours() {
	at, ok := p.found.found[p.Row]
	if !ok {
		return
	}
	if at > 0 {
		p.Earlier = p.found.log.Sessions[at-1].Cell.Row
	}
	if at+1 < len(p.found.log.Sessions) {
		p.Next = p.found.log.Sessions[at+1].Cell.Row
	}
}

// read is how the text of a cell was read, "" where that says no more than the
// text.
func (p *sessionPage) read(c session.Column, row int, text string) string {
	if p.Session == nil || text == "" {
		return ""
	}
	var m session.Moment
	if c.Sheet == session.SheetSessions {
		m = map[string]session.Moment{"date": p.Session.Date, "start": p.Session.Start, "end": p.Session.End,
			"before_at": p.Session.BeforeAt, "after_at": p.Session.AfterAt, "entered_at": p.Session.EnteredAt}[c.Name]
	}
	for _, r := range p.Session.Readings {
		if c.Sheet == session.SheetReadings && c.Name == "time" && r.Cell.Row == row {
			m = r.At
		}
	}
	if m.OK() {
		return p.readMoment(m, text)
	}
	if v := p.value(c, row); v.OK() && v.Decimal.String() != strings.TrimSpace(text) {
		return strings.TrimSpace(v.Comparator + v.Decimal.String() + " " + steps.Unit(c))
	}
	return ""
}

func (p *sessionPage) readMoment(m session.Moment, text string) string {
	clock := m.Time.Format("15:04")
	switch {
	case m.DateOnly:
		return dayIn(p.lang, m.Time)
	case !p.Day.IsZero() && m.Time.Day() != p.Day.Day():
		return p.say("{}, {}", dayIn(p.lang, m.Time), clock)
	case clock != strings.TrimSpace(text):
		return clock
	}
	return ""
}

// value is the number that a cell was read as.
func (p *sessionPage) value(c session.Column, row int) session.Value {
	if c.Sheet == session.SheetSessions {
		return p.Session.Values[c.Field]
	}
	for _, r := range p.Session.Readings {
		if c.Sheet == session.SheetReadings && r.Cell.Row == row {
			return r.Values[c.Field]
		}
	}
	return session.Value{}
}
