package check

import (
	"math"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// flowing is the fluid removed by the time of a reading.
type flowing struct {
	reading       *session.Reading
	row           int // of the readings of the session
	hours, litres float64
	rate          float64 // L/h, NaN where there is none
}

func (c *checker) flowingIn(s *session.Session) (all []flowing) {
	for i, r := range s.Readings {
		litres, ok := c.good(r.Value("uf_so_far"))
		if !ok || !r.At.OK() || c.suspect[r.At.Cell] {
			continue
		}
		one := flowing{r, i, r.At.Time.Sub(s.Date.Time).Hours(), litres, math.NaN()}
		if rate, known := c.inLimitUnit("uf_rate", r.Value("uf_rate")); known {
			one.rate = rate
		}
		all = append(all, one)
	}
	return all
}

// inTurn reports readings that follow each other in time.
func inTurn(all []flowing) bool {
	const least = 5.0 / 60 // h between two readings (common practice)
	for i := 1; i < len(all); i++ {
		if all[i].hours < all[i-1].hours+least {
			return false
		}
	}
	return true
}

func slope(a, b flowing) float64 { return (b.litres - a.litres) / (b.hours - a.hours) }

// oddFluid finds a rate, the fluid removed so far or the time of a reading that
// the readings beside it contradict while the fluid removed grows steadily.
func (c *checker) oddFluid(s *session.Session) (found []odd) {
	all := c.flowingIn(s)
	_, timed := c.elapsed(s)
	var soFar []session.Value
	for _, one := range all {
		soFar = append(soFar, one.reading.Value("uf_so_far"))
	}
	step := lastDigit(soFar)
	for i, one := range all {
		others := slices.Delete(slices.Clone(all), i, i+1)
		if len(others) < 2 || !inTurn(others) || timed && !clockWithin(one.reading.At.Time, s.Start.Time.Add(-plausible.ReadingTimes.Early), s.End.Time.Add(plausible.ReadingTimes.Late)) {
			continue // a time outside the session is reported as such
		}
		at := min(max(i, 1), len(others)-1)
		rate, ok := steady(others, at)
		if !ok {
			continue
		}
		a, b := others[at-1], others[at]
		o := odd{beside: []issue.Cell{a.reading.Value("uf_so_far").Cell, b.reading.Value("uf_so_far").Cell}}
		part := (one.hours - a.hours) / (b.hours - a.hours)
		expected := a.litres + part*(b.litres-a.litres)
		rounding := step / 2 * (1 + math.Abs(1-part) + math.Abs(part))
		since := min(math.Abs(one.hours-a.hours), math.Abs(one.hours-b.hours))
		own := one.ownRate(s, step)
		if f, is := c.oddTime(s, one, a, b, rate, step); is && !own {
			f.Cells = append(f.Cells, o.beside...)
			c.doubt(f, s)
			return nil
		}
		if !inTurn(all) {
			continue
		}
		if o, is := oddLitres(one, o, expected, rate*since, rounding); is && !own {
			found = append(found, o)
		}
		if o, is := oddRate(s, one, o, rate); is {
			found = append(found, o)
		}
	}
	return found
}

// oddTime reports the time of a reading that is further from the one at which
// the fluid removed reached its amount, by each of two other readings, than
// the clock and the rounding explain, and further from when it is usually read.
func (c *checker) oddTime(s *session.Session, one, a, b flowing, rate, step float64) (f issue.Finding, is bool) {
	const close, byDigits = 15, 5 // minutes (common practice)
	m := one.reading.At
	byA, byB := a.hours+(one.litres-a.litres)/rate, b.hours+(one.litres-b.litres)/rate
	meant := after(m, 60*((byA+byB)/2-one.hours))
	rounding := 60 * step / rate
	off := 60 * min(math.Abs(one.hours-byA), math.Abs(one.hours-byB))
	moved, slip := clockMeant(m, meant)
	least := float64(close)
	between := (one.hours-a.hours)*(one.hours-b.hours) < 0 // else a pause may have been there
	if slip && between && math.Abs(moved.Sub(meant).Minutes()) <= min(rounding+1, byDigits) {
		least = byDigits
	}
	likely := c.readingTime(s, one.row)
	_, pen := exchangedDigits(one.reading.Value("uf_so_far"), func(litres float64) bool {
		return math.Abs(litres-a.litres-rate*(one.hours-a.hours)) <= 2*step
	})
	if off <= least+rounding || (one.hours < byA) != (one.hours < byB) || likely.IsZero() && (!slip || pen) ||
		!likely.IsZero() && math.Abs(m.Time.Sub(likely).Minutes()) <= math.Abs(meant.Sub(likely).Minutes()) {
		return f, false
	}
	f = at("clin-uf-falls", "the time of the reading does not fit the fluid removed so far and the readings beside it", m.Cell)
	if one.hours == a.hours || one.hours == b.hours {
		f = at("clin-reading-twice", "two readings have the same time", m.Cell)
	}
	f.Value, f.Mend = m.Text, issue.T("look at the time of the reading")
	f.Cells = append(f.Cells, one.reading.Value("uf_so_far").Cell)
	f.Expected = issue.T("about {}", meant.Round(5*time.Minute).Format("15:04"))
	if slip {
		f.Expected = issue.T("perhaps {}", spelt(m, moved))
	}
	return f, true
}

// steady is the rate of fluid removal around two readings in a row; ok is false
// if that changes or too few readings have it.
func steady(all []flowing, b int) (rate float64, ok bool) {
	const least, share = 3, 0.2 // rates set by hand, and read at another minute (common practice)
	rates := []float64{slope(all[b-1], all[b])}
	for _, one := range all[b-1 : b+1] {
		if !math.IsNaN(one.rate) {
			rates = append(rates, one.rate)
		}
	}
	if b > 1 {
		rates = append(rates, slope(all[b-2], all[b-1]))
	}
	if b < len(all)-1 {
		rates = append(rates, slope(all[b], all[b+1]))
	}
	rate = median(rates)
	changes := func(one float64) bool { return !within(one, rate, share) }
	return rate, rate > 0 && len(rates) >= least && !slices.ContainsFunc(rates, changes)
}

// lastDigit is the step in which values are written, in their unit.
func lastDigit(all []session.Value) float64 {
	most := 0
	for _, v := range all {
		_, decimals, _ := strings.Cut(v.Decimal.String(), ".")
		most = max(most, len(decimals))
	}
	return math.Pow10(-most)
}

// ownRate reports whether the fluid removed so far is that of the rate in its
// row since the start of the session.
func (f flowing) ownRate(s *session.Session, step float64) bool {
	return math.Abs(f.rate*f.reading.At.Time.Sub(s.Start.Time).Hours()-f.litres) <= step
}

// oddLitres reports whether the fluid removed so far differs from the expected
// one by more than a share of the flow between two readings and the rounding of
// the three numbers.
func oddLitres(one flowing, o odd, expected, flows, rounding float64) (odd, bool) {
	const display, share = 0.1, 0.3 // L, and of the flow between two readings (common practice)
	v := one.reading.Value("uf_so_far")
	o.value, o.field, o.number, o.expected, o.room = v, "uf_so_far", one.litres, hundredths(expected), max(display, share*flows)
	o.meant = meantBy(v, one.litres, 1, func(number float64) bool { return math.Abs(number-expected) <= o.room })
	return o, math.Abs(one.litres-expected) > o.room+rounding+plausible.Rounding
}

// oddRate reports whether a rate is far from that of the fluid removed. A person
// who lowers it for a while writes why.
func oddRate(s *session.Session, one flowing, o odd, rate float64) (odd, bool) {
	const far, off, near = 1.5, 1.1, 0.05 // times the rate, and a share of it (common practice)
	v := one.reading.Value("uf_rate")
	if math.IsNaN(one.rate) || one.rate <= 0 {
		return odd{}, false
	}
	scale := one.rate / v.Decimal.Float64()
	o.value, o.field, o.number, o.expected, o.room = v, "uf_rate", one.rate/scale, hundredths(rate)/scale, near*rate/scale
	o.meant = meantBy(v, one.rate, scale, func(number float64) bool { return within(number, rate, near) })
	switch {
	case o.meant != "" && len(o.meant) == len(v.Text):
		return o, max(one.rate/rate, rate/one.rate) > off
	case one.rate < rate:
		return o, one.rate < rate/far && len(s.Events) == 0 && !one.reading.Note.OK()
	}
	return o, one.rate > far*rate
}

func hundredths(v float64) float64 { return math.Round(100*v) / 100 }

// meantBy is the number that a slip of the pen would have made of another one,
// "" for none.
func meantBy(v session.Value, number, scale float64, fits func(float64) bool) string {
	if text, ok := exchangedDigits(v, func(meant float64) bool { return fits(meant * scale) }); ok {
		return text
	}
	return withPointMoved(number, scale, fits)
}

// withPointMoved is the number with the decimal point elsewhere that fits, "" for none.
func withPointMoved(number, scale float64, fits func(float64) bool) string {
	for _, slip := range decimalSlips {
		if fits(number * slip.factor) {
			return short(number / scale * slip.factor)
		}
	}
	return ""
}
