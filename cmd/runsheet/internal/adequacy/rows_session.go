package adequacy

import (
	"strings"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// sessionRows are everything computed for one session.
func (t Table) sessionRows(i int) []Row {
	s := t.Sessions[i]
	if !held(s) {
		return nil
	}
	var rows []Row
	for _, v := range s.Values {
		rows = append(rows, rowOf("session", v))
	}
	for _, v := range t.Forms[i] {
		rows = append(rows, rowOf("session", v))
	}
	rows = append(rows, planRows(s, t.Plans[i])...)
	for _, d := range t.Pressures[i].Hypotension {
		d.Name = "intradialytic hypotension by " + d.Name
		r := definitionRow("session", "intradialytic_hypotension", d)
		r.Inputs = append(pressureInputs(s, "bp_before_systolic", "bp_before_diastolic"), lowestReading(s)...)
		rows = append(rows, r)
	}
	for _, d := range t.Pressures[i].Standing {
		sitting := session.Field("bp_" + d.Name + "_")
		d.Name = "fall on standing, " + d.Name
		r := definitionRow("session", "orthostatic_fall", d)
		r.Inputs = pressureInputs(s, sitting+"systolic", sitting+"diastolic", sitting+"standing_systolic", sitting+"standing_diastolic")
		rows = append(rows, r)
	}
	rows = append(rows, t.prescribedRows(i)...)
	if recovery := entered(s, "recovery_time"); recovery != "" {
		rows = append(rows, counted("session", "recovery_time", "time until felt well again", recovery, "min", "as written in the log"))
	}
	return rows
}

// prescribedRows are time, dialysate and UF rate minus the prescribed values,
// if both are known.
func (t Table) prescribedRows(i int) []Row {
	s, p := t.Sessions[i], t.prescription(t.Sessions[i])
	plan, limit := measure.PrescribedPlan(p).Set, p.Values["uf_limit"]
	var most, rate calc.Maybe
	if limit.OK() {
		most = calc.Known(limit.Decimal.Float64())
	}
	v, ok := s.Value("uf_rate_per_kg")
	if ok {
		rate = calc.Known(v.Result.Value)
	}
	var rows []Row
	for _, one := range []struct {
		key, quantity  string
		decimals       int
		given, planned planNumber
	}{
		{"treated_time_less_prescribed", "treatment time less the prescribed time", 0,
			planNumber{"treated_time", "min", t.Plans[i].Set.TreatmentTimeMin, s.TreatedTime.Cells}, planNumber{"prescribed_time", "min", plan.TreatmentTimeMin, []issue.Cell{p.DurationMin.Cell}}},
		{"dialysate_less_prescribed", "dialysate used less the prescribed volume", 1,
			planNumber{"dialysate_volume", "L", t.Plans[i].Set.DialysateL, []issue.Cell{s.Session.Value("dialysate_volume").Cell}}, planNumber{"prescribed_dialysate", "L", plan.DialysateL, []issue.Cell{p.Values["dialysate_volume"].Cell}}},
		{"uf_rate_less_limit", "UF rate per kg less the person's own limit", 1,
			planNumber{"uf_rate_per_kg", "mL/kg/h", rate, v.Cells()}, planNumber{"uf_limit", "mL/kg/h", most, []issue.Cell{limit.Cell}}},
	} {
		if !one.given.Known || !one.planned.Known {
			continue
		}
		r := counted("session", one.key, one.quantity, fixed(one.given.Value-one.planned.Value, one.decimals), one.given.unit, "the prescription in log.toml")
		r.Method = "less-prescribed"
		for _, n := range []planNumber{one.given, one.planned} {
			r.Inputs = append(r.Inputs, RowIn{Key: n.key, Value: calc.ShortDecimal(n.Value), Unit: n.unit, Cells: n.cells})
		}
		rows = append(rows, r)
	}
	return rows
}

// pressureInputs are the recorded readings of a session by field.
func pressureInputs(s measure.Session, fields ...session.Field) []RowIn {
	inputs := []RowIn{}
	for _, field := range fields {
		if v := s.Session.Value(field); v.OK() {
			inputs = append(inputs, RowIn{Key: string(field), Value: v.Decimal.String(), Unit: v.Unit, Cells: []issue.Cell{v.Cell}})
		}
	}
	return inputs
}

// lowestReading is the lowest systolic pressure during the session, the first
// of equals.
func lowestReading(s measure.Session) []RowIn {
	var lowest session.Value
	for _, r := range s.Readings {
		if v := r.Value("bp_systolic"); v.OK() && (!lowest.OK() || v.Decimal.Float64() < lowest.Decimal.Float64()) {
			lowest = v
		}
	}
	if !lowest.OK() {
		return nil
	}
	return []RowIn{{Key: "bp_systolic_lowest", Value: lowest.Decimal.String(), Unit: lowest.Unit, Cells: []issue.Cell{lowest.Cell}}}
}

// planPart is dialysate or ultrafiltration: the three numbers with their
// cells, and the numbers computed from them.
type planPart struct {
	key, name string
	implied   calc.Implied
	numbers   []planNumber
}

type planNumber struct {
	key, unit string
	calc.Maybe
	cells []issue.Cell
}

func planParts(s measure.Session, p measure.FluidPlan) []planPart {
	cell := func(v session.Value) []issue.Cell { return []issue.Cell{v.Cell} }
	var firstRate session.Value
	for _, r := range s.Readings {
		if v := r.Value("uf_rate"); v.OK() && !firstRate.OK() {
			firstRate = v
		}
	}
	ufTime := "treated_time"
	if !p.Set.TreatmentTimeMin.Known {
		ufTime = "planned_time" // duration of the dialysate supply
	}
	return []planPart{
		{"dialysate_plan", "dialysate", p.Implied.Dialysate, []planNumber{
			{"dialysate_volume", "L", p.Set.DialysateL, cell(s.Session.Value("dialysate_volume"))},
			{"dialysate_flow", "L/h", p.Set.DialysateLPerH, cell(s.Session.Value("dialysate_flow"))},
			{"treated_time", "min", p.Set.TreatmentTimeMin, s.TreatedTime.Cells},
		}},
		{"uf_plan", "fluid removal", p.Implied.UF, []planNumber{
			{"uf_goal", "L", p.Set.UFLitres, cell(s.Session.Value("uf_goal"))},
			{"uf_rate", "L/h", p.Set.UFLPerH, cell(firstRate)},
			{ufTime, "min", p.Implied.TimeMin, s.TreatedTime.Cells},
		}},
	}
}

// planRows are the values computed from volume, rate and time of dialysate and
// of ultrafiltration, and whether they agree.
func planRows(s measure.Session, p measure.FluidPlan) []Row {
	var rows []Row
	for _, part := range planParts(s, p) {
		if len(part.implied.Text) == 0 {
			continue
		}
		r := Row{
			Scope: "session", Key: part.key, Quantity: part.name + ": volume, rate and time as set", Method: "volume-rate-time-1",
			Explain: strings.Join(part.implied.Text, "; "), Source: "common practice", Range: "constant rate; within one part in ten counts as agreement",
			Value: agreement(part.implied, part.numbers[0].Maybe, part.numbers[1].Maybe, part.numbers[2].Maybe), Inputs: []RowIn{},
		}
		if r.Value == "" {
			r.WhyNot = "only two of volume, rate and time are recorded"
		}
		for _, n := range part.numbers {
			if n.Known {
				r.Inputs = append(r.Inputs, RowIn{Key: n.key, Value: calc.ShortDecimal(n.Value), Unit: n.unit, Cells: n.cells})
			}
		}
		if part.key == "uf_plan" && p.RateChanged {
			r.Notes = append(r.Notes, "the UF rate is that of the first reading; the readings show from "+fixed(p.Lowest, 2)+" to "+fixed(p.Highest, 2)+" L/h")
		}
		rows = append(rows, r)
	}
	return rows
}
