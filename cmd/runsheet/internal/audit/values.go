package audit

import (
	"strconv"

	"runsheet.example/calc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/recompute"
	"runsheet.example/validate/report"
)

// value counts a computed value, and writes its inputs.
func (r *reading) value(row recompute.Row) {
	m := r.methods[row.Method]
	if m == nil {
		m = &Method{Method: row.Method, Quantity: row.Quantity, WhyNot: map[string]int{}}
		r.methods[row.Method] = m
		if row.Rule == "calc-method-unknown" {
			r.add(place("audit-method-unknown", row.File, issue.T("values of a method, or of a version of it, that is not known"), row.Method))
		}
	}
	m.N++
	switch row.Comparison {
	case recompute.Same:
		m.Equal++
	case recompute.Differs:
		m.Differ++
	case recompute.NotAgain:
		m.NotAgain++
		m.WhyNot[row.Rule]++
	default:
		m.NoValue++
	}
	if r.inputs != nil {
		r.writeInputs(row)
	}
}

var inputHeadings = []string{"file", "session", "start", "quantity", "method", "written", "unit", "recomputed", "comparison", "why not", "input", "input value", "input unit", "number used", "in unit"}

// writeInputs writes a row for each input of a computed value, or one without
// input. The number used is that of the method, in its unit, before rounding: an
// input that was computed itself is not used as it is written. The writer keeps its error until the end.
func (r *reading) writeInputs(row recompute.Row) {
	inputs := row.Inputs
	if len(inputs) == 0 {
		inputs = []recompute.Input{{}}
	}
	why := row.WhyNot
	if row.Comparison == recompute.NotAgain {
		why = row.Rule
	}
	for _, in := range inputs {
		used, unit := "", calc.Spec(in.Key).Unit
		if in.Key != "" {
			used = strconv.FormatFloat(in.Number, 'g', -1, 64)
		}
		_ = r.inputs.Write(report.HarmlessRow([]string{row.File, row.Session, row.Start, row.Key, row.Method, row.Value, row.Unit, row.Recomputed, string(row.Comparison), why, in.Key, in.Text, in.Unit, used, unit}))
	}
}
