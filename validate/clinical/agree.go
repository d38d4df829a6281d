package clinical

import (
	"math"

	"runsheet.example/calc"
	"runsheet.example/validate/issue"
)

// Margins within which two ways to the same number may differ (common
// practice).
const (
	fluidMarginL      = 0.5
	dialysateMargin   = 0.10
	bloodMargin       = 0.15
	treatedMarginMin  = 5
	poundsPerKilogram = 1 / 0.45359237
	poundsMargin      = 0.05
)

// value returns the first value of a field in the session.
func (s *session) value(f field) (v value, ok bool) { return s.values[f], s.values[f].known }

// weights looks for a weight in pounds among weights in kilograms.
func (c *Checker) weights(s *session) {
	before, ok := s.value(weightBefore)
	after, ok2 := s.value(weightAfter)
	if !ok || !ok2 || before.number <= 0 || after.number <= 0 {
		return
	}
	heavy, light := before, after
	if heavy.number < light.number {
		heavy, light = light, heavy
	}
	if math.Abs(heavy.number/light.number/poundsPerKilogram-1) <= poundsMargin {
		c.report(heavy.q.Node, "clin-record-pounds", "the weight is about 2.2 times the other of the session",
			written(heavy.q), amount(heavy.number/poundsPerKilogram, "kg")+", if it was read in pounds")
	}
}

// fluid compares the fluid removed with the weights and the fluid given, and
// with the rates.
func (c *Checker) fluid(s *session) {
	removed, ok := s.value(ufRemoved)
	if !ok {
		return
	}
	before, haveBefore := s.value(weightBefore)
	after, haveAfter := s.value(weightAfter)
	if haveBefore && haveAfter {
		expected, err := calc.UFExpected(before.number, after.number,
			s.values[drinks].number, s.values[saline].number, s.values[rinseback].number, 0)
		if err == nil && math.Abs(removed.number-expected) > fluidMarginL {
			c.report(removed.q.Node, "clin-record-uf-weights", "the weights and the fluid given do not account for the fluid removed",
				written(removed.q), amount(expected, "L"))
		}
	}
	c.rates(s, removed)
}

// rates compares the fluid removed with the highest and lowest rate read
// during the session: at no rate read can it have been more or less.
func (c *Checker) rates(s *session, removed value) {
	readings := s.readings[ufRate]
	hours := s.minutes() / 60
	const enough = 2 // one reading says nothing of the rest of the session
	if len(readings) < enough || hours <= 0 {
		return
	}
	low, high := math.Inf(1), 0.0
	for _, r := range readings {
		low, high = math.Min(low, r.number), math.Max(high, r.number)
	}
	least, most := low*hours/1000-fluidMarginL, high*hours/1000+fluidMarginL
	if removed.number < least || removed.number > most {
		c.report(removed.q.Node, "clin-record-uf-rate", "the rates read during the session do not give the fluid removed",
			written(removed.q), between(math.Max(0, least), most, "L"))
	}
}

// minutes is the treatment time delivered, else the length of the session.
func (s *session) minutes() float64 {
	if v, ok := s.value(treatedTime); ok {
		return v.number
	}
	if s.span.HasStart && s.span.HasEnd {
		return float64(s.span.End-s.span.Start) / 60
	}
	return 0
}

// volumes compares volumes with flow and time.
func (c *Checker) volumes(s *session) {
	c.byFlow(s, dialysateVolume, dialysateFlow, dialysateMargin, "clin-record-dialysate-volume",
		"flow and time give another volume of dialysate")
	c.byFlow(s, bloodProcessed, bloodFlow, bloodMargin, "clin-record-blood-processed",
		"flow and time give another volume of blood")
	treated, ok := s.value(treatedTime)
	if !ok || !s.span.HasStart || !s.span.HasEnd {
		return
	}
	length := float64(s.span.End-s.span.Start) / 60
	if length > 0 && treated.number > length+treatedMarginMin {
		c.report(treated.q.Node, "clin-record-treated-time", "the treatment time is longer than the session",
			written(treated.q), "at most "+amount(length, "min"))
	}
}

// byFlow compares a volume in litres with a flow in mL/min times the time. A
// flow that was read several times is taken at its lowest and its highest.
func (c *Checker) byFlow(s *session, volume, flow field, margin float64, rule, details string) {
	v, ok := s.value(volume)
	readings := s.readings[flow]
	minutes := s.minutes()
	if !ok || len(readings) == 0 || minutes <= 0 {
		return
	}
	low, high := math.Inf(1), 0.0
	for _, r := range readings {
		low, high = math.Min(low, r.number), math.Max(high, r.number)
	}
	least, most := low*minutes/1000*(1-margin), high*minutes/1000*(1+margin)
	if high > 0 && (v.number < least || v.number > most) {
		c.report(v.q.Node, rule, details, written(v.q), between(least, most, "L"))
	}
}

// urea compares the urea after dialysis with the urea before.
func (c *Checker) urea(s *session) {
	limit, known := issue.LimitOf("urea_ratio")
	if !known {
		return
	}
	for _, pair := range [...][2]field{{ureaBefore, ureaAfter}, {bunBefore, bunAfter}} {
		before, ok := s.value(pair[0])
		after, ok2 := s.value(pair[1])
		if !ok || !ok2 || before.number <= 0 {
			continue
		}
		number, ok := after.q.In(string(before.q.Unit))
		if !ok {
			c.report(after.q.Node, "clin-record-urea-units", "urea before and after are in units that cannot be compared",
				written(after.q), string(before.q.Unit))
			continue
		}
		if ratio := number / before.number; ratio >= limit.HardHigh {
			c.report(after.q.Node, "clin-record-urea-rise", "urea after dialysis is not below urea before",
				written(after.q), "below "+written(before.q))
		}
	}
	c.mixed(s)
}

// mixed reports urea on one side and urea nitrogen on the other.
func (c *Checker) mixed(s *session) {
	_, ureaBefore := s.value(ureaBefore)
	_, bunBefore := s.value(bunBefore)
	after, ureaAfter := s.value(ureaAfter)
	bun, bunAfter := s.value(bunAfter)
	switch {
	case ureaBefore && !bunBefore && bunAfter && !ureaAfter:
		c.report(bun.q.Node, "clin-record-urea-units", "urea before, urea nitrogen after", written(bun.q), "urea")
	case bunBefore && !ureaBefore && ureaAfter && !bunAfter:
		c.report(after.q.Node, "clin-record-urea-units", "urea nitrogen before, urea after", written(after.q), "urea nitrogen")
	}
}
