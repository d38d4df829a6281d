package measure

import (
	"fmt"
	"strconv"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// equilibratedAfter is the time after the end when urea has equilibrated
// between the body's spaces; a later sample gives an equilibrated dose, which
// must not be corrected for rebound again (Daugirdas and Schneditz, ASAIO J
// 1995).
const equilibratedAfter = 30 * time.Minute

// samples reads the urea before and after dialysis for the dose, or sets
// whyNoDose to the reason why it cannot. A late sample has a different key, so
// that no method for a sample at the end uses it.
func (c *collector) samples() {
	pair, whyNot := c.pair()
	c.whyNoDose = whyNot
	if pair == nil {
		delete(c.inputs, "urea_before")
		delete(c.inputs, "urea_after")
		return
	}
	c.sampled, c.late = true, pair.equilibrated
	c.notes = append(c.notes, pair.notes...)
	if c.late {
		after := c.inputs["urea_after"]
		after.Key = "urea_equilibrated"
		c.inputs[after.Key] = after
		delete(c.inputs, "urea_after")
	}
}

// sample is a laboratory value and its record.
type sample struct {
	*session.Lab
	record int
}

// urea lists the urea of the treatment before or after dialysis, from all its
// records.
func (c *collector) urea(when string) []sample {
	var found []sample
	for _, i := range c.records {
		for _, lab := range c.log.Sessions[i].Labs {
			test, _ := session.TestField(lab.Test.Text)
			if lab.When.Text == when && (test == "urea" || test == "bun") {
				found = append(found, sample{lab, i})
			}
		}
	}
	return found
}

func (c *collector) take(key string, lab sample) bool {
	test, _ := session.TestField(lab.Test.Text)
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
	in := Input{Key: key, Number: number, Unit: "mmol/L", Text: text, Origin: Entered, Cells: []issue.Cell{lab.Value.Cell}}
	if in.Field = session.Field(string(test) + "_" + lab.When.Text); lab.record != c.at {
		in.Origin, in.Session, in.Lab = Previous, c.log.Sessions[lab.record], lab.Ordinal
	}
	c.inputs[key] = in
	return true
}

// whole sets treated time and fluid removed to those of the whole treatment,
// if it was restarted.
func (c *collector) whole() {
	c.dosing = true
	if len(c.records) == 1 {
		return
	}
	sums := map[string]float64{}
	cells := map[string][]issue.Cell{}
	missing := map[string]bool{}
	for _, i := range c.records {
		s := c.log.Sessions[i]
		treated, _ := treatedTime(s)
		removed, known := Litres(s.Value("uf_removed"))
		missing["treated_time"] = missing["treated_time"] || treated.Key == ""
		missing["uf_removed"] = missing["uf_removed"] || !known
		sums["treated_time"] += treated.Number
		sums["uf_removed"] += removed
		cells["treated_time"] = append(cells["treated_time"], treated.Cells...)
		cells["uf_removed"] = append(cells["uf_removed"], s.Value("uf_removed").Cell)
	}
	for key, sum := range sums {
		if missing[key] {
			delete(c.inputs, key)
			continue
		}
		c.counted(key, roundTo(sum, 3), cells[key]...)
	}
	c.notes = append(c.notes, fmt.Sprintf("the treatment was started again: treated time and fluid removed are those of its %d records", len(c.records)))
}
