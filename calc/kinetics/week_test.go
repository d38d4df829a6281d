package kinetics

import (
	"math"
	"testing"

	"runsheet.example/calc"
)

// weeksInARow is a course over two weeks told by weights, with a session that
// runs over midnight between them.
func weeksInARow() (body Body, sessions []WeekSession, start UreaState) {
	body = Body{VolumeL: 40, GenerationMgPerMin: 5, ResidualMLPerMin: 1, Pools: TwoPools()}
	for i, minute := range []float64{1000, 3900, 6800, 9960, 14000, 17000} {
		sessions = append(sessions, WeekSession{
			StartMin: minute, DurationMin: 240 + 20*float64(i), ClearanceMLPerMin: 180, UFLitres: 2 + 0.1*float64(i), WeightBeforeKg: 72 + 0.2*float64(i),
		})
	}
	return body, sessions, UreaState{VolumeL: 41, PlasmaMgPerDL: 50, InnerMgPerDL: 55}
}

func shifted(sessions []WeekSession, minutes float64) []WeekSession {
	out := make([]WeekSession, 0, len(sessions))
	for _, s := range sessions {
		s.StartMin -= minutes
		out = append(out, s)
	}
	return out
}

// Two weeks computed one after the other, each from the state at its start,
// are the same as both in one go: states, doses and urea of every session.
func TestWeeksFollowOneAnother(t *testing.T) {
	body, sessions, start := weeksInARow()
	week := DoneWeek{Body: body, Start: start, ReferenceKg: 70, ClearanceFactor: 0.9, LengthMin: calc.MinutesPerWeek, GainLPerDay: 1.2}
	both := week
	both.LengthMin, both.Sessions = 2*calc.MinutesPerWeek, sessions
	first := week
	first.Sessions = sessions[:5] // the fifth is the first one after the week
	// The session over midnight belongs to both weeks.
	runs := map[string]Run{}
	for name, w := range map[string]DoneWeek{"both": both, "first": first} {
		r, err := w.Follow()
		if err != nil {
			t.Fatal(name, err)
		}
		runs[name] = r
	}
	second := week
	second.Start, second.Sessions = runs["first"].End, shifted(sessions[3:], calc.MinutesPerWeek)
	end, err := second.Follow()
	if err != nil {
		t.Fatal(err)
	}
	midnight, err := runs["both"].At(calc.MinutesPerWeek)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "urea at midnight", runs["first"].End.PlasmaMgPerDL, midnight.PlasmaMgPerDL, 1e-9)
	near(t, "water at midnight", runs["first"].End.VolumeL, midnight.VolumeL, 1e-9)
	near(t, "urea at the end", end.End.PlasmaMgPerDL, runs["both"].End.PlasmaMgPerDL, 1e-9)
	near(t, "water at the end", end.End.VolumeL, runs["both"].End.VolumeL, 1e-9)
	if len(runs["first"].Sessions) != 4 || len(end.Sessions) != 2 {
		t.Fatalf("sessions of the weeks: %d and %d", len(runs["first"].Sessions), len(end.Sessions))
	}
	for i, s := range end.Sessions {
		near(t, "urea before", s.BeforeMgPerDL, runs["both"].Sessions[4+i].BeforeMgPerDL, 1e-9)
		near(t, "urea after", s.AfterMgPerDL, runs["both"].Sessions[4+i].AfterMgPerDL, 1e-9)
	}
	// Body water follows the scales: one litre for one kilogram.
	near(t, "water before a session", runs["both"].Sessions[2].VolumeBeforeL, 40+72.4-70, 1e-9)
	near(t, "water after it", runs["both"].Sessions[2].VolumeAfterL, 40+72.4-70-2.2, 1e-9)
	tail := 2*calc.MinutesPerWeek - 17000 - 340
	near(t, "water after the last weight", runs["both"].End.VolumeL, 40+73-70-2.5+1.2*tail/1440, 1e-9)
}

// Dialysis with twice the clearance and half the factor is the same dialysis.
func TestClearanceFactorScalesClearance(t *testing.T) {
	body, sessions, start := weeksInARow()
	urea := func(clearance, factor float64) float64 {
		w := DoneWeek{Body: body, Start: start, ReferenceKg: 70, ClearanceFactor: factor, LengthMin: 2 * calc.MinutesPerWeek}
		for _, s := range sessions {
			s.ClearanceMLPerMin = clearance
			w.Sessions = append(w.Sessions, s)
		}
		r, err := w.Follow()
		if err != nil {
			t.Fatal(err)
		}
		return r.End.PlasmaMgPerDL
	}
	near(t, "scaled", urea(200, 0.5), urea(100, 1), 1e-9)
	if urea(200, 1) >= urea(100, 1) {
		t.Error("more clearance leaves more urea")
	}
}

// What cannot be followed is refused, and a week without a session runs on.
func TestWeeksThatCannotBeFollowed(t *testing.T) {
	body, sessions, start := weeksInARow()
	good := DoneWeek{Body: body, Start: start, ReferenceKg: 70, ClearanceFactor: 1, LengthMin: calc.MinutesPerWeek}
	for what, change := range map[string]func(*DoneWeek){
		"no length":                 func(w *DoneWeek) { w.LengthMin = 0 },
		"no factor":                 func(w *DoneWeek) { w.ClearanceFactor = 0 },
		"no weight to compare with": func(w *DoneWeek) { w.ReferenceKg = 0 },
		"sessions that overlap":     func(w *DoneWeek) { w.Sessions = []WeekSession{sessions[0], sessions[0]} },
	} {
		w := good
		change(&w)
		if _, err := w.Follow(); err == nil {
			t.Errorf("%s: followed", what)
		}
	}
	ends := good
	ends.Sessions = shifted(sessions[:1], 1240)
	if _, err := ends.Follow(); err == nil || err.Error() != "a session lies before the week" {
		t.Errorf("a session that ends at the start: %v", err)
	}
	r, err := good.Follow()
	if err != nil || len(r.Sessions) != 0 {
		t.Fatalf("a week without a session: %v, %v", r.Sessions, err)
	}
	w, err := r.Window(0, calc.MinutesPerWeek)
	if err != nil {
		t.Fatal(err)
	}
	if _, has := w.Inputs()["mean_urea_before"]; has || w.Results()[0].OK() || w.Results()[0].WhyNot != noSession || w.Concentrations()[0].WhyNot != noSession {
		t.Errorf("mean urea before no session: %+v", w.Inputs())
	}
	// A session that ends as the week begins is outside, a minute later inside;
	// one that starts as the week ends tells its weight only.
	touching := good
	touching.Sessions = append(shifted(sessions[:1], 1239), WeekSession{StartMin: calc.MinutesPerWeek, DurationMin: 240, ClearanceMLPerMin: 180, UFLitres: 1, WeightBeforeKg: 73})
	if r, err = touching.Follow(); err != nil || len(r.Sessions) != 0 {
		t.Fatalf("sessions at the ends of the week: %v, %v", r.Sessions, err)
	}
	near(t, "water by the weight of the session after", r.End.VolumeL, 40+73-70, 1e-9)
	if math.IsNaN(r.End.PlasmaMgPerDL) {
		t.Error("no urea at the end")
	}
}
