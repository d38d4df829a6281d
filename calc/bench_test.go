package calc

import "testing"

// patientYear is a year of a person at home, 260 sessions of five a week.
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
