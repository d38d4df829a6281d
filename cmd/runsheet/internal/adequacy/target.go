package adequacy

import (
	"fmt"
	"io"
	"slices"
	"strconv"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
)

// scheduled is one schedule of the log with the recommendations that speak of
// it.
type scheduled struct {
	name    string
	targets []calc.Target
}

// schedules are the prescriptions in force during the log that differ in what
// recommendations depend on.
func (t Table) schedules() []scheduled {
	var all []scheduled
	seen := map[calc.Week]bool{}
	for _, p := range t.inForce() {
		week := calc.Week{KruKnown: p.ResidualUreaClearance.OK(), ResidualClearance: p.ResidualUreaClearance.Decimal.Float64()}
		if minutes := measure.PrescribedPlan(p).Set.TreatmentTimeMin; minutes.Known {
			week.HoursPerSession = minutes.Value / 60
		}
		week.SessionsPerWeek, _ = strconv.ParseFloat(prescribed(t.Log, p.ValidFrom.Time), 64)
		if seen[week] {
			continue
		}
		seen[week] = true
		now := scheduled{scheduleName(p, week), t.targetsFor(week)}
		if n := len(all); n > 0 && slices.Equal(all[n-1].targets, now.targets) {
			all[n-1].name += "; and for " + now.name
			continue
		}
		all = append(all, now)
	}
	if len(all) == 0 {
		all = append(all, scheduled{"schedule not stated", t.targetsFor(calc.Week{})})
	}
	return all
}

func (t Table) inForce() []session.Prescription {
	var out []session.Prescription
	for _, s := range t.Sessions {
		p, ok := t.Log.About.PrescriptionOn(s.Date.Time)
		if s.Date.OK() && ok && (len(out) == 0 || !out[len(out)-1].ValidFrom.Time.Equal(p.ValidFrom.Time)) {
			out = append(out, p)
		}
	}
	return out
}

func scheduleName(p session.Prescription, week calc.Week) string {
	if week.SessionsPerWeek == 0 {
		return "schedule not stated"
	}
	name := fmt.Sprintf("%g sessions a week", week.SessionsPerWeek)
	if minutes := measure.PrescribedPlan(p).Set.TreatmentTimeMin; minutes.Known {
		name += fmt.Sprintf(" of %g min", minutes.Value)
		if kind := calc.ScheduleKind(week.SessionsPerWeek, minutes.Value/60); kind != "" {
			name += " (" + kind + ", Canadian Society of Nephrology 2013)"
		}
	}
	if week.KruKnown {
		return name + fmt.Sprintf(", residual urea clearance %g mL/min", week.ResidualClearance)
	}
	return name + ", residual urea clearance not stated"
}

// targetsFor are the recommendations on quantities that the table shows, in the
// order of the quantities. Without a known schedule only those for any schedule
// are taken.
func (t Table) targetsFor(week calc.Week) []calc.Target {
	var out []calc.Target
	for _, key := range []string{"urea_reduction_ratio", "sp_kt_v", "e_kt_v", "std_kt_v_weekly", "treated_time", "weekly_hours", "sessions_per_week", "uf_rate_per_kg", ""} {
		if !t.shows(key) {
			continue
		}
		for _, target := range calc.TargetsFor(key, week) {
			anySchedule := target.MinSessions == 0 && target.MaxSessions == 0 && target.Except == 0
			if week.SessionsPerWeek > 0 || anySchedule {
				out = append(out, target)
			}
		}
	}
	return out
}

func (t Table) shows(key string) bool {
	switch key {
	case "", "treated_time", "weekly_hours", "sessions_per_week":
		return len(t.Weeks) > 0
	case "std_kt_v_weekly":
		for _, w := range t.Weeks {
			if _, ok := w.Kinetic.Main(); ok || len(w.Doses) > 0 {
				return true
			}
		}
		return false
	default:
		return t.has(key)
	}
}

// targetText prints published figures beside the values, as what they are.
func (t Table) targetText(w io.Writer) {
	fmt.Fprintf(w, "\nPublished figures to read beside these; the care team decides which apply\n")
	for _, s := range t.schedules() {
		printWrapped(w, "  ", "For "+s.name+":")
		for _, target := range s.targets {
			printWrapped(w, "    ", targetLine(target))
		}
	}
	for _, key := range []string{"interdialytic_weight_gain_percent", "target_miss"} {
		for _, m := range calc.Marks() {
			if m.Key == key && t.has(key) {
				printWrapped(w, "  ", markText(m))
			}
		}
	}
	t.rateText(w)
}

// rateText prints the published UF rates, those that depend on weight at the
// last weight after dialysis of the log.
func (t Table) rateText(w io.Writer) {
	weight := 0.0
	for _, s := range t.Sessions {
		for _, v := range s.Values {
			for _, in := range v.Inputs {
				if in.Key == "weight_after" {
					weight = in.Number
				}
			}
		}
	}
	if weight == 0 || !t.has("uf_rate_per_kg") {
		return
	}
	printWrapped(w, "  ", "UF rates (observational, in-centre, three a week; associations, not limits for a person):")
	for _, threshold := range calc.UFRateThresholds() {
		text := fmt.Sprintf("%g mL/kg/h", threshold.PerKg)
		if threshold.PerKg == 0 {
			text = fmt.Sprintf("%.1f mL/kg/h at %.1f kg (%g mL/h for each kg and %g mL/h)", threshold.AtPerKg(weight), weight, threshold.SlopePerKg, threshold.OffsetMLPerH)
		}
		printWrapped(w, "    ", text+", "+threshold.Association+" ("+threshold.Source+")")
	}
}

func targetLine(t calc.Target) string {
	grade := "grade " + t.Grade
	if t.Grade == "not graded" {
		grade = t.Grade
	}
	source := fmt.Sprintf("(%s, %s, %s; %s", t.Guideline, t.Schedule, grade, t.Tag)
	if t.Condition != "" {
		source += "; " + t.Condition
	}
	if !t.HasValue() {
		return "advice: " + t.Text + " " + source + ")"
	}
	unit := " " + t.Unit
	if t.Unit == "1" {
		unit = ""
	}
	return fmt.Sprintf("%s, %s %g%s %s)", quantityName(t.Key), t.Kind, t.Value, unit, source)
}

func quantityName(key string) string {
	for _, spec := range calc.Vocabulary() {
		if spec.Key == key {
			return spec.Name
		}
	}
	return key
}
