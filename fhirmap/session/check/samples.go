package check

import (
	"slices"
	"time"

	"runsheet.example/calc"
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

// ureaOf is a urea or BUN result in mmol/L of urea.
func (c *checker) ureaOf(l *session.Lab) (float64, bool) {
	v, ok := c.good(l.Value)
	if !ok {
		return 0, false
	}
	switch l.Test.Text + " " + l.Value.Unit {
	case "urea mmol/L", "bun mmol/L":
		return v, true
	case "urea mg/dL":
		return calc.UreaFromMgPerDL(v), true
	case "bun mg/dL":
		return calc.UreaFromBUN(v), true
	default:
		return 0, false
	}
}

// ureaLab is the urea or BUN result of a phase.
func (c *checker) ureaLab(s *session.Session, when string) *session.Lab {
	for _, l := range s.Labs {
		if _, ok := c.ureaOf(l); ok && l.When.Text == when {
			return l
		}
	}
	return nil
}

// pairWith is whether a number could be meant for one sample of a pair, so that
// no suggestion has urea rise; nil where there is no other in the same unit.
func pairWith(s *session.Session, one *session.Lab) func(float64) bool {
	for _, l := range s.Labs {
		if l == one || !l.Value.OK() || l.Test.Text != one.Test.Text || l.Value.Unit != one.Value.Unit || l.Test.Text != "urea" && l.Test.Text != "bun" {
			continue
		}
		other := l.Value.Decimal.Float64()
		switch one.When.Text + " " + l.When.Text {
		case "before after":
			return func(v float64) bool { return v > other }
		case "after before":
			return func(v float64) bool { return v < other }
		}
	}
	return nil
}

// words are the rule and the text of each comparison.
var words = map[string]struct{ rule, details string }{
	plausible.UreaRises:      {"clin-urea-rises", "urea after dialysis is not below urea before; the samples may be swapped"},
	plausible.UreaRatio:      {"clin-urea-ratio", "urea fell less or more from before to after than is usual"},
	plausible.UreaClearance:  {"clin-urea-clearance", "urea fell by another amount than flows and time lead to expect"},
	plausible.UreaGeneration: {"clin-urea-generation", "the two ureas would mean an unusual amount of protein eaten"},
}

// disagreements reports values of a session that contradict each other, a pair of
// samples once.
func (c *checker) disagreements(s *session.Session) {
	if !held(s) {
		return
	}
	found := c.known(s).Disagreements()
	if len(found) == 0 || found[0].Name != plausible.UreaRises {
		c.rises(s)
	}
	if len(found) > 0 {
		c.pairInDoubt(s, found[0], found[len(found)-1].Name == plausible.UreaGeneration)
	}
}

// rises reports, in one finding, the results of substances that dialysis removes
// if they are higher after than before.
func (c *checker) rises(s *session.Session) {
	const least = 0.25 // of the result before (common practice)
	var f issue.Finding
	rising := c.known(s).Rising()
	for _, after := range s.Labs {
		test := session.Field(after.Test.Text)
		i := slices.IndexFunc(s.Labs, func(l *session.Lab) bool { return l.When.Text == "before" && l.Test.Text == after.Test.Text })
		if !slices.Contains(rising, string(test)) || i < 0 || after.When.Text != "after" {
			continue
		}
		before := s.Labs[i]
		from, _ := c.inLimitUnit(test, before.Value)
		to, _ := c.inLimitUnit(test, after.Value)
		if f.Rule == "" {
			f = atValue("clin-solute-rises", "the {} after dialysis is above that before; dialysis lowers it", after.Value, name(test))
			f.Expected = issue.T("less than {}", quantity(before.Value.Text, before.Value.Unit))
			if text, ok := exchangedDigits(after.Value, func(meant float64) bool {
				share := meant / after.Value.Decimal.Float64() * to / from
				return share >= least && share < 1
			}); ok {
				f.Expected = issue.T("perhaps {}", quantity(text, after.Value.Unit))
			}
			f.Cells = nil
		}
		f.Cells = append(f.Cells, after.Value.Cell, before.Value.Cell)
	}
	if f.Rule != "" {
		c.add(f, s)
	}
}

// pairInDoubt reports a pair of samples, and the slip that would explain it;
// amount is set if both are also unusually high or low.
func (c *checker) pairInDoubt(s *session.Session, d plausible.Disagreement, amount bool) {
	before, after := c.ureaLab(s, "before"), c.ureaLab(s, "after")
	if before == nil || after == nil {
		return
	}
	first, second := after, before
	f := atValue(words[d.Name].rule, words[d.Name].details, first.Value)
	switch d.Name {
	case plausible.UreaRises:
		f.Expected = issue.T("less than {}", before.Value.Text)
	case plausible.UreaRatio:
		f.Expected = issue.T("usually {} to {} of the value before", short(d.Low), short(d.High))
	case plausible.UreaClearance:
		f.Expected = issue.T("the tubes with the right labels, drawn at the right moment")
		if before.Test.Text != after.Test.Text || before.Value.Unit != after.Value.Unit {
			f.Expected = issue.T("both results of one test in one unit")
		} else if meant := c.otherUnit(s, before); amount && meant != "" {
			f.Expected = issue.T("perhaps {}, both of them, or tubes that were mixed up", issue.T(meant))
		}
	case plausible.UreaGeneration:
		first, second = before, after
		f = atValue(words[d.Name].rule, words[d.Name].details, first.Value)
		f.Expected = issue.T("the test and the unit that stand in the report")
		if meant := c.otherUnit(s, before); meant != "" {
			f.Expected = issue.T("perhaps {}, both of them", issue.T(meant))
		}
	}
	if inB, inA := c.agreesIn(s, before, after), c.agreesIn(s, after, before); before.Value.Unit != after.Value.Unit && inA != inB {
		first, second = after, before
		if inB {
			first, second = before, after
		}
		f = atValue(words[d.Name].rule, words[d.Name].details, first.Value)
		f.Value = first.Value.Text + " " + spoken(first.Value.Unit)
		f.Expected = issue.T("perhaps {}", quantity(first.Value.Text, second.Value.Unit))
	}
	f.Cells = append(f.Cells, second.Value.Cell)
	c.add(f, s)
}

// agreesIn reports a result that nothing contradicts in the unit of the other
// one of its pair.
func (c *checker) agreesIn(s *session.Session, one, other *session.Lab) bool {
	meant := *one
	meant.Value.Unit = other.Value.Unit
	urea, ok := c.ureaOf(&meant)
	k := *c.known(s)
	k.Values = mapWith(k.Values, "urea_"+one.When.Text, urea)
	return ok && one.Test.Text == other.Test.Text && len(k.Disagreements()) == 0
}

// ureaUnits are the ways in which a laboratory reports urea, in mmol/L of urea.
var ureaUnits = []struct {
	test, unit, words string
	urea              float64
}{
	{"bun", "mg/dL", "BUN in mg/dL", calc.UreaFromBUN(1)},
	{"urea", "mmol/L", "urea in mmol/L", 1},
	{"urea", "mg/dL", "urea in mg/dL", calc.UreaFromMgPerDL(1)},
}

// otherUnit is the test and unit that would make an ordinary pair of the
// numbers as written.
func (c *checker) otherUnit(s *session.Session, lab *session.Lab) string {
	const least, most = 0.5, 1.7 // g/kg/d, what most people eat (common practice)
	written, _ := c.ureaOf(lab)
	for _, u := range ureaUnits {
		rate, ok := c.known(s).CatabolicRate(lab.Value.Decimal.Float64() * u.urea / written)
		if ok && rate >= least && rate <= most && (u.test != lab.Test.Text || u.unit != lab.Value.Unit) {
			return u.words
		}
	}
	return ""
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
	other := c.drawnIn(l)
	switch {
	case other != nil && other != s && !paired(s, l) && !sampleFits(s, l, l.Drawn.Time):
		f = at("clin-sample-time", "the sample was drawn at the time of another session", l.Cell)
		f.Value, f.Expected, f.Mend = s.ID, issue.T("perhaps {}", other.ID), issue.T("look at the session's name in this row")
		f.Cells = append(f.Cells, l.Drawn.Cell)
	case other == nil && !before && sampleFits(s, l, l.Drawn.Time.Add(-halfDay)):
		f.Details = issue.T("the sample from after dialysis was drawn many hours after it")
	case other == nil && before && drawnWith(s, l, l.Drawn.Time.Add(halfDay)):
		f.Details = issue.T("the sample from before dialysis was drawn many hours before it")
	case before && off > sampleSlack:
		f.Details, f.Expected = issue.T("the sample from before dialysis was drawn after the session started"), issue.T("a time before {}", clock(edge))
	case before && -off > sampleFar, !before && off > sampleFar:
		f.Details = issue.T("the sample was drawn days before or after the session")
		f.Cells[1] = s.Date.Cell
	case !before && -off > sampleSlack:
		f.Details, f.Expected = issue.T("the sample from after dialysis was drawn before the session ended"), issue.T("a time after {}", clock(edge))
	default:
		return f, false
	}
	if f.Value == l.Drawn.Text {
		c.sampleMeant(s, l, &f)
	}
	return f, true
}

// sampleMeant proposes the time half a day away, or the day before or after,
// at which a sample would fit its session.
func (c *checker) sampleMeant(s *session.Session, l *session.Lab, f *issue.Finding) {
	for _, shift := range []time.Duration{2 * halfDay, -2 * halfDay, halfDay, -halfDay} {
		meant := l.Drawn.Time.Add(shift)
		day := meant.Format(time.DateOnly)
		switch {
		case !sampleFits(s, l, meant):
			continue
		case shift.Abs() == 2*halfDay:
			f.Cells[0] = cellOr(l.Day.Cell, f.Cells[0])
			f.Expected = issue.T("perhaps {}", day)
		case day == l.Drawn.Time.Format(time.DateOnly):
			f.Expected = issue.T("perhaps {}", spelt(l.Drawn, meant))
		default:
			f.Expected = issue.T("perhaps {}", day+" "+spelt(l.Drawn, meant))
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
		c.add(f, s)
	}
}
