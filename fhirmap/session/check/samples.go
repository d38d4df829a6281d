package check

import (
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// samples compares the blood samples of a session: urea before and after, and
// when they were drawn.
func (c *checker) samples(s *session.Session) {
	var before, after *session.Lab
	for _, l := range s.Labs {
		c.drawn(s, l)
		if _, ok := c.ureaOf(l); !ok {
			continue
		}
		switch l.When.Text {
		case "before":
			before = l
		case "after":
			after = l
		}
	}
	if before != nil && after != nil {
		c.ureaPair(s, before, after)
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

// ureaPair compares urea after with urea before: dialysis lowers it, so a
// higher one after means swapped or mislabelled samples.
func (c *checker) ureaPair(s *session.Session, before, after *session.Lab) {
	pre, _ := c.ureaOf(before)
	post, _ := c.ureaOf(after)
	ratio, err := calc.UreaRatio(pre, post)
	if pre <= 0 {
		return
	}
	limit, _ := c.around(s).LimitOf("urea_ratio")
	f := atValue("clin-urea-ratio", "urea fell less or more from before to after than is usual", after.Value)
	switch {
	case post >= pre:
		f = atValue("clin-urea-rises", "urea after dialysis is not below urea before; the samples may be swapped", after.Value)
		f.Expected = "less than " + before.Value.Text
	case err != nil || !limit.Unusual(ratio):
		return
	default:
		f.Expected = "usually " + short(limit.SoftLow) + " to " + short(limit.SoftHigh) + " of the value before"
	}
	f.Cells = append(f.Cells, before.Value.Cell)
	c.add(f, s)
}

// sampleSlack is how far into or before the end of a session a sample is
// still one from before or after it.
const sampleSlack = 15 * time.Minute

// sampleFar is how long before or after a session a sample belongs to another
// one (common practice).
const sampleFar = 24 * time.Hour

// drawn compares the time of a sample with the session it is said to be from.
func (c *checker) drawn(s *session.Session, l *session.Lab) {
	if !l.Drawn.OK() || !s.Start.OK() || c.clockDoubted(s) {
		return
	}
	f := at("clin-sample-time", "", l.Drawn.Cell)
	f.Value = l.Drawn.Text
	switch {
	case l.When.Text == "before" && l.Drawn.Time.After(s.Start.Time.Add(sampleSlack)):
		f.Details = "the sample from before dialysis was drawn after the session started"
		f.Expected = "a time before " + clock(s.Start)
		f.Cells = append(f.Cells, s.Start.Cell)
	case l.When.Text == "before" && l.Drawn.Time.Before(s.Start.Time.Add(-sampleFar)),
		l.When.Text == "after" && s.End.OK() && l.Drawn.Time.After(s.End.Time.Add(sampleFar)):
		f.Details = "the sample was drawn days before or after the session"
		f.Cells = append(f.Cells, s.Date.Cell)
	case l.When.Text == "after" && s.End.OK() && l.Drawn.Time.Before(s.End.Time.Add(-sampleSlack)):
		f.Details = "the sample from after dialysis was drawn before the session ended"
		f.Expected = "a time after " + clock(s.End)
		f.Cells = append(f.Cells, s.End.Cell)
	default:
		return
	}
	c.add(f, s)
}

// medicines compares each dose of a session with its limits.
func (c *checker) medicines(s *session.Session) {
	limit, _ := c.around(s).LimitOf("heparin_total")
	for _, m := range s.Medicines {
		if dose, ok := c.good(m.Dose); ok && dose <= 0 {
			c.add(atValue("clin-impossible", "a dose that was given is above zero", m.Dose), s)
			continue
		}
		dose, ok := c.good(m.Dose)
		if m.Kind.Text != "anticoagulant" || m.Dose.Unit != limit.Unit || !ok || !limit.Unusual(dose) {
			c.dose(s, m)
			continue
		}
		f := atValue("clin-unusual", "the dose of the anticoagulant is unusually high", m.Dose)
		if limit.Impossible(dose) {
			f = atValue("clin-impossible", "the dose of the anticoagulant cannot be right", m.Dose)
		}
		f.Expected = "usually up to " + short(limit.SoftHigh) + " IU"
		c.add(f, s)
	}
}
