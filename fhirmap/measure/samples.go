package measure

import (
	"strconv"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// equilibratedAfter is how long after the end urea has levelled out between
// the body's spaces; a later sample gives an equilibrated dose, which must not
// be corrected for rebound again (Daugirdas and Schneditz, ASAIO J 1995).
const equilibratedAfter = 30 * time.Minute

// samples takes the urea before and after dialysis, when there is just one of
// each and both can be used; otherwise whyNoDose says why not.
func (c *collector) samples() {
	before, after := c.urea("before"), c.urea("after")
	switch {
	case len(before) == 0 && len(after) == 0:
		return
	case len(before) == 0:
		c.whyNoDose = "not recorded: urea before dialysis"
	case len(after) == 0:
		c.whyNoDose = "not recorded: urea after dialysis"
	case len(before) > 1 || len(after) > 1:
		c.whyNoDose = "there is more than one urea before or after dialysis, and no way to tell which one counts"
	case !c.take("urea_before", before[0]) || !c.take("urea_after", after[0]):
		c.whyNoDose = "a urea is not an exact number in a known unit"
	case c.s.End.OK() && after[0].Drawn.OK() && !after[0].Drawn.DateOnly &&
		after[0].Drawn.Time.Sub(c.s.End.Time) >= equilibratedAfter:
		c.whyNoDose = "the sample after dialysis was drawn 30 minutes or more after the end, so its urea is already equilibrated and gives no single-pool value"
	}
	if c.whyNoDose != "" {
		delete(c.inputs, "urea_before")
		delete(c.inputs, "urea_after")
	}
}

func (c *collector) urea(when string) []*session.Lab {
	var found []*session.Lab
	for _, lab := range c.s.Labs {
		test := session.Tests[lab.Test.Text]
		if lab.When.Text == when && (test == "urea" || test == "bun") {
			found = append(found, lab)
		}
	}
	return found
}

func (c *collector) take(key string, lab *session.Lab) bool {
	test := session.Tests[lab.Test.Text]
	if !lab.Value.OK() || lab.Value.Comparator != "" {
		return false
	}
	number, ok := ureaMmolPerL(test, lab.Value)
	if !ok {
		return false
	}
	text := lab.Value.Decimal.String()
	if lab.Value.Unit != "mmol/L" {
		text = strconv.FormatFloat(number, 'f', -1, 64)
	}
	field := session.Field(string(test) + "_" + lab.When.Text)
	c.inputs[key] = Input{Key: key, Number: number, Unit: "mmol/L", Text: text, Origin: Entered, Field: field, Cells: []issue.Cell{lab.Value.Cell}}
	return true
}
