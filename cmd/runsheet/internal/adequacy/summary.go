package adequacy

import (
	"strconv"

	"runsheet.example/fhirmap/measure"
)

// weekSummary is attendance, fluid and weekly dose, one line a week.
func (t Table) weekSummary() grid {
	g := grid{title: "Weeks, Monday to Sunday", heads: [][]string{
		{"from", "pre-", "done", "not", "hours", over, "UF", "highest UF rate", "weight above dry,", "standard Kt/V a week", over},
		{"", "scribed", "", "done", "treated", "planned", "L", "mL/kg/h", "averaged, kg", "regression", "model"},
	}}
	for _, w := range t.Weeks {
		attendance, dose := attendance(w), weekDose(w)
		g.rows = append(g.rows, cells(attendance[0], attendance[1], attendance[2], strconv.Itoa(w.Counted.Missed), attendance[7], attendance[8],
			sum(w.UFLitres, 2, w.WithoutUF), w.MaxUFRate, w.Excess.Result.Rounded(), dose[2], dose[3]))
	}
	g.notes = append(t.modelNotes(false), "regression: with UF and residual clearance, from blood samples; model: urea kinetics of the week as it was, two pools")
	return g
}

// sessionSummary is time, dose, fluid and blood pressure, one line a session.
func (t Table) sessionSummary() grid {
	g := grid{title: "Sessions", heads: [][]string{
		{"date", "status", "treated", "short", "weight", "less", "UF", "UF rate", "pressure", over, "Kt/V by", over, over},
		{"", "", "min", "by", "after", "dry", "L", "mL/kg/h", "before", "lowest", "dialysate*", "spKt/V", "eKt/V"},
	}}
	for i, s := range t.Sessions {
		treated := s.TreatedTime.Text
		if s.TreatedFromClock {
			treated += "c"
		}
		line := cells(date(s), status(s), treated, shortBy(s, measure.PlannedMinutes(t.Log, i)), "", "", "", "", "", "", "", "", "")
		if held(s) {
			h := t.Pressures[i]
			line = cells(line[0], line[1], line[2], line[3], entered(s, "weight_after"), value(s, "target_miss"), entered(s, "uf_removed"), value(s, "uf_rate_per_kg"),
				pressureText(h.Before), number(h.Lowest, 0), value(s, "dialysate_kt_v"), value(s, "sp_kt_v"), value(s, "e_kt_v"))
		}
		g.rows = append(g.rows, line)
	}
	g.notes = []string{"short by: more than 10 min less than prescribed, min; c: from start to end; lowest: systolic, mmHg",
		"* estimated from dialysate and flows; spKt/V and eKt/V are from blood samples: compare neither with the other"}
	return g
}
