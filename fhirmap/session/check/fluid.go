package check

import (
	"math"
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// fluid compares what the machine removed with what the scales lost. Where the
// UF rate confirms the machine, a weight is to be looked at.
func (c *checker) fluid(s *session.Session) {
	removed, ok := c.good(s.Value("uf_removed"))
	expected, most, known := c.known(s).FluidByWeights()
	doubted := func(field session.Field) bool { return c.suspect[s.Value(field).Cell] }
	if held(s) && c.known(s).UrineOfDay() && !slices.ContainsFunc(ofSession, doubted) {
		f := atValue("clin-urine-day", "the weights fit the fluid removed only without this urine", s.Value("urine"))
		f.Cells = append(f.Cells, s.Value("uf_removed").Cell, s.Value("weight_before").Cell, s.Value("weight_after").Cell)
		f.Expected = issue.T("urine passed during the treatment, not that of the day")
		c.add(f, s)
	}
	if !ok || !known || !held(s) || plausible.FluidFits(removed, expected, most) {
		c.fluidSoFar(s)
		return
	}
	before, after := s.Value("weight_before"), s.Value("weight_after")
	f := atValue("clin-uf-weights", "the fluid removed and the weights do not fit together", s.Value("uf_removed"))
	f.Cells = append(f.Cells, before.Cell, after.Cell)
	f.Expected = issue.T("about {}, from the weights and what was drunk and infused", quantity(short(roundFor(expected)), "L"))
	if v, litres, found := c.pointOfIntake(s, removed, expected, most); found {
		f = atValue("clin-uf-weights", "the fluid removed and the weights fit together with the decimal point elsewhere", v)
		f.Cells = append(f.Cells, s.Value("uf_removed").Cell, before.Cell, after.Cell)
		f.Expected = issue.T("perhaps {}", quantity(short(litres), "L"))
	} else if wrong, kg, confirmed := c.weightToMend(s, removed, expected); confirmed {
		f = atValue("clin-uf-weights", "the {} does not fit the other weight and the fluid removed", s.Value(wrong), name(wrong))
		f.Cells = append(f.Cells, before.Cell, after.Cell, s.Value("uf_removed").Cell)
		f.Expected = issue.T("about {}", quantity(short(math.Round(kg*10)/10), "kg"))
		if g, slip := c.weightDigits(s); slip && g.Cells[0] == f.Cells[0] {
			f.Expected = g.Expected
		}
	}
	c.suspect[f.Cells[0]] = true
	c.add(f, s)
}

// pointOfIntake is an amount that went in, ten or a hundred times the person's
// usual one or a part of it, with which fluid and weights would fit.
func (c *checker) pointOfIntake(s *session.Session, removed, expected, most float64) (wrong session.Value, litres float64, ok bool) {
	for _, field := range []session.Field{"drinks", "saline", "rinseback"} {
		v := s.Value(field)
		number, good := c.good(v)
		var others []float64
		for _, other := range c.log.Sessions {
			if own, ok := c.good(other.Value(field)); ok && other != s {
				others = append(others, own)
			}
		}
		if !good || len(others) < fewest {
			continue
		}
		for _, slip := range decimalSlips {
			meant := number * slip.factor
			if within(meant, median(others), 0.5) && plausible.FluidFits(removed, expected-number+meant, most) {
				return v, meant, true
			}
		}
	}
	return wrong, 0, false
}

// weightToMend is the weight further from those of the sessions around, and
// what would fit; ok is false unless UF rate and treatment time give the fluid
// removed.
func (c *checker) weightToMend(s *session.Session, removed, expected float64) (wrong session.Field, kg float64, ok bool) {
	uf, ok := c.ufAccount(s)
	length, timed := c.treatedAccount(s)
	if !timed {
		length, timed = c.clockAccount(s)
	}
	if !ok || !timed || !uf.Fits(length.Account) {
		return "", 0, false
	}
	i := slices.Index(c.log.Sessions, s)
	worst := -1.0
	for _, field := range weightFields {
		var near []float64
		for j := max(0, i-neighbours); j <= min(len(c.log.Sessions)-1, i+neighbours); j++ {
			if v, good := c.good(c.log.Sessions[j].Value(field)); good && j != i {
				near = append(near, v)
			}
		}
		if len(near) < fewest {
			return "", 0, false
		}
		v := s.Value(field).Decimal.Float64()
		if off := math.Abs(v - median(near)); off > worst {
			worst, wrong = off, field
			kg = v + removed - expected
			if field == "weight_after" {
				kg = v - removed + expected
			}
		}
	}
	return wrong, kg, true
}

// intake is what went in during a session, in litres; written is false when
// neither drinks nor saline nor rinse-back is written down.
func (c *checker) intake(s *session.Session) (litres float64, written bool) {
	for _, field := range []session.Field{"drinks", "saline", "rinseback"} {
		if v, ok := c.good(s.Value(field)); ok {
			litres += v
			written = true
		}
	}
	return litres, written
}

// fluidSoFar follows the fluid removed from reading to reading: it cannot
// fall, nor pass what was removed in the end.
func (c *checker) fluidSoFar(s *session.Session) {
	const display = 0.1 // L, of a machine's display and the time to write it down
	total, known := c.good(s.Value("uf_removed"))
	last := session.Value{}
	lastLitres := 0.0
	again := readAgain(s)
	for _, r := range s.Readings {
		v := r.Value("uf_so_far")
		litres, ok := c.good(v)
		if !ok || again[r] {
			continue
		}
		switch {
		case last.OK() && litres < lastLitres-plausible.Rounding:
			f := atValue("clin-uf-falls", "the fluid removed so far is less than at the reading before", v)
			f.Cells = append(f.Cells, last.Cell)
			f.Expected = issue.T("{} or more", last.Text)
			c.add(f, s)
		case known && litres > total+display+plausible.Rounding:
			f := atValue("clin-uf-falls", "the fluid removed so far is more than was removed in the end", v)
			f.Cells = append(f.Cells, s.Value("uf_removed").Cell)
			f.Expected = issue.T("{} or less", s.Value("uf_removed").Text)
			c.add(f, s)
			continue // the next one does not fall below it
		}
		last, lastLitres = v, litres
	}
}

// flow is a flow in mL/min that held through the session, and the cell it is
// from.
func (c *checker) flow(s *session.Session, field session.Field) (perMinute float64, cell issue.Cell, ok bool) {
	perMinute, ok = c.known(s).Flow(string(field))
	if _, set := c.good(s.Value(field)); set {
		return perMinute, s.Value(field).Cell, ok
	}
	for _, r := range s.Readings {
		if _, read := c.good(r.Value(field)); read {
			return perMinute, r.Value(field).Cell, ok
		}
	}
	return perMinute, cell, ok
}

// within reports whether a differs from b by no more than a share of b.
func within(a, b, share float64) bool { return math.Abs(a-b) <= share*math.Abs(b) }
