package measure

import (
	"runsheet.example/calc"
	"runsheet.example/validate/issue"
)

// pairedSample is urea before and after one session, in plasma.
type pairedSample struct {
	before, after float64 // mmol/L
	cells         []issue.Cell
	equilibrated  bool
	notes         []string
}

// waterUrea is the only conversion from plasma urea in mmol/L to urea nitrogen
// in mg/dL of body water, the unit of the kinetic model.
func waterUrea(plasmaMmolPerL float64) float64 {
	return calc.BodyWaterFromPlasma(calc.BUNFromUrea(plasmaMmolPerL))
}

// plasmaUrea is the inverse of waterUrea.
func plasmaUrea(waterMgPerDL float64) float64 {
	return calc.UreaFromBUN(waterMgPerDL * calc.PlasmaWaterFraction)
}

// pair returns the samples of a session for the kinetic model, or the reason
// why they are not usable; without any sample both are empty. A late sample is
// usable: the model computes equilibrated urea.
func (c *collector) pair() (pair *pairedSample, whyNot string) {
	before, after := c.urea("before"), c.urea("after")
	switch {
	case len(before) == 0 && len(after) == 0:
		return nil, ""
	case len(before) == 0:
		return nil, "not recorded: urea before dialysis"
	case len(after) == 0:
		return nil, "not recorded: urea after dialysis"
	case len(before) > 1 || len(after) > 1:
		return nil, "there is more than one urea before or after dialysis, and no way to tell which one counts"
	case before[0].record != c.records[0]:
		return nil, "the urea before dialysis was drawn when the treatment was started again, not before it"
	case after[0].record != c.at:
		return nil, "the urea after dialysis was drawn before the treatment was started again, not after it"
	case !c.take("urea_before", before[0]) || !c.take("urea_after", after[0]):
		return nil, "a urea is not an exact number in a known unit"
	}
	pair = &pairedSample{before: c.inputs["urea_before"].Number, after: c.inputs["urea_after"].Number}
	pair.cells = append(append(pair.cells, c.inputs["urea_before"].Cells...), c.inputs["urea_after"].Cells...)
	drawn := after[0].Drawn
	switch {
	case !drawn.OK() || drawn.DateOnly || !c.s.End.OK():
		pair.notes = append(pair.notes, "when the sample after dialysis was drawn is not recorded: taken as drawn at the end")
	case drawn.Time.Sub(c.s.End.Time) >= equilibratedAfter:
		pair.equilibrated = true
		pair.notes = append(pair.notes, "the sample after dialysis was drawn 30 minutes or more after the end: taken as equilibrated")
	}
	return pair, ""
}
