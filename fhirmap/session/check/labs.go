package check

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// labRow is a result with the session it belongs to.
type labRow struct {
	session *session.Session
	lab     *session.Lab
	// number is in the unit of the limits of its test; known is false where
	// the test has none.
	number float64
	known  bool
}

// labs compares the laboratory results of the log with each other.
func (c *checker) labs() {
	rows := map[string][]labRow{}
	for _, s := range c.log.Sessions {
		for _, l := range s.Labs {
			if v, ok := c.good(l.Value); ok {
				key := l.Test.Text + " " + l.When.Text
				limit, known := issue.LimitOf(l.Test.Text)
				scale, fits := factor(session.Field(l.Test.Text), l.Value.Unit, limit)
				rows[key] = append(rows[key], labRow{s, l, v * scale, known && fits})
			}
		}
	}
	for _, key := range slices.Sorted(maps.Keys(rows)) {
		all := rows[key]
		for i := range all {
			c.ownResults(all, i)
		}
		values := make([]session.Value, len(all))
		for i, r := range all {
			values[i] = r.lab.Value
		}
		c.series(values, func(i int) *session.Session { return all[i].session })
	}
	c.copiedSamples()
}

// ownResults compares a result with the person's others of the same test and
// phase. Results change; what is reported is a result that a known slip, of the
// decimal point or of the unit, would bring back among them.
func (c *checker) ownResults(all []labRow, at int) {
	const far, near = 2, 0.25
	one := all[at]
	var others []float64
	for i, r := range all {
		if i != at && r.known {
			others = append(others, r.number)
		}
	}
	if !one.known || len(others) < fewest {
		return
	}
	usual := median(others)
	if usual <= 0 || one.number <= far*usual && one.number >= usual/far {
		return
	}
	v := one.lab.Value
	field := session.Field(one.lab.Test.Text)
	limit, _ := issue.LimitOf(string(field))
	scale, _ := factor(field, v.Unit, limit)
	var meant issue.Text
	for _, tenth := range []float64{0.1, 10, 0.01, 100} {
		if within(one.number*tenth, usual, near) {
			meant = quantity(short(v.Decimal.Float64()*tenth), v.Unit)
		}
	}
	for _, unit := range fitting(field, limit) {
		other, _ := factor(field, unit, limit)
		if within(one.number/scale*other, usual, near) {
			meant = quantity(v.Text, unit)
		}
	}
	if meant.IsZero() {
		return
	}
	f := atValue("clin-lab-far", "the result is far from your other results of this test", v)
	f.Value, f.Expected = v.Text+" "+spoken(v.Unit), issue.T("perhaps {}", meant)
	c.doubt(f, one.session)
}

// copiedSamples finds a session whose results are all those of an earlier one.
// A single result agrees now and then.
func (c *checker) copiedSamples() {
	const results, digits = 2, 5
	earlier := map[string]*session.Session{}
	for _, s := range c.log.Sessions {
		var parts []string
		written := 0
		for _, l := range s.Labs {
			if l.Value.OK() {
				parts = append(parts, fmt.Sprint(l.Test.Text, l.When.Text, l.Value.Decimal, l.Value.Unit))
				written += len(strings.ReplaceAll(l.Value.Decimal.String(), ".", ""))
			}
		}
		if len(parts) < results || written < digits {
			continue
		}
		slices.Sort(parts)
		key := strings.Join(parts, ";")
		first, again := earlier[key]
		if !again {
			earlier[key] = s
			continue
		}
		f := at("month-copied", "all results of this session are the same as those of an earlier one", s.Labs[0].Cell)
		f.Cells = append(f.Cells, first.Labs[0].Cell)
		c.add(f, s)
	}
}

// copiedDown finds a weight or a blood pressure that is the same in many
// sessions in a row, as when one cell is copied down. Numbers that end in 0 or
// 5 repeat sooner, and weights sooner than pressures; a pulse may be paced.
func (c *checker) copiedDown() {
	runs := map[session.Field]int{
		"weight_before": 8, "weight_after": 8,
		"bp_before_systolic": 6, "bp_before_diastolic": 6, "bp_after_systolic": 6, "bp_after_diastolic": 6,
	}
	const rounded = 12
	for _, field := range measuredFields {
		same, last := 0, math.NaN()
		var first issue.Cell
		for _, s := range c.log.Sessions {
			v := s.Value(field)
			number, ok := c.good(v)
			if runs[field] == 0 || !ok || !held(s) {
				continue
			}
			if number != last {
				same, last, first = 0, number, v.Cell
			}
			same++
			enough := runs[field]
			if text := v.Decimal.String(); strings.ContainsAny(text[len(text)-1:], "05") {
				enough = rounded
			}
			if same == enough {
				f := atValue("month-copied", "the same value stands in many sessions in a row", v)
				f.Cells = append(f.Cells, first)
				c.add(f, s)
				break
			}
		}
	}
}
