package visit

import (
	"slices"
	"strings"
	"time"

	"runsheet.example/validate/issue"
)

// look lists what is outside what was prescribed, each with its limit and the
// source of the limit, and other facts of the span.
func (b *builder) look() []string {
	var items []string
	add := func(text string) {
		if text != "" {
			items = append(items, text)
		}
	}
	add(b.heldBackText())
	add(b.outside(aboveLimit, "uf_rate_per_kg", ufLimit, func(v float64) bool { return v > 0 },
		issue.T("Above the unit's own limit (UF limit of the prescription): UF rate in {} of {} sessions: {}"), issue.T("{} ({} over {})")))
	add(b.outside(shortTime, "treated_time", prescribedTime, func(v float64) bool { return v < -shortenedBy },
		issue.T("Outside what was prescribed: more than 10 min too short (Saran et al 2003) in {} of {} sessions: {}"), issue.T("{} ({} of {} min)")))
	for _, s := range [...]status{notDone, cutShort} {
		for _, text := range b.reasons(s) {
			add(text)
		}
	}
	add(b.fewerWeeks())
	for _, text := range b.hypotension() {
		add(text)
	}
	add(b.symptoms())
	for _, m := range measures {
		if n := b.series(m.key).other; n > 0 {
			add(b.t(issue.T("{}: {} sessions in another unit, at another blood flow or by another method are left out", m.name, n)))
		}
	}
	switch {
	case len(items) > 0:
	case b.compared():
		add(b.t(issue.T("Nothing outside what was prescribed stands in these sessions.")))
	default:
		add(b.t(issue.T("Nothing is prescribed here to compare the sessions with.")))
	}
	return items
}

// compared reports whether any session has something prescribed beside it.
func (b *builder) compared() bool {
	return slices.ContainsFunc(b.treatments, func(t treatment) bool {
		_, short := t.values[shortTime]
		_, above := t.values[aboveLimit]
		return short || above
	})
}

func (b *builder) heldBackText() string {
	n := len(b.heldBack)
	if n == 0 {
		return ""
	}
	return b.t(issue.Text{Key: issue.OneOrMany(n, "{} session is held back because of mistakes in the log; its values are not on this page",
		"{} sessions are held back because of mistakes in the log; their values are not on this page"), Args: []any{n}})
}

// outside lists the sessions whose difference from what was prescribed is
// beyond, with value and limit.
func (b *builder) outside(difference, given, limit string, beyond func(float64) bool, line, one issue.Text) string {
	const most = 4
	of, hits := 0, []treatment{}
	for _, t := range b.treatments {
		if v, ok := t.values[difference]; ok {
			of++
			if beyond(v.number) {
				hits = append(hits, t)
			}
		}
	}
	if len(hits) == 0 {
		return ""
	}
	var parts []string
	for i, t := range hits {
		if i == most-1 && len(hits) > most {
			parts = append(parts, b.t(issue.T("and {} more", len(hits)-i)))
			break
		}
		one.Args = []any{b.shortDate(t.start), t.values[given].text, t.values[limit].text}
		parts = append(parts, b.t(one))
	}
	line.Args = []any{len(hits), of, strings.Join(parts, ", ")}
	return b.t(line)
}

// reasons lists the sessions of a status, with their reasons.
func (b *builder) reasons(s status) []string {
	const most = 3
	var of []treatment
	for _, t := range b.treatments {
		if t.status == s {
			of = append(of, t)
		}
	}
	var items []string
	for i, t := range of {
		if i == most-1 && len(of) > most {
			days := make([]time.Time, 0, len(of))
			for _, other := range of[i:] {
				days = append(days, day(other.start))
			}
			return append(items, b.t(issue.T("{} more {}: {}", len(days), issue.Literal(b.statusName(s)), b.dates(days))))
		}
		text := b.t(issue.T("{}, {}", b.shortDate(t.start), issue.Literal(b.statusName(s))))
		if t.reason != "" && !b.opts.NoNotes {
			text += b.t(issue.T(": “{}”", b.short(t.reason, wordsOfReason)))
		}
		items = append(items, text)
	}
	return items
}

// fewerWeeks lists whole weeks of the span with fewer sessions done than
// prescribed.
func (b *builder) fewerWeeks() string {
	var days []time.Time
	of := 0
	for _, w := range b.weeksOf() {
		if w.planned == "" || w.monday.Before(b.from) || w.monday.AddDate(0, 0, 6).After(b.to) {
			continue
		}
		of++
		if float64(w.done) < w.plannedNumber {
			days = append(days, w.monday)
		}
	}
	if len(days) == 0 {
		return ""
	}
	return b.t(issue.T("Outside what was prescribed: fewer sessions in {} of {} whole weeks, those from {}", len(days), of, b.dates(days)))
}

// hypotension counts the sessions by each definition that is met.
func (b *builder) hypotension() []string {
	met, of := map[string][]time.Time{}, map[string]int{}
	var names []string
	for _, t := range b.treatments {
		for name, yes := range t.hypotension {
			if of[name]++; yes {
				met[name] = append(met[name], day(t.start))
			}
		}
	}
	for name := range met {
		names = append(names, name)
	}
	slices.Sort(names)
	var items []string
	for _, name := range names {
		items = append(items, b.t(issue.T("Intradialytic hypotension by {}: {} of {} sessions that can be assessed: {}", name, len(met[name]), of[name], b.dates(met[name]))))
	}
	return items
}

// symptoms lists what the patient wrote as symptoms, the latest first.
func (b *builder) symptoms() string {
	const most = 4
	if b.opts.NoNotes {
		return ""
	}
	var parts []string
	n := 0
	for i := len(b.treatments) - 1; i >= 0; i-- {
		for _, s := range b.treatments[i].symptoms {
			if n++; n <= most {
				parts = append(parts, b.t(issue.T("{} “{}”", b.shortDate(b.treatments[i].start), b.short(s, 40))))
			}
		}
	}
	if n == 0 {
		return ""
	}
	if n > most {
		parts = append(parts, b.t(issue.T("and {} more", n-most)))
	}
	return b.t(issue.T("Symptoms written down: {}", strings.Join(parts, ", ")))
}

// week is one week of the calendar.
type week struct {
	monday time.Time
	// done counts the sessions that took place; planned is what the
	// prescription of the Monday asks for, "" if it does not say.
	done          int
	planned       string
	plannedNumber float64
}

// weeksOf are the weeks of the span.
func (b *builder) weeksOf() []week {
	var weeks []week
	for m := monday(b.from); !m.After(b.to); m = m.AddDate(0, 0, 7) {
		w := week{monday: m}
		p, _ := b.planOn(m)
		if v, ok := p.values["sessions"]; ok {
			w.planned, w.plannedNumber = v.text, v.number
		}
		for _, t := range b.treatments {
			if t.status != notDone && monday(t.start).Equal(m) {
				w.done++
			}
		}
		if n, ok := b.weekDone[m]; ok && !m.Before(b.from) && !m.AddDate(0, 0, 6).After(b.to) {
			w.done = n // a treatment that was started again counts once
		}
		weeks = append(weeks, w)
	}
	return weeks
}

// monday is the first day of the week of a day.
func monday(t time.Time) time.Time { return day(t).AddDate(0, 0, -(int(t.Weekday())+6)%7) }
