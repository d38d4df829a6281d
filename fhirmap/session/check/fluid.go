package check

import (
	"math"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// unexplained is the difference in litres or kg between fluid removed and
// weight lost that scales, clothes and display leave (common practice).
const unexplained = 0.5

// fluid compares what the machine removed with what the scales lost.
func (c *checker) fluid(s *session.Session) {
	removed, ok := c.good(s.Value("uf_removed"))
	before, okBefore := c.good(s.Value("weight_before"))
	after, okAfter := c.good(s.Value("weight_after"))
	if !ok || !okBefore || !okAfter || !held(s) {
		c.fluidSoFar(s)
		return
	}
	intake, written := c.intake(s)
	urine, _ := c.good(s.Value("urine"))
	expected, err := calc.UFExpected(before, after, intake, 0, 0, urine)
	if err != nil {
		return
	}
	difference, _ := calc.UFDiscrepancy(removed, expected)
	most := unexplained
	if !written {
		most += unwritten
	}
	if difference >= -unexplained-rounding && difference <= most+rounding {
		c.fluidSoFar(s)
		return
	}
	f := atValue("clin-uf-weights", "the fluid removed and the weights do not fit together", s.Value("uf_removed"))
	f.Cells = append(f.Cells, s.Value("weight_before").Cell, s.Value("weight_after").Cell)
	f.Expected = "about " + short(roundFor(expected)) + " L, from the weights and what was drunk and infused"
	c.add(f, s)
}

const (
	// unwritten is what people drink, eat and get back with the rinse in a
	// session when nothing of it is written down (common practice).
	unwritten = 0.5
	// rounding keeps a difference of exactly the limit from being reported
	// because of binary fractions.
	rounding = 1e-9
)

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
	for _, r := range s.Readings {
		v := r.Value("uf_so_far")
		litres, ok := c.good(v)
		if !ok {
			continue
		}
		switch {
		case last.OK() && litres < lastLitres-rounding:
			f := atValue("clin-uf-falls", "the fluid removed so far is less than at the reading before", v)
			f.Cells = append(f.Cells, last.Cell)
			f.Expected = last.Text + " or more"
			c.add(f, s)
		case known && litres > total+display+rounding:
			f := atValue("clin-uf-falls", "the fluid removed so far is more than was removed in the end", v)
			f.Cells = append(f.Cells, s.Value("uf_removed").Cell)
			f.Expected = s.Value("uf_removed").Text + " or less"
			c.add(f, s)
		}
		last, lastLitres = v, litres
	}
}

// dose compares volumes with flow times time.
func (c *checker) dose(s *session.Session) {
	if !held(s) {
		return
	}
	minutes, exact := c.minutes(s)
	if minutes <= 0 {
		return
	}
	c.volume(s, "dialysate_volume", "dialysate_flow", minutes, exact, 0.10, "clin-dialysate-volume")
	c.volume(s, "blood_processed", "blood_flow", minutes, exact, 0.15, "clin-blood-volume")
	c.ufRate(s, minutes, exact)
}

// minutes is the treatment time: exact as the machine shows it, or the time
// from start to end, which includes pauses.
func (c *checker) minutes(s *session.Session) (minutes float64, exact bool) {
	if m, ok := c.good(s.Value("treated_time")); ok {
		return m, true
	}
	if s.Start.OK() && s.End.OK() {
		return s.End.Time.Sub(s.Start.Time).Minutes(), false
	}
	return 0, false
}

// pauses is the share of a session that may pass without treatment when only
// start and end are known (common practice).
const pauses = 0.15

// volume compares a volume in litres with a flow times the treatment time.
func (c *checker) volume(s *session.Session, volume, flow session.Field, minutes float64, exact bool, within float64, rule string) {
	v := s.Value(volume)
	litres, ok := c.good(v)
	perMinute, cell, known := c.flow(s, flow)
	if !ok || !known || perMinute <= 0 {
		return
	}
	expected := perMinute * minutes / 1000
	least := expected * (1 - within)
	if !exact {
		least -= expected * pauses
	}
	if litres >= least && litres <= expected*(1+within) {
		return
	}
	f := atValue(rule, "the "+name(volume)+" does not fit "+name(flow)+" and time", v)
	f.Cells = append(f.Cells, cell)
	f.Expected = "about " + short(roundFor(expected)) + " L"
	if t := s.Value("treated_time"); t.OK() {
		f.Cells = append(f.Cells, t.Cell)
	}
	c.add(f, s)
}

// flow is a flow in mL/min that held through the session: the readings' mean
// when there are some, for people change the flow, else the one set.
func (c *checker) flow(s *session.Session, field session.Field) (perMinute float64, cell issue.Cell, ok bool) {
	limit, _ := issue.LimitOf(string(field))
	sum, n := 0.0, 0
	for _, r := range s.Readings {
		v := r.Value(field)
		number, good := c.good(v)
		scale, fits := factor(field, v.Unit, limit)
		if good && fits {
			sum, n = sum+number*scale, n+1
			if n == 1 {
				cell = v.Cell
			}
		}
	}
	v := s.Value(field)
	number, good := c.good(v)
	scale, fits := factor(field, v.Unit, limit)
	switch {
	case good && fits && n >= fewest && !within(sum/float64(n), number*scale, 0.1):
		return sum / float64(n), v.Cell, true
	case good && fits:
		return number * scale, v.Cell, true
	case n >= fewest:
		return sum / float64(n), cell, true
	default:
		return 0, issue.Cell{}, false
	}
}

// within reports whether a differs from b by no more than a share of b.
func within(a, b, share float64) bool { return math.Abs(a-b) <= share*math.Abs(b) }

// ufRate compares the fluid removed with the UF rates read off: three or more
// that hardly change, over the treatment time.
func (c *checker) ufRate(s *session.Session, minutes float64, exact bool) {
	const steady, share, least = 0.05, 0.10, 0.25
	v := s.Value("uf_removed")
	removed, ok := c.good(v)
	if !ok {
		return
	}
	limit, _ := c.around(s).LimitOf("uf_rate")
	var rates []float64
	var first session.Value
	for _, r := range s.Readings {
		rate := r.Value("uf_rate")
		number, good := c.good(rate)
		scale, fits := factor("uf_rate", rate.Unit, limit)
		if !good || !fits {
			continue
		}
		if len(rates) == 0 {
			first = rate
		}
		rates = append(rates, number*scale)
	}
	if len(rates) < fewest {
		return
	}
	mid := median(rates)
	for _, rate := range rates {
		if !within(rate, mid, steady) {
			return // a changing rate cannot be averaged from a few readings
		}
	}
	expected := mid * minutes / 60
	slack := max(share*expected, least)
	low := expected - slack
	if !exact {
		low -= pauses * expected
	}
	if removed >= low && removed <= expected+slack {
		return
	}
	f := atValue("clin-uf-rate", "the fluid removed does not fit the UF rate and the time", v)
	f.Cells = append(f.Cells, first.Cell)
	f.Expected = "about " + short(roundFor(expected)) + " L"
	c.add(f, s)
}
