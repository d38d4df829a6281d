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

// FiguresForRow are the published figures whose scope includes the patient
// under one prescription.
type FiguresForRow struct {
	Schedule string      `json:"schedule"`
	Figures  []FigureRow `json:"figures"`
}

// FigureRow is one published figure with its scope in the source's words.
type FigureRow struct {
	ID     string  `json:"id"`
	Key    string  `json:"key"`
	Kind   string  `json:"kind"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit"`
	Source string  `json:"source"`
	Grade  string  `json:"grade,omitempty"`
	Read   string  `json:"read"`
	Scope  string  `json:"scope"`
}

// figures returns, for each prescription in force during the log, the
// published figures on quantities in the table. Prescriptions with the same
// figures share an entry.
func (t Table) figures() []FiguresForRow {
	var all []FiguresForRow
	for _, p := range t.inForce() {
		patient := t.patient(p)
		now := FiguresForRow{scheduleName(patient), []FigureRow{}}
		for _, f := range calc.Figures() {
			if f.Scope.Includes(patient) && t.shows(f.Key) {
				now.Figures = append(now.Figures, FigureRow{f.ID, f.Key, f.Kind, f.Value, f.Unit, f.Source, f.Grade, f.Read, f.Scope.Quote})
			}
		}
		switch n := len(all); {
		case n > 0 && all[n-1].Schedule == now.Schedule:
		case n > 0 && slices.Equal(all[n-1].Figures, now.Figures):
			all[n-1].Schedule += "; and for " + now.Schedule
		default:
			all = append(all, now)
		}
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

// patient is the patient's data from the log under a prescription.
func (t Table) patient(p session.Prescription) calc.Patient {
	about := t.Log.About
	var patient calc.Patient
	if years, ok := about.AgeOn(p.ValidFrom); ok {
		patient.AgeYears = calc.Known(float64(years))
	}
	if minutes := measure.PrescribedPlan(p).Set.TreatmentTimeMin; minutes.Known {
		patient.HoursPerSession = calc.Known(minutes.Value / 60)
	}
	if sessions, err := strconv.ParseFloat(prescribed(t.Log, p.ValidFrom.Time), 64); err == nil {
		patient.SessionsPerWeek = calc.Known(sessions)
	}
	if p.ResidualUreaClearance.OK() {
		patient.KruMLPerMin = calc.Known(p.ResidualUreaClearance.Decimal.Float64())
	}
	if flow := p.Values["dialysate_flow"]; flow.OK() && flow.Unit == "L/h" {
		patient.DialysateMLMin = calc.Known(flow.Decimal.Float64() * 1000 / 60)
	} else if flow.OK() {
		patient.DialysateMLMin = calc.Known(flow.Decimal.Float64())
	}
	if weight := p.Values["dry_weight"]; weight.OK() && weight.Unit == "kg" && about.HeightCm.OK() && about.HeightCm.Unit == "cm" {
		if surface, err := calc.BSADuBois(about.HeightCm.Decimal.Float64(), weight.Decimal.Float64()); err == nil {
			patient.SurfaceM2 = calc.Known(surface)
		}
	}
	return patient
}

func scheduleName(c calc.Patient) string {
	if !c.SessionsPerWeek.Known {
		return "schedule not stated"
	}
	name := fmt.Sprintf("%g sessions a week", c.SessionsPerWeek.Value)
	if c.HoursPerSession.Known {
		name += fmt.Sprintf(" of %g min", c.HoursPerSession.Value*60)
		if kind := calc.ScheduleKind(c.SessionsPerWeek.Value, c.HoursPerSession.Value); kind != "" {
			name += " (" + kind + ", Canadian Society of Nephrology 2013)"
		}
	}
	if c.KruMLPerMin.Known {
		return name + fmt.Sprintf(", residual urea clearance %g mL/min", c.KruMLPerMin.Value)
	}
	return name + ", residual urea clearance not stated"
}

func (t Table) shows(key string) bool {
	switch key {
	case "treated_time", "weekly_hours":
		return len(t.Weeks) > 0
	case "std_kt_v_weekly":
		return slices.ContainsFunc(t.Weeks, func(w Week) bool {
			_, ok := w.Kinetic.Main()
			return ok || slices.ContainsFunc(w.Doses, func(v measure.Value) bool { return v.Result.OK() })
		})
	default:
		return t.has(key)
	}
}

// figureText prints the published figures for this patient.
func (t Table) figureText(w io.Writer) {
	fmt.Fprintf(w, "\nPublished figures for patients like this one; the care team decides which apply\n")
	for _, s := range t.figures() {
		printWrapped(w, "  ", "For "+s.Schedule+":")
		for _, f := range s.Figures {
			printWrapped(w, "    ", f.line())
		}
		if len(s.Figures) == 0 {
			printWrapped(w, "    ", "none of the figures known to this program is stated for such a patient, or the log does not say enough (age, sessions a week, residual urea clearance)")
		}
	}
}

func (f FigureRow) line() string {
	unit, grade := " "+f.Unit, ""
	if f.Unit == "1" {
		unit = ""
	}
	if f.Grade != "" {
		grade = ", grade " + f.Grade
	}
	return fmt.Sprintf("%s, %s %g%s: %s%s; stated for %q; %s", calc.Spec(f.Key).Name, f.Kind, f.Value, unit, f.Source, grade, f.Scope, f.Read)
}
