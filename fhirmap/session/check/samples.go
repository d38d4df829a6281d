package check

import (
	"slices"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// samples checks the times of the blood samples of a session. It reports a fault
// of several samples once.
func (c *checker) samples(s *session.Session) {
	first := len(c.findings)
	for _, l := range s.Labs {
		f, found := c.drawn(s, l)
		if !found {
			continue
		}
		same := func(g issue.Finding) bool {
			return g.Value == f.Value && g.Expected.String() == f.Expected.String() && g.Details.String() == f.Details.String()
		}
		if i := slices.IndexFunc(c.findings[first:], same); i >= 0 {
			c.findings[first+i].Cells = append(c.findings[first+i].Cells, f.Cells[0])
			continue
		}
		c.add(f, s)
	}
}

// sampleSlack is how far into or before the end of a session a sample is
// still one from before or after it.
const sampleSlack = 15 * time.Minute

// sampleFar is how long before or after a session a sample belongs to another
// one (common practice).
const sampleFar = 24 * time.Hour

// drawn compares the time of a sample with the session that it names.
func (c *checker) drawn(s *session.Session, l *session.Lab) (f issue.Finding, found bool) {
	before := l.When.Text == "before"
	edge, text := s.End, "after"
	if before {
		edge, text = s.Start, "before"
	}
	if !l.Drawn.OK() || !s.Start.OK() || c.clockDoubted(s) || !edge.OK() || l.When.Text != text {
		return f, false
	}
	f = atValue("clin-sample-time", "", session.Value{Text: l.Drawn.Text, Cell: l.Drawn.Cell})
	f.Cells = append(f.Cells, edge.Cell)
	off := l.Drawn.Time.Sub(edge.Time)
	other, when := c.drawnIn(l), "before"
	if before {
		when = "after"
	}
	panel := c.panelOf(s, l)
	switch {
	case c.together(s, l, when) && !sampleFits(s, l, l.Drawn.Time):
		f = at("clin-sample-time", "the sample was drawn with those of the other phase", l.When.Cell)
		f.Value, f.Expected = l.When.Text, issue.T("perhaps {}", when)
		f.Cells = append(f.Cells, l.Drawn.Cell)
	case panel != nil:
		f = at("clin-sample-time", "the sample was drawn at the time of another session", l.Cell)
		f.Value, f.Expected, f.Mend = s.ID, issue.T("perhaps {}", panel.ID), issue.T("look at the session's name in this row")
		f.Cells = append(f.Cells, l.Drawn.Cell)
	case other != nil && other != s && !paired(s, l) && !sampleFits(s, l, l.Drawn.Time):
		f = at("clin-sample-time", "the sample was drawn at the time of another session", l.Cell)
		f.Value, f.Expected, f.Mend = s.ID, issue.T("perhaps {}", other.ID), issue.T("look at the session's name in this row")
		f.Cells = append(f.Cells, l.Drawn.Cell)
	case other == nil && !before && sampleFits(s, l, l.Drawn.Time.Add(-halfDay)):
		f.Details = issue.T("the sample from after dialysis was drawn many hours after it")
	case other == nil && before && drawnWith(s, l, l.Drawn.Time.Add(halfDay)):
		f.Details = issue.T("the sample from before dialysis was drawn many hours before it")
	case before && off > sampleSlack:
		f.Details, f.Expected = issue.T("the sample from before dialysis was drawn after the session started"), issue.T("a time before {}", edge.Time.Add(sampleSlack).Format("15:04"))
	case before && -off > sampleFar, !before && off > sampleFar:
		f.Details = issue.T("the sample was drawn days before or after the session")
		f.Cells[1] = s.Date.Cell
	case !before && -off > sampleSlack:
		f.Details, f.Expected = issue.T("the sample from after dialysis was drawn before the session ended"), issue.T("a time after {}", edge.Time.Add(-sampleSlack).Format("15:04"))
	default:
		return f, false
	}
	if f.Value == l.Drawn.Text {
		c.sampleMeant(s, l, &f)
	}
	return f, true
}

// together reports a result without one of its test in the other phase, where a sample
// of that phase was drawn at its time.
func (c *checker) together(s *session.Session, l *session.Lab, when string) (found bool) {
	for _, o := range s.Labs {
		if o.When.Text == when && o.Test.Text == l.Test.Text {
			return false
		}
		found = found || o.When.Text == when && o.Drawn.OK() && o.Drawn.Time.Equal(l.Drawn.Time)
	}
	return found
}

// panelOf is a session held just before or after one, in which several other results
// were drawn at the time of day of a result that no other one of its session has, and
// that lacks this test; nil for none.
func (c *checker) panelOf(s *session.Session, l *session.Lab) *session.Session {
	const several = 3 // results (common practice)
	with := func(o *session.Session) (n int, twice bool) {
		for _, one := range o.Labs {
			if one != l && one.When.Text == l.When.Text && one.Drawn.OK() && clock(one.Drawn) == clock(l.Drawn) {
				n++
			}
			twice = twice || one.Test.Text == l.Test.Text && one.When.Text == l.When.Text
		}
		return n, twice
	}
	if n, _ := with(s); n > 0 {
		return nil
	}
	rows := c.inRows()
	i := slices.Index(rows, s)
	for _, j := range []int{i - 1, i + 1} {
		if i >= 0 && j >= 0 && j < len(rows) {
			if n, twice := with(rows[j]); n >= several && !twice {
				return rows[j]
			}
		}
	}
	return nil
}

// sampleMeant proposes the time half a day away, or the day before or after,
// at which a sample would fit its session.
func (c *checker) sampleMeant(s *session.Session, l *session.Lab, f *issue.Finding) {
	for _, shift := range []time.Duration{2 * halfDay, -2 * halfDay, halfDay, -halfDay} {
		meant := l.Drawn.Time.Add(shift)
		switch {
		case !sampleFits(s, l, meant):
			continue
		case shift.Abs() == 2*halfDay:
			f.Expected = issue.T("perhaps {}", c.day(l.Day.Text, meant))
			if !l.Day.Cell.IsZero() {
				f.Cells[0], f.Value = l.Day.Cell, l.Day.Text
			}
		case meant.Day() == l.Drawn.Time.Day():
			f.Expected = issue.T("perhaps {}", spelt(l.Drawn, meant))
		default:
			f.Expected = issue.T("perhaps {}", c.day(l.Day.Text, meant)+" "+spelt(l.Drawn, meant))
		}
		return
	}
}

// drawnWith is whether another sample from before the session was drawn at this
// time. A sample alone may be from the morning.
func drawnWith(s *session.Session, l *session.Lab, t time.Time) bool {
	return slices.ContainsFunc(s.Labs, func(other *session.Lab) bool {
		return other.When.Text == l.When.Text && other.Drawn.OK() && other.Drawn.Time.Equal(t)
	})
}

// paired reports a sample of a test that the session also has from the other
// phase, drawn at its time.
func paired(s *session.Session, l *session.Lab) bool {
	return slices.ContainsFunc(s.Labs, func(other *session.Lab) bool {
		return other != l && other.Test.Text == l.Test.Text && other.When.Text != l.When.Text &&
			(!other.Drawn.OK() || sampleFits(s, other, other.Drawn.Time))
	})
}

// sampleFits is whether a time is one of a sample from before a session that
// started then, or from after one that ended then.
func sampleFits(s *session.Session, l *session.Lab, t time.Time) bool {
	const apart = 2 * time.Hour
	from, to := s.Start.Time.Add(-apart), s.Start.Time.Add(sampleSlack)
	if l.When.Text == "after" {
		from, to = s.End.Time.Add(-sampleSlack-time.Second), s.End.Time.Add(apart)
	}
	return t.After(from) && t.Before(to)
}

// drawnIn is the session before or after which a sample was drawn by its time.
func (c *checker) drawnIn(l *session.Lab) *session.Session {
	i := slices.IndexFunc(c.log.Sessions, func(s *session.Session) bool {
		return held(s) && s.Start.OK() && s.End.OK() && l.Day.OK() && sampleFits(s, l, l.Drawn.Time)
	})
	if i < 0 {
		return nil
	}
	return c.log.Sessions[i]
}

// medicines compares each dose of a session with its limits.
func (c *checker) medicines(s *session.Session) {
	limit, _ := c.around(s).LimitOf("heparin_total")
	for _, m := range s.Medicines {
		c.likeOwn(s, m)
		c.ownDoses(s, m, m.Rate)
		if dose, ok := c.good(m.Dose); ok && dose <= 0 {
			c.add(atValue("clin-impossible", "a dose that was given is above zero", m.Dose), s)
			continue
		}
		dose, ok := c.good(m.Dose)
		if m.Kind.Text != "anticoagulant" && !plausible.IsHeparin(m.Name.Text) || m.Dose.Unit != limit.Unit || !ok || !limit.Unusual(dose) {
			c.dose(s, m)
			continue
		}
		f := atValue("clin-unusual", "the dose of the anticoagulant is unusually high", m.Dose)
		if limit.Impossible(dose) {
			f = atValue("clin-impossible", "the dose of the anticoagulant cannot be right", m.Dose)
		}
		f.Expected = issue.T("usually up to {}", quantity(short(limit.SoftHigh), "[iU]"))
		if own := c.only(m, func(m *session.Medicine) session.Value { return m.Dose }); own > 0 && !limit.Unusual(own) {
			f.Expected = issue.T("perhaps {}", quantity(short(own), m.Dose.Unit))
		}
		c.add(f, s)
	}
}
