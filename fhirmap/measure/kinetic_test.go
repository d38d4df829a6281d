package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"runsheet.example/calc"
	"runsheet.example/calc/kinetics"
	"runsheet.example/fhirmap/session"
)

// thriceSteady is the schedule of thrice as calc solves it, with the body of
// the log and the clearance of its flows.
func thriceSteady(t testing.TB, volume, generation float64) kinetics.Steady {
	t.Helper()
	cycle := kinetics.Cycle{LengthMin: calc.MinutesPerWeek}
	for _, s := range thrice(1) {
		diffusive, err := calc.ClearanceInUse(300, 500, 800)
		if err != nil {
			t.Fatal(err)
		}
		clearance, err := calc.ClearanceWithUF(diffusive, 300*calc.BloodWaterShare, 1000*s.uf/240)
		if err != nil {
			t.Fatal(err)
		}
		cycle.Treatments = append(cycle.Treatments, kinetics.Treatment{StartMin: float64(s.day*1440 + s.minute), DurationMin: 240, ClearanceMLPerMin: clearance, UFLitres: s.uf})
	}
	steady, err := kinetics.SteadyState(kinetics.Body{VolumeL: volume, GenerationMgPerMin: generation, ResidualMLPerMin: 1.5, Pools: kinetics.TwoPools()}, cycle)
	if err != nil {
		t.Fatal(err)
	}
	return steady
}

// fataler is what testing and rapid share.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

func mainValue(t fataler, w KineticWeek, key string) float64 {
	t.Helper()
	m, ok := w.Main()
	if !ok {
		t.Fatalf("week of %s has no value: %s", day(w.Monday), w.WhyNot)
	}
	r, ok := m.Value(key)
	if !ok {
		t.Fatalf("week of %s has no %s", day(w.Monday), key)
	}
	return r.Value
}

func near(t testing.TB, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: got %.8g, want %.8g", what, got, want)
	}
}

// steadyDose is the standard Kt/V of the periodic solution by its definition.
func steadyDose(s kinetics.Steady) float64 {
	v, _ := calc.StdKtVByDefinition(s.Body.GenerationMgPerMin, s.Body.VolumeL, s.MeanBeforeMgPerDL)
	return v
}

// A log of the same week over and over must give in every week what the
// periodic solution gives: the log is followed session by session, the solution
// is one linear solve.
func TestRegularLogAgreesWithSteadyState(t *testing.T) {
	k := FollowKinetics(madeLog(t, madeAbout, thrice(7)))
	if len(k.Fits) != 1 || k.Fits[0].Sampled || k.Fits[0].Days != 28 {
		t.Fatalf("fits %+v, want one from flows over 28 days", k.Fits)
	}
	steady := thriceSteady(t, k.Fits[0].Models[0].Body.VolumeL, 1)
	for _, w := range k.Weeks[:6] {
		near(t, "standard Kt/V, week of "+day(w.Monday), mainValue(t, w, "std_kt_v_weekly"), steadyDose(steady), 1e-4)
		near(t, "EKR, week of "+day(w.Monday), mainValue(t, w, "ekr"), 100*steady.Body.GenerationMgPerMin/steady.TimeAveragedMgPerDL, 1e-4)
		if m, _ := w.Main(); len(m.Values) != 4 {
			t.Errorf("an estimate from flows has %d values, want the four doses and no concentration", len(m.Values))
		}
	}
	if k.Fits[0].Models[0].NPCR.OK() {
		t.Error("a protein catabolic rate without blood samples")
	}
	if w := k.Weeks[6]; w.WhyNot != "the log ends within the week" {
		t.Errorf("last week: %q", w.WhyNot)
	}
}

// Samples made by the model must give back what they were made from, through
// units, plasma and body water.
func TestFitFindsWhatTheSamplesWereMadeFrom(t *testing.T) {
	const generation = 6.0
	sessions := thrice(5)
	volume := watsonAt(t, sessions[7].after)
	steady := thriceSteady(t, volume, generation)
	midweek := steady.Sessions[1]
	sessions[7].sample = fmt.Sprintf("%.6f %.6f", plasmaUrea(midweek.BeforeMgPerDL), plasmaUrea(midweek.AfterMgPerDL))
	k := FollowKinetics(madeLog(t, madeAbout, sessions))
	if len(k.Fits) != 1 || k.Fits[0].WhyNot != "" || k.Fits[0].Days != 14 {
		t.Fatalf("fits %+v", k.Fits[0])
	}
	fit := k.Fits[0]
	near(t, "factor", fit.Models[0].Factor, 1, 1e-4)
	near(t, "generation", fit.Models[0].Body.GenerationMgPerMin, generation, 1e-4)
	near(t, "nPCR", fit.Models[0].NPCR.Value, 5.42*generation/volume+0.17, 1e-4)
	near(t, "fitted volume", fit.Models[2].Body.VolumeL, volume, 1e-3)
	for _, w := range k.Weeks[:4] {
		near(t, "standard Kt/V", mainValue(t, w, "std_kt_v_weekly"), steadyDose(steady), 1e-3)
		near(t, "urea before", mainValue(t, w, "mean_urea_before_plasma"), plasmaUrea(steady.MeanBeforeMgPerDL), 1e-3)
		near(t, "time-averaged urea", mainValue(t, w, "time_averaged_urea_plasma"), plasmaUrea(steady.TimeAveragedMgPerDL), 1e-3)
	}
}

func watsonAt(t testing.TB, weight float64) float64 {
	t.Helper()
	v, err := calc.WatsonMale(55, 175, math.Round(weight*1e4)/1e4) // 55: born in February 1970, sampled in January 2026
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Body volume belongs to the weights of the span, not to the first weight of
// the log: one odd weight long before must not move the weeks after.
func TestVolumeBelongsToTheSpan(t *testing.T) {
	sessions := thrice(6)
	sessions[13].sample = "20.0 7.0"
	want := mainValue(t, FollowKinetics(madeLog(t, madeAbout, sessions)).Weeks[4], "time_averaged_urea_plasma")
	sessions[0].before += 3 // shoes, bag and coat
	k := FollowKinetics(madeLog(t, madeAbout, sessions))
	if k.Fits[0].From.Equal(k.Fits[0].Session.Start.Time) || !k.Fits[0].From.After(firstMonday.AddDate(0, 0, 1)) {
		t.Fatalf("the span begins at %v: the odd weight must lie before it", k.Fits[0].From)
	}
	near(t, "time-averaged urea", mainValue(t, k.Weeks[4], "time_averaged_urea_plasma"), want, 1e-3)
}

// What the model forecasts for the next sample must be that sample when nothing
// has changed in between.
func TestForecastOfTheNextSample(t *testing.T) {
	sessions := thrice(8)
	for _, i := range []int{7, 19} {
		sessions[i].sample = "20.00 7.00"
	}
	k := FollowKinetics(madeLog(t, madeAbout, sessions))
	if len(k.Fits) != 2 || k.Fits[0].Forecast != nil || k.Fits[1].Forecast == nil {
		t.Fatalf("want two fits, the second with a forecast")
	}
	near(t, "forecast before", k.Fits[1].Forecast.Before, 20, 2e-3)
	near(t, "forecast after", k.Fits[1].Forecast.After, 7, 2e-3)
	if k.Weeks[2].Fit != k.Fits[0] || k.Weeks[6].Fit != k.Fits[1] {
		t.Error("a week does not start from the latest sample up to its end")
	}
}

// drawSchedule draws four weeks of a schedule with a sample in the second.
func drawSchedule(t *rapid.T) []made {
	days := rapid.SampledFrom([][]int{{0, 2, 4}, {0, 1, 3, 5}, {0, 2, 3, 5, 6}, {0, 1, 2, 3, 4, 5}}).Draw(t, "days")
	treated := rapid.IntRange(120, 420).Draw(t, "minutes")
	uf := rapid.Float64Range(0.5, 2).Draw(t, "uf")
	var all []made
	for w := range 4 {
		for _, d := range days {
			all = append(all, made{day: 7*w + d, minute: rapid.IntRange(960, 1080).Draw(t, "start"), treated: treated, uf: uf})
		}
	}
	before := rapid.Float64Range(12, 30).Draw(t, "before")
	all[2*len(days)-1].sample = fmt.Sprintf("%.2f %.2f", before, before*rapid.Float64Range(0.3, 0.7).Draw(t, "ratio"))
	return append(all, made{day: 28, minute: 1000, treated: treated, uf: uf})
}

func gainOf(sessions []made) float64 {
	return sessions[0].uf * float64(len(sessions)-1) / 28
}

// A missed session, and a shortened one, leave more urea in that week, or in the
// next one when it was the last; the weeks before do not change.
func TestMissedAndShortenedSessionsRaiseUrea(t *testing.T) {
	drawn, compared := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		whole := drawSchedule(rt)
		drawn++
		perWeek := (len(whole) - 1) / 4
		at := 2*perWeek + rapid.IntRange(0, perWeek-1).Draw(rt, "which")
		weigh(whole, 70, gainOf(whole))
		full := FollowKinetics(madeLog(t, madeAbout, whole))
		if full.Fits[0].WhyNot != "" || full.Fits[0].Models[0].WhyNot != "" {
			rt.Skip(full.Fits[0].WhyNot)
		}
		missed := slices.Clone(whole)
		missed[at].skipped = true
		missed[at+1].uf += missed[at].uf // else the fluid left would dilute urea
		short := slices.Clone(whole)
		short[at].treated -= 60
		for name, changed := range map[string][]made{"missed": missed, "shortened": short} {
			less := FollowKinetics(madeLog(t, madeAbout, weigh(changed, 70, gainOf(whole))))
			for week := range 4 {
				for _, key := range []string{"mean_urea_before_plasma", "time_averaged_urea_plasma"} {
					was, is := mainValue(rt, full.Weeks[week], key), mainValue(rt, less.Weeks[week], key)
					// The last session of a week shows before the sessions of
					// the next; later the two logs grow alike again.
					last := at == 3*perWeek-1
					changes := week == 2 && !(last && key == "mean_urea_before_plasma") || week == 3 && last
					switch {
					case changes && !(is > was):
						rt.Fatalf("%s session %d: %s of week %d is %v after %v", name, at, key, week, is, was)
					case week < 2 && math.Abs(is-was) > 1e-5*was: // weights are written with four decimals
						rt.Fatalf("%s session: %s of the earlier week %d changed from %v to %v", name, key, week, was, is)
					}
				}
			}
			compared++
		}
	})
	if compared < drawn {
		t.Errorf("only %d comparisons were made of %d schedules drawn", compared, drawn)
	}
}

// A week with a session planned and not done has no higher standard Kt/V than
// the same week with all done, whichever is missed, and the next has a lower
// one.
func TestMissedSessionDoesNotRaiseTheDose(t *testing.T) {
	about := strings.Replace(madeAbout, "sessions_per_week = 3", "sessions_per_week = 2", 1)
	var whole []made
	for w := range 5 {
		whole = append(whole, made{day: 7*w + 1, minute: 540, treated: 210, uf: 1.2}, made{day: 7*w + 5, minute: 540, treated: 210, uf: 1.2})
	}
	whole[5].sample = "17.3 4.5"
	full := FollowKinetics(madeLog(t, about, weigh(slices.Clone(whole), 52, 0.35)))
	for _, missed := range []int{6, 7} {
		less := slices.Clone(whole)
		less[missed].skipped = true
		got := FollowKinetics(madeLog(t, about, weigh(less, 52, 0.35)))
		for week := 3; week < 5-1; week++ {
			if was, is := mainValue(t, full.Weeks[week], "std_kt_v_weekly"), mainValue(t, got.Weeks[week], "std_kt_v_weekly"); is > was*1.001 {
				t.Errorf("session %d missed: week %d has %.3f after %.3f", missed, week, is, was)
			}
			if was, is := mainValue(t, full.Weeks[week], "ekr"), mainValue(t, got.Weeks[week], "ekr"); is > was {
				t.Errorf("session %d missed: EKR of week %d is %.2f after %.2f", missed, week, is, was)
			}
		}
	}
}

// A session made up for on the same day, or within the week, is none missed.
func TestSessionMadeUpForIsNotMissed(t *testing.T) {
	for name, made := range map[string][]made{
		"that day":  append(thrice(2), made{day: 14, minute: 600, skipped: true}, made{day: 14, minute: 1200, treated: 240, uf: 1}),
		"that week": append(thrice(2), made{day: 14, skipped: true}, made{day: 15, minute: 1080, treated: 240, uf: 1}, made{day: 17, minute: 1080, treated: 240, uf: 1}, made{day: 19, minute: 1080, treated: 240, uf: 1}),
	} {
		log := madeLog(t, madeAbout, weigh(made, 70, madeGain))
		if moment, ok := notDoneAt(log, 6); ok {
			t.Errorf("%s: counts %v", name, moment)
		}
	}
	log := madeLog(t, madeAbout, append(thrice(2), made{day: 14, skipped: true}))
	if moment, ok := notDoneAt(log, 6); !ok || !moment.Equal(firstMonday.AddDate(0, 0, 14).Add(18*time.Hour)) {
		t.Errorf("a missed session counts at %v, %v", moment, ok)
	}
}

// Ultrafiltration without dialysate clears what it removes, and stops nothing.
func TestFluidAloneDoesNotStopTheModel(t *testing.T) {
	sessions := thrice(5)
	sessions[7].alone = true
	whole, alone := FollowKinetics(madeLog(t, madeAbout, thrice(5))), FollowKinetics(madeLog(t, madeAbout, sessions))
	for week := 2; week < 4; week++ {
		if was, is := mainValue(t, whole.Weeks[week], "ekr"), mainValue(t, alone.Weeks[week], "ekr"); !(is < was) {
			t.Errorf("week %d: EKR %.2f after %.2f", week, is, was)
		}
	}
}

// Two half treatments of one day share the length prescribed for it.
func TestTreatmentsOfOneDayShareItsLength(t *testing.T) {
	sessions := thrice(2)
	sessions = append(sessions[:4], made{day: 9, minute: 480, treated: 125, uf: 1}, made{day: 9, minute: 1080, treated: 100, uf: 1}, sessions[5])
	log := madeLog(t, madeAbout, weigh(sessions, 70, madeGain))
	for at, want := range map[int]float64{3: 240, 4: 125, 5: 115, 6: 240} {
		if got := PlannedMinutes(log, at); !got.Known || got.Value != want {
			t.Errorf("session %d: planned %+v, wanted %v", at, got, want)
		}
	}
	week := NewCalendar(log).Days(firstMonday.AddDate(0, 0, 7), 7)
	if week.PlannedMin != 720 || week.Shortened != 1 || week.ShortMin != 15 {
		t.Errorf("%+v", week)
	}
}

// The order of the rows in the file does not matter.
func TestOrderOfRowsDoesNotMatter(t *testing.T) {
	sessions := thrice(5)
	sessions[7].sample = "20.0 7.1"
	want := fmt.Sprint(weeklyDoses(FollowKinetics(madeLog(t, madeAbout, sessions))))
	source := rand.New(rand.NewPCG(1, 2))
	for range 5 {
		source.Shuffle(len(sessions), func(i, j int) { sessions[i], sessions[j] = sessions[j], sessions[i] })
		if got := fmt.Sprint(weeklyDoses(FollowKinetics(madeLog(t, madeAbout, sessions)))); got != want {
			t.Fatalf("got %s, want %s", got, want)
		}
	}
}

// spread is the largest minus the smallest standard Kt/V.
func spread(cases []SensitivityCase) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range cases {
		if c.WhyNot == "" && !math.IsNaN(c.StdKtV) {
			low, high = math.Min(low, c.StdKtV), math.Max(high, c.StdKtV)
		}
	}
	return math.Max(0, high-low)
}

func weeklyDoses(k Kinetics) []string {
	var all []string
	for _, w := range k.Weeks {
		all = append(all, day(w.Monday)+w.WhyNot)
		for _, m := range w.Models {
			for _, r := range m.Values {
				all = append(all, r.Method.ID+"="+r.Rounded())
			}
		}
		for _, s := range w.Sensitivity {
			all = append(all, fmt.Sprintf("%.6f", spread(s.Cases)))
		}
	}
	return all
}

// Whatever is not known stops the model with its reason.
func TestUnknownStopsTheModel(t *testing.T) {
	changed := strings.Replace(madeAbout, "1.5\n", "1.5\n\n[[prescription]]\nvalid_from = \"2026-01-20\"\nsessions_per_week = 3\ndialyser = \"high-flux\"\ndialyser_koa_ml_min = 800\nresidual_urea_clearance_ml_min = 0.5\n", 1)
	for _, test := range []struct {
		name, about string
		change      func([]made) []made
		why         string
		week        int
	}{
		{"no blood flow", madeAbout, func(s []made) []made { s[7].blank = "blood_flow_ml_min"; return s }, "not known of the session of 2026-01-21: blood flow", 2},
		{"no weight before", madeAbout, func(s []made) []made { s[7].blank = "weight_before_kg"; return s }, "weight before dialysis", 2},
		{"no fluid removed", madeAbout, func(s []made) []made { s[7].blank = "uf_removed_l"; return s }, "fluid removed", 2},
		{"another dialyser", madeAbout, func(s []made) []made { s[7].dialyser = "low-flux"; return s }, "dialyser KoA", 2},
		{"silence", madeAbout, func(s []made) []made { return slices.Delete(s, 6, 9) }, "nothing is written between 2026-01-16 and 2026-01-26", 2},
		{"residual clearance changed", changed, func(s []made) []made { return s }, "residual urea clearance", 2},
		{"no sex", strings.Replace(madeAbout, "sex = \"male\"\n", "", 1), func(s []made) []made { return s }, "body water cannot be computed", 2},
		{"too short", madeAbout, func(s []made) []made { return s[:3] }, "the log ends within the week", 0},
	} {
		t.Run(test.name, func(t *testing.T) {
			k := FollowKinetics(madeLog(t, test.about, test.change(thrice(5))))
			w := k.Weeks[test.week]
			if _, ok := w.Main(); ok || !strings.Contains(w.WhyNot, test.why) {
				t.Errorf("week of %s: %q, want a reason with %q", day(w.Monday), w.WhyNot, test.why)
			}
		})
	}
}

// A held-back session stops the model even when its numbers could be read.
func TestHeldBackSessionStopsTheModel(t *testing.T) {
	log := madeLog(t, madeAbout, thrice(6))
	log.Sessions[4].Broken = true
	k := FollowKinetics(log)
	if !strings.Contains(k.Weeks[1].WhyNot, "held back") || len(k.Notes) != 1 {
		t.Errorf("week with the session: %q, notes %q", k.Weeks[1].WhyNot, k.Notes)
	}
	if _, ok := k.Weeks[3].Main(); !ok {
		t.Errorf("the model does not start again behind: %q", k.Weeks[3].WhyNot)
	}
}

// The demonstration month, whose samples follow a week with one long night.
func TestMonth(t *testing.T) {
	log, _, err := session.ReadFolder("../../testdata/month", session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	k := FollowKinetics(log)
	if len(k.Fits) != 1 || !k.Fits[0].Sampled || len(k.Weeks) != 4 {
		t.Fatalf("%d fits, %d weeks", len(k.Fits), len(k.Weeks))
	}
	for _, w := range k.Weeks {
		two, one := w.Models[0], w.Models[1]
		a, _ := two.Value("std_kt_v_weekly")
		b, _ := one.Value("std_kt_v_weekly")
		if !(a.Value > 2 && b.Value > a.Value) {
			t.Errorf("week of %s: two pools %v, one pool %v; a single pool reads higher", day(w.Monday), a.Value, b.Value)
		}
		if len(w.Sensitivity) != 2 || spread(w.Sensitivity[0].Cases) <= spread(w.Sensitivity[1].Cases) {
			t.Errorf("week of %s: the exchange between the pools is the least certain input, spreads %v", day(w.Monday), w.Sensitivity)
		}
	}
	missed, full := mainValue(t, k.Weeks[3], "std_kt_v_weekly"), mainValue(t, k.Weeks[2], "std_kt_v_weekly")
	if !(missed < full) {
		t.Errorf("the week with the power cut has %v, the one before %v", missed, full)
	}
}

// yearLog is a year of five sessions a week with a sample each month.
func yearLog(b *testing.B, samples bool) *session.Log {
	var all []made
	for w := range 52 {
		for _, d := range []int{0, 1, 3, 4, 6} {
			s := made{day: 7*w + d, minute: 1080, treated: 165, uf: 1.5}
			if samples && w%4 == 3 && d == 3 {
				s.sample = "18.0 10.2"
			}
			all = append(all, s)
		}
	}
	return madeLog(b, madeAbout, weigh(all, 70, 1.5*5/7))
}

func BenchmarkKineticYearWithSamples(b *testing.B) {
	log := yearLog(b, true)
	b.ResetTimer()
	for b.Loop() {
		FollowKinetics(log)
	}
}

func BenchmarkKineticYearFromFlows(b *testing.B) {
	log := yearLog(b, false)
	b.ResetTimer()
	for b.Loop() {
		FollowKinetics(log)
	}
}

func BenchmarkLogYear(b *testing.B) {
	log := yearLog(b, true)
	b.ResetTimer()
	for b.Loop() {
		Log(log)
	}
}
