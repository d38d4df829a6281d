package clinical

import (
	"math"
	"slices"

	"runsheet.example/validate/plausible"
)

// Margins within which two weights agree after conversion from pounds (common
// practice).
const (
	poundsPerKilogram = 1 / 0.45359237
	poundsMargin      = 0.05
)

// weights reports a weight in pounds among weights in kilograms. The quotient
// with a weight that is not known is 0, infinite or not a number.
func (c *Checker) weights(s *session) {
	for _, pair := range [...][2]string{{"weight_before", "weight_after"}, {"weight_after", "weight_before"}} {
		heavy, light := s.Values[pair[0]], s.Values[pair[1]]
		if math.Abs(heavy/light/poundsPerKilogram-1) <= poundsMargin {
			q := s.quantities[pair[0]]
			c.report(q.Node, "clin-record-pounds", "the weight is about 2.2 times the other of the session",
				written(q), amount(heavy/poundsPerKilogram, "kg")+", if it was read in pounds")
		}
	}
}

// fluid compares the fluid removed with the weights and the fluid given.
func (c *Checker) fluid(s *session) {
	removed, known := s.Values["uf_removed"]
	expected, more, ok := s.FluidByWeights()
	if s.UrineOfDay() {
		q := s.quantities["urine"]
		c.report(q.Node, "clin-record-uf-weights", "the weights account for the fluid removed only without this urine", written(q), "")
	}
	if known && ok && !plausible.FluidFits(removed, expected, more) {
		q := s.quantities["uf_removed"]
		c.report(q.Node, "clin-record-uf-weights", "the weights and the fluid given do not account for the fluid removed",
			written(q), amount(expected, "L"))
	}
}

// ofLength maps the source field of a session length to its rule.
var ofLength = map[string]struct{ rule, details string }{
	"uf_removed":       {"clin-record-uf-rate", "the rates read during the session do not give the fluid removed"},
	"blood_processed":  {"clin-record-blood-processed", "flow and time give another volume of blood"},
	"dialysate_volume": {"clin-record-dialysate-volume", "flow and time give another volume of dialysate"},
	"treated_time":     {"clin-record-treated-time", "the treatment time does not fit the other times and amounts of the session"},
	"":                 {"clin-record-clock", "start and end do not fit the other times and amounts of the session"},
}

// lengths compares the lengths recorded for the session.
func (c *Checker) lengths(s *session) {
	for _, d := range s.Lengths() {
		rule := ofLength[d.Fields[0]]
		node, value := s.hub.Effective, amount(s.ElapsedMin, "min")
		if q, ok := s.quantities[d.Fields[0]]; ok {
			node, value = q.Node, written(q)+", which takes "+amount(d.Value, "min")
		}
		c.report(node, rule.rule, rule.details, value, between(max(0, d.Low), d.High, "min")+" by the others")
	}
}

// ofValues are the rules of the comparisons.
var ofValues = map[string]struct{ rule, details string }{
	plausible.UreaRises:      {"clin-record-urea-rise", "urea after dialysis is not below urea before"},
	plausible.UreaRatio:      {"clin-record-urea-ratio", "urea after dialysis is an unusual share of urea before"},
	plausible.UreaClearance:  {"clin-record-urea-clearance", "urea fell by another amount than flows and time lead to expect"},
	plausible.UreaGeneration: {"clin-record-urea-generation", "the two ureas would mean an unusual protein catabolic rate"},
}

// disagreements reports the results of the comparisons, once for a pair of
// samples.
func (c *Checker) disagreements(s *session) {
	if found := s.Disagreements(); len(found) > 0 {
		d := found[0]
		q, ok := s.quantities[d.Fields[0]]
		if !ok {
			q = s.quantities["bun_"+d.Fields[0][len("urea_"):]]
		}
		expected := between(d.Low, d.High, d.Unit)
		if d.Name == plausible.UreaRises {
			expected = "below urea before"
		}
		c.report(q.Node, ofValues[d.Name].rule, ofValues[d.Name].details, amount(d.Value, d.Unit), expected)
		if d.Name == plausible.UreaRises {
			return // as all else that is removed does then
		}
	}
	rising := s.Rising()
	slices.Sort(rising)
	for _, field := range rising {
		after := s.quantities[field+"_after"]
		c.report(after.Node, "clin-record-solute-rise", "a substance that dialysis removes is higher after it than before", written(after),
			"less than "+written(s.quantities[field+"_before"]))
	}
}

// ureaUnits reports urea in one sample and urea nitrogen in the other, or
// units that cannot be compared.
func (c *Checker) ureaUnits(s *session) {
	for _, pair := range [...][2]string{{"urea", "urea"}, {"bun", "bun"}, {"urea", "bun"}, {"bun", "urea"}} {
		before, ok := s.quantities[pair[0]+"_before"]
		after, ok2 := s.quantities[pair[1]+"_after"]
		if !ok || !ok2 {
			continue
		}
		if _, comparable := after.In(string(before.Unit)); pair[0] != pair[1] || !comparable {
			c.report(after.Node, "clin-record-urea-units", "urea before and after are in units that cannot be compared, or urea nitrogen on one side",
				written(after), string(before.Unit))
		}
		return
	}
}
