package check

import (
	"math"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// clocked is a moment of a session, the one it is usually so many minutes from, and
// what it is the time of.
type clocked struct {
	at, from session.Moment
	key      string
}

// clockedIn are the moments of a session that belong to its start or its end.
func clockedIn(s *session.Session) (all []clocked) {
	all = []clocked{{s.BeforeAt, s.Start, "before"}, {s.AfterAt, s.End, "after"}}
	for _, row := range s.Checks {
		all = append(all, clocked{row.At, s.Start, "check " + row.What.Text})
	}
	for _, m := range s.Medicines {
		all = append(all, clocked{m.At, s.Start, "given " + drug(m)}, clocked{m.Until, s.End, "until " + drug(m)})
	}
	for _, l := range s.Labs {
		edge := s.Start
		if l.When.Text == "after" {
			edge = s.End
		}
		all = append(all, clocked{l.Drawn, edge, "drawn " + l.When.Text})
	}
	return all
}

func (one clocked) minutes() float64 { return one.at.Time.Sub(one.from.Time).Minutes() }

// ownTimes finds a time that is an hour, or two digits, from when it is in nearly all
// of the person's other sessions, which are close together.
func (c *checker) ownTimes() {
	const steady, far, spreads, close = 15, 40, 3, 10 // minutes, and times the usual deviation (common practice)
	usual := map[string][]float64{}
	each := func(do func(*session.Session, clocked)) {
		for _, s := range c.log.Sessions {
			if s.Status != session.Done || !s.Start.OK() || !s.End.OK() || c.clockDoubted(s) {
				continue
			}
			for _, one := range clockedIn(s) {
				if one.at.OK() && !one.at.DateOnly && !c.suspect[one.at.Cell] && !strings.HasSuffix(one.key, " ") {
					do(s, one)
				}
			}
		}
	}
	each(func(_ *session.Session, one clocked) { usual[one.key] = append(usual[one.key], one.minutes()) })
	told := map[issue.Cell]bool{}
	for _, f := range c.findings {
		for _, cell := range f.Cells {
			told[cell] = told[cell] || f.Severity > issue.Information
		}
	}
	each(func(s *session.Session, one clocked) {
		own := measured(usual[one.key], nearlyAll)
		off := math.Abs(one.minutes() - own.mid)
		if length, _ := c.elapsed(s); math.Abs(length-c.routine.length.mid) > 2*steady {
			return // what is done at the end of a longer session is later
		}
		if own.n <= 2*fewest || own.spread > steady || off < max(far, spreads*own.spread) || told[one.at.Cell] {
			return
		}
		meant, ok := clockMeant(one.at, after(one.from, own.mid))
		if !ok || math.Abs(meant.Sub(one.from.Time).Minutes()-own.mid) > max(close, own.spread) {
			return
		}
		told[one.at.Cell] = true
		f := at("clin-outside-session", "this time is further from the start or the end than in your other sessions", one.at.Cell)
		f.Value, f.Expected = one.at.Text, issue.T("perhaps {}", spelt(one.at, meant))
		f.Cells = append(f.Cells, one.from.Cell)
		c.add(f, s)
	})
}
