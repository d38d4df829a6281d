package check

import (
	"math"
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// filledSettings finds settings that were dragged down, of sessions and of flows
// within a session.
func (c *checker) filledSettings() {
	rows := c.inRows()
	for _, field := range append(slices.Clone(setNumbers), "rinseback") {
		var values []session.Value
		var of []*session.Session
		for _, s := range rows {
			if v := s.Value(field); v.OK() {
				values, of = append(values, v), append(of, s)
			}
		}
		c.filled(field, values, func(i int) *session.Session { return of[i] })
	}
	for _, s := range rows {
		for _, field := range setOnce {
			var values []session.Value
			for _, r := range s.Readings {
				if v := r.Value(field); v.OK() {
					values = append(values, v)
				}
			}
			c.filled(field, values, func(int) *session.Session { return s })
		}
	}
}

// filled reports a value that nearly all rows have, and that the rows from one on
// count up or down by one step until it occurs again, or to the last row. People
// set flows and doses in tens, so their step must be 1.
func (c *checker) filled(field session.Field, values []session.Value, of func(int) *session.Session) bool {
	const least, toLast = 3, 4 // rows (common practice)
	number := func(i int) float64 { return values[i].Decimal.Float64() }
	same := map[float64]int{}
	for i := range values {
		same[number(i)]++
	}
	for from := range max(0, len(values)-least) {
		step, end := number(from+1)-number(from), from+2
		if step == 0 {
			continue
		}
		for end < len(values) && within(number(end)-number(end-1), step, 1e-6) {
			end++
		}
		run, others := end-from, same[number(from)]-1
		if run < least || others < fewest || float64(others) < most*float64(len(values)-run) ||
			slices.Contains(byTens, values[from].Unit) && !within(math.Abs(step), 1, 1e-6) {
			continue
		}
		if run < toLast && (end == len(values) || number(end) != number(from)) {
			continue
		}
		f := atValue("month-copied", "the values from row to row grow by the same step", values[from+1])
		if step < 0 {
			f.Details = issue.T("the values from row to row fall by the same step")
		}
		f.Expected = issue.T("perhaps {}", values[from].Text)
		limit, known := profiles.LimitOf(string(field))
		for _, v := range values[from+1 : end] {
			f.Cells = append(f.Cells, v.Cell)
			if number, ok := c.inLimitUnit(field, v); known && ok && limit.Impossible(number) {
				f.Severity = issue.Error
			}
		}
		for i := from + 1; i < end && f.Severity == issue.Error; i++ {
			of(i).Broken = true
		}
		c.doubt(f, of(from+1))
		return true
	}
	return false
}
