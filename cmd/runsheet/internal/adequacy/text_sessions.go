package adequacy

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
)

func (t Table) doseGrid() grid {
	g := grid{title: "Sessions: time and dose", heads: [][]string{
		{"date", "status", "planned", "treated", "short by", "felt well after", "dialysate-side", "URR", "spKt/V", "eKt/V"},
		{"", "", "min", "min", "min", "min", "Kt/V, estimate", "%", "", ""},
	}}
	clock, sampled := false, false
	for i, s := range t.Sessions {
		planned := measure.PlannedMinutes(t.Log, i)
		treated := s.TreatedTime.Text
		if s.TreatedFromClock {
			treated, clock = treated+"*", true
		}
		_, dosed := s.Value("urea_reduction_ratio")
		sampled = sampled || dosed
		g.rows = append(g.rows, cells(date(s), status(s), number(planned, 0), treated, shortBy(s, planned), entered(s, "recovery_time"),
			value(s, "dialysate_kt_v"), value(s, "urea_reduction_ratio"), value(s, "sp_kt_v"), value(s, "e_kt_v")))
	}
	if clock {
		g.notes = append(g.notes, "* from start to end; pauses count as treatment")
	}
	g.notes = append(g.notes, "short by: more than 10 min less than prescribed (Saran et al, Kidney Int 2003)")
	if sampled {
		g.notes = append(g.notes, "The dialysate-side estimate and the values from blood samples are different quantities: compare neither with the other.")
	} else {
		g.notes = append(g.notes, "URR, spKt/V and eKt/V need blood samples before and after.")
	}
	return g
}

// prescription is the prescription of a session, empty if there is none.
func (t Table) prescription(s measure.Session) session.Prescription {
	if !s.Date.OK() {
		return session.Prescription{}
	}
	p, _ := t.Log.About.PrescriptionFor(s.Session)
	return p
}

func shortBy(s measure.Session, planned calc.Maybe) string {
	if short := planned.Value - s.TreatedTime.Number; held(s) && planned.Known && s.TreatedTime.Key != "" && short > calc.ShortenedByMin {
		return strconv.FormatFloat(short, 'f', 0, 64)
	}
	return ""
}

func (t Table) fluidGrid() grid {
	g := grid{title: "Sessions: weight and fluid", heads: [][]string{
		{"date", "before", "after", "gain", "gain", "after less dry", "UF", "UF less weights", "UF rate", "UF rate", "own limit"},
		{"", "kg", "kg", "kg", "%", "kg", "L", "L", "L/h", "mL/kg/h", "mL/kg/h"},
	}}
	for i, s := range t.Sessions {
		if !held(s) {
			continue
		}
		g.rows = append(g.rows, cells(date(s), entered(s, "weight_before"), entered(s, "weight_after"),
			value(s, "interdialytic_weight_gain"), value(s, "interdialytic_weight_gain_percent"), value(s, "target_miss"),
			entered(s, "uf_removed"), value(s, "uf_discrepancy"), formOf(t.Forms[i], "uf-rate-mean"), value(s, "uf_rate_per_kg"), t.prescription(s).Values["uf_limit"].Text))
	}
	g.notes = []string{"UF less weights: fluid the machine removed less what weights, drinks, saline and rinse-back explain; own limit: as prescribed"}
	return g
}

func formOf(forms []measure.Value, id string) string {
	for _, v := range forms {
		if v.Result.Method.ID == id {
			return v.Result.Rounded()
		}
	}
	return ""
}

// planGrid prints volume, rate and time of dialysate and of fluid removal with
// the values computed from them.
func (t Table) planGrid() grid {
	g := grid{title: "Sessions: volume, rate and time as set, and what they imply", heads: [][]string{
		{"date", "dialysate", "prescribed", "flow", "lasts", "treated", "these", "UF goal", "set rate", "takes", "done before", "these"},
		{"", "L", "L", "L/h", "h:min", "h:min", "", "L", "L/h", "h:min", "the end, min", ""},
	}}
	changed := false
	for i, s := range t.Sessions {
		p := t.Plans[i]
		if !held(s) || p.Set == (calc.FluidPlan{}) {
			continue
		}
		rate := number(p.Set.UFLPerH, 2)
		if p.RateChanged {
			rate, changed = rate+"~", true
		}
		uf := agreement(p.Implied.UF, p.Set.UFLitres, p.Set.UFLPerH, p.Implied.TimeMin)
		if uf != "" && p.RateChanged {
			uf = "rate changed"
		}
		g.rows = append(g.rows, cells(date(s), number(p.Set.DialysateL, 1), number(measure.PrescribedPlan(t.prescription(s)).Set.DialysateL, 1), number(p.Set.DialysateLPerH, 1), hours(p.Implied.Dialysate.TimeMin), hours(p.Set.TreatmentTimeMin),
			agreement(p.Implied.Dialysate, p.Set.DialysateL, p.Set.DialysateLPerH, p.Set.TreatmentTimeMin), number(p.Set.UFLitres, 2), rate, hours(p.Implied.UF.TimeMin),
			number(p.Implied.UFEndsEarlyMin, 0), uf))
	}
	g.notes = []string{"agree: volume and rate times time are within one part in ten of each other. The set UF rate is that of the first reading."}
	if changed {
		g.notes = append(g.notes, "~ the readings show other UF rates later in the session")
	}
	return t.prescribedPlans(g)
}

// prescribedPlans adds the values computed from the numbers of each
// prescription.
func (t Table) prescribedPlans(g grid) grid {
	if len(g.rows) == 0 {
		return g
	}
	for _, p := range t.Log.About.Prescriptions {
		plan := measure.PrescribedPlan(p)
		if texts := plan.Implied.Dialysate.Text; len(texts) > 0 {
			g.notes = append(g.notes, "prescribed from "+p.ValidFrom.Time.Format(day)+", dialysate: "+strings.Join(texts, "; "))
		}
	}
	return g
}

func agreement(i calc.Implied, all ...calc.Maybe) string {
	for _, one := range all {
		if !one.Known {
			return ""
		}
	}
	if i.Agree {
		return "agree"
	}
	return "differ"
}

func number(m calc.Maybe, decimals int) string {
	if !m.Known || math.IsNaN(m.Value) {
		return ""
	}
	return fixed(m.Value, decimals)
}

func hours(m calc.Maybe) string {
	if !m.Known {
		return ""
	}
	whole := int(math.Round(m.Value))
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

func (t Table) pressureGrid() grid {
	g := grid{title: "Sessions: blood pressure", heads: [][]string{
		{"date", "before", "mean", "after", "mean", "lowest", "hypotension by", over, over, "fall on standing", over},
		{"", "mmHg", "", "mmHg", "", "systolic (of n)", "nadir", "EBPG", "KDOQI", "before", "after"},
	}}
	why := map[string]bool{}
	for i, s := range t.Sessions {
		h := t.Pressures[i]
		if !held(s) {
			continue
		}
		lowest := number(h.Lowest, 0)
		if lowest != "" {
			lowest += fmt.Sprintf(" (%d)", h.Readings)
		}
		line := cells(date(s), pressureText(h.Before), meanPressure(s, "before"), pressureText(h.After), meanPressure(s, "after"), lowest)
		for _, d := range append(append([]measure.Definition{}, h.Hypotension...), h.Standing...) {
			line = append(line, answer(d))
			why[d.Why] = true
		}
		g.rows = append(g.rows, line)
	}
	if len(g.rows) == 0 {
		return g
	}
	for _, h := range t.Pressures {
		if len(h.Hypotension) == 0 {
			continue
		}
		for _, d := range append(append([]measure.Definition{}, h.Hypotension...), h.Standing[0]) {
			name := d.Name
			if name == "before" {
				name = "fall on standing"
			}
			g.notes = append(g.notes, fmt.Sprintf("%s: %s (%s, %s)", name, d.Definition, d.Source, d.Tag))
		}
		break
	}
	g.notes = append(g.notes, "n.a.: not assessable, something the definition asks for is not known. A fall of pressure alone is no intradialytic hypotension.",
		"Symptoms are the events of kind \"symptom\", of whatever sort; an intervention is saline given. An action in words may be one or not.")
	if why[calc.ForAdults] {
		g.notes = append(g.notes, "Hypotension of a child: "+calc.ForAdults+".")
	}
	for _, d := range t.Patterns {
		g.notes = append(g.notes, fmt.Sprintf("%s, %s: %s%s (%s)", d.Name, d.Definition, d.Answer, because(d.Why), d.Source))
	}
	return g
}

func because(why string) string {
	if why == "" {
		return ""
	}
	return ", " + why
}

func answer(d measure.Definition) string {
	if d.Answer == calc.NotAssessable {
		return "n.a."
	}
	return d.Answer.String()
}

func pressureText(p *calc.Pressure) string {
	if p == nil {
		return ""
	}
	return fmt.Sprintf("%g/%g", p.Systolic, p.Diastolic)
}

func meanPressure(s measure.Session, when string) string {
	for _, v := range s.Values {
		if v.Key() == "mean_arterial_pressure" && v.When == when {
			return v.Result.Rounded()
		}
	}
	return ""
}
