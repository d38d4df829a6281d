package adequacy

import (
	"strconv"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
)

const day = "2006-01-02"

// Rows returns everything computed: for each session its values, their other
// forms, the plan and the definitions; then the weeks, then the log as a
// whole.
func (t Table) Rows() []Row {
	rows := []Row{}
	for i, s := range t.Sessions {
		for _, r := range t.sessionRows(i) {
			r.Session, r.Date = s.ID, date(s)
			rows = append(rows, r)
		}
	}
	for _, w := range t.Weeks {
		for _, r := range w.rows() {
			r.Date = w.Monday.Format(day)
			rows = append(rows, r)
		}
	}
	return append(rows, t.logRows()...)
}

func definitionRow(scope, key string, d measure.Definition) Row {
	r := Row{
		Scope: scope, Key: key, Quantity: d.Name, Value: d.Answer.String(), Method: "definition", WhyNot: d.Why,
		Explain: d.Definition + ": " + d.Answer.String(), Source: d.Source + " (" + string(d.Tag) + ")", Inputs: []RowIn{},
	}
	if d.Why != "" {
		r.Explain += ", " + d.Why
	}
	return r
}

func counted(scope, key, quantity, value, ucum, source string) Row {
	return Row{Scope: scope, Key: key, Quantity: quantity, Value: value, Unit: ucum, Method: "count", Explain: key + " = " + value + unit(ucum), Source: source, Inputs: []RowIn{}}
}

func (w Week) rows() []Row {
	count := func(key, quantity string, n int) Row {
		return counted("week", key, quantity, strconv.Itoa(n), "1", "counted from the log")
	}
	c := w.Counted
	rows := []Row{
		count("sessions_done", "sessions done", c.Done), count("sessions_cut_short", "sessions cut short", w.CutShort),
		count("sessions_missed", "sessions not done", c.Missed), count("sessions_held_back", "sessions held back because of mistakes", c.HeldBack),
		count("sessions_shortened", "sessions shortened by more than 10 min", c.Shortened),
		counted("week", "hours_treated", "hours treated", fixed(c.TreatedMin/60, 2), "h", "counted from the log"),
		counted("week", "weekly_uf", "fluid removed in the week", fixed(w.UFLitres, 2), "L", "counted from the log"),
	}
	if !w.Whole {
		for i := range rows {
			rows[i].Notes = []string{"the log does not cover the whole week"}
		}
	}
	if w.Fewest >= 0 {
		rows = append(rows, count("fewest_in_7_days", "fewest sessions in any 7 days that end in the week", w.Fewest), count("most_in_7_days", "most sessions in any 7 days that end in the week", w.Most))
	}
	if w.Month.Planned > 0 {
		rows = append(rows, counted("week", "sessions_per_week_28_days", "sessions a week over 28 days", fixed(w.Month.SessionsPerWeek, 2), "/wk", "counted from the log"),
			counted("week", "hours_per_week_28_days", "hours a week over 28 days", fixed(w.Month.HoursPerWeek, 2), "h", "counted from the log"))
	}
	rows = append(rows, rowOf("week", w.Excess))
	for _, m := range w.Kinetic.Models {
		for _, result := range m.Values {
			r := rowOfResult("week", result)
			r.Model = m.Name
			rows = append(rows, r)
		}
	}
	return w.withSensitivity(rows)
}

// withSensitivity adds the sensitivity to the standard Kt/V of the main model,
// or the reason why the model has none.
func (w Week) withSensitivity(rows []Row) []Row {
	main, ok := w.Kinetic.Main()
	if !ok {
		method, _ := calc.MethodByID("stdktv-" + calc.KineticSuffix(false))
		return append(rows, Row{
			Scope: "week", Key: "std_kt_v_weekly", Quantity: "weekly standard Kt/V by urea kinetics", Unit: "1", Method: method.Code(),
			WhyNot: w.Kinetic.WhyNot, Explain: "std_kt_v_weekly: no value: " + w.Kinetic.WhyNot, Inputs: []RowIn{}, Source: "definition, Gotch 1998 (from memory)",
		})
	}
	for i := range rows {
		if rows[i].Model != main.Name || rows[i].Key != "std_kt_v_weekly" {
			continue
		}
		for _, s := range w.Kinetic.Sensitivity {
			for _, c := range s.Cases {
				one := RowSensitivity{Input: s.Input, Case: c.Label, Changed: fixed(c.Value, 2), Unit: s.Unit, WhyNot: c.WhyNot}
				if c.WhyNot == "" {
					one.Value = fixed(c.StdKtV, 2)
				}
				rows[i].Sensitivity = append(rows[i].Sensitivity, one)
			}
		}
	}
	return rows
}

// logRows are the values that belong to no session or week.
func (t Table) logRows() []Row {
	var rows []Row
	for _, d := range t.Patterns {
		rows = append(rows, definitionRow("log", "pressure_pattern", d))
	}
	for _, f := range t.Kinetics.Fits {
		for _, m := range f.Models {
			if f.Sampled && m.WhyNot == "" {
				r := rowOfResult("log", m.NPCR)
				r.Session, r.Model = f.Session.ID, m.Name
				r.Inputs = append(r.Inputs, RowIn{Key: "urea_before", Value: calc.ShortDecimal(f.Before), Unit: "mmol/L", Cells: f.Cells[:1]},
					RowIn{Key: "urea_after", Value: calc.ShortDecimal(f.After), Unit: "mmol/L", Cells: f.Cells[1:]})
				r.Notes = append(r.Notes, fitTitle(f), modelLine(f, m))
				rows = append(rows, r)
			}
		}
	}
	for _, a := range t.Access {
		for _, trend := range a.Trends {
			rows = append(rows, trendRow(a, trend))
		}
	}
	return rows
}

func trendRow(a measure.AccessTrend, t calc.Trend) Row {
	r := Row{
		Scope: "log", Key: string(a.Field) + "_trend", Quantity: pressureName(a) + ", trend in 30 days", Unit: "mm[Hg]", Method: "theil-sen-1",
		Source: "median of all slopes between sessions (Theil; Sen)", Range: "same access and blood flow", WhyNot: t.WhyNot,
		Inputs: []RowIn{{Key: "blood_flow", Value: calc.ShortDecimal(t.BloodFlow), Unit: "mL/min"}, {Key: "sessions", Value: strconv.Itoa(t.Readings), Unit: "1"},
			{Key: "median", Value: calc.ShortDecimal(t.Median), Unit: "mm[Hg]"}, {Key: "latest", Value: calc.ShortDecimal(t.Latest), Unit: "mm[Hg]"}},
	}
	if t.NeedleGauge > 0 {
		r.Range = "same access, blood flow and needle"
		r.Inputs = append(r.Inputs, RowIn{Key: "needle_gauge", Value: strconv.Itoa(t.NeedleGauge), Unit: "1"})
	}
	r.Explain = r.Key + ": no value: " + t.WhyNot
	if t.WhyNot == "" {
		r.Value = fixed(t.PerMonth, 1)
		r.Explain = r.Key + " = " + r.Value + " mm[Hg] in 30 days"
	}
	return r
}
