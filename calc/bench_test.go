package calc

import "testing"

// patientYear is a year of a person at home, 260 sessions of five a week.
func patientYear() (Body, Course) {
	body := Body{VolumeL: 36, GenerationMgPerMin: 6, ResidualMLPerMin: 1, Pools: TwoPools()}
	course := Course{Start: UreaState{VolumeL: 37.4, PlasmaMgPerDL: 58, InnerMgPerDL: 58}, EndMin: 52 * MinutesPerWeek}
	for week := range 52 {
		for _, day := range []float64{0, 1, 3, 4, 6} {
			course.Sessions = append(course.Sessions, CourseSession{
				Treatment:  Treatment{StartMin: float64(week)*MinutesPerWeek + 1440*day, DurationMin: 165, ClearanceMLPerMin: 150, UFLitres: 1.5},
				GainLitres: 1.5,
			})
		}
	}
	course.Sessions[0].GainLitres = 0
	return body, course
}

func BenchmarkForwardYearTwoPool(b *testing.B) {
	body, course := patientYear()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Follow(body, course); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/260, "ns/session")
}

func BenchmarkForwardYearWithWeeks(b *testing.B) {
	body, course := patientYear()
	for b.Loop() {
		run, err := Follow(body, course)
		if err != nil {
			b.Fatal(err)
		}
		for week := range 52 {
			if _, err := run.Window(float64(week)*MinutesPerWeek, float64(week+1)*MinutesPerWeek); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/260, "ns/session")
}

func BenchmarkSteadyWeekTwoPool(b *testing.B) {
	body := Body{VolumeL: 36, GenerationMgPerMin: 6, Pools: TwoPools()}
	week := WeekOf()
	for _, day := range []float64{0, 1, 3, 4, 6} {
		week.Treatments = append(week.Treatments, Treatment{StartMin: 1440 * day, DurationMin: 165, ClearanceMLPerMin: 150, UFLitres: 1.5})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := SteadyState(body, week); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFitVolume(b *testing.B) {
	week := WeekOf()
	for _, day := range []float64{0, 2, 4} {
		week.Treatments = append(week.Treatments, Treatment{StartMin: 1440 * day, DurationMin: 240, ClearanceMLPerMin: 210, UFLitres: 2.5})
	}
	sample := PairedSample{Session: 1, BeforeMgPerDL: 60, AfterMgPerDL: 20}
	for b.Loop() {
		if _, err := FitVolume(Body{Pools: TwoPools()}, week, sample); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMethodByID(b *testing.B) {
	for b.Loop() {
		if _, found := MethodByID("stdktv-fhn-uf-kru"); !found {
			b.Fatal("not found")
		}
	}
}

func BenchmarkComputeSpKtV(b *testing.B) {
	m, _ := MethodByID("spktv-daugirdas2")
	in := Inputs{"urea_before": 25, "urea_after": 9, "treated_time": 240, "uf_removed": 2.5, "weight_after": 70}
	b.ReportAllocs()
	for b.Loop() {
		if r := m.Compute(in); !r.OK() {
			b.Fatal(r.WhyNot)
		}
	}
}

// What a session with blood samples takes: every regression of its page.
func BenchmarkSessionByRegression(b *testing.B) {
	in := Inputs{
		"age": 60, "height": 170, "weight_before": 72, "weight_after": 70, "previous_weight_after": 70.1, "dry_weight": 70, "uf_removed": 2,
		"drinks": 0.2, "saline": 0, "rinseback": 0.2, "treated_time": 167, "sessions_per_week": 5, "preceding_interval": 1, "weekly_uf": 9,
		"blood_flow": 350, "dialysate_flow": 150, "dialysate_volume": 25, "dialyser_koa": 800, "urea_before": 20, "urea_after": 12,
		"bp_systolic": 140, "bp_diastolic": 80,
	}
	ids := []string{
		"watson-male", "bsa-dubois", "bmi", "uf-rate-per-kg", "uf-expected", "uf-discrepancy", "idwg", "idwg-percent", "target-miss",
		"map-third", "pulse-pressure", "blood-processed-flow-time", "urr", "spktv-daugirdas2-gfac", "ektv-tattersall-refit",
		"dialysate-saturation-michaels", "dialysate-kt-v", "stdktv-fhn-uf-kru",
	}
	for b.Loop() {
		results := Sequence(in, ids...)
		if last := results[len(results)-1]; !last.OK() {
			b.Fatal(last.WhyNot)
		}
	}
}
