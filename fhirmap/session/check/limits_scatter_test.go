package check

import "testing"

// The weights of a light person whose eight rows agree leave a hundredth of the weight.
func TestOwnMarginOfTheWeights(t *testing.T) {
	const found = " L, from the weights and what was drunk and infused"
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "uf_removed_l,weight_before_kg,weight_after_kg,drinks_l", everyRow("0.80,26.80,26.00,0"))}
	}
	changes(t, "clin-uf-weights", "", files(8), []change{
		{"5.weight_after_kg=25.74", ""}, {"5.weight_after_kg=25.73", "clin-uf-weights 5.uf_removed_l 0.80 -> about 1.1" + found},
		{"5.weight_after_kg=26.26", ""}, {"5.weight_after_kg=26.27", "clin-uf-weights 5.uf_removed_l 0.80 -> about 0.53" + found},
		// Rows that scatter leave six times as much.
		{"2.weight_after_kg=26.08;3.weight_after_kg=26.08;4.weight_after_kg=25.92;6.weight_after_kg=25.92;5.weight_after_kg=25.55", ""},
	})
	changes(t, "clin-uf-weights", "", files(7), []change{{"5.weight_after_kg=25.73", ""}, {"5.weight_after_kg=25.44", "clin-uf-weights 5.uf_removed_l 0.80 -> about 1.4" + found}})
}

// One dose half as much again as eight others that are all the same.
func TestDoseAboveAConstantOne(t *testing.T) {
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(9, "reason", everyRow("")), medicinesFile: medicinesOf(n, "heparin", "anticoagulant", "600", "IU")}
	}
	changes(t, "clin-dose", "", files(9), []change{
		{"medicines:3.dose=900", "clin-dose 3.dose 900 -> perhaps 600 IU"}, {"medicines:3.dose=899", ""}, {"medicines:3.dose=400", ""},
		{"medicines:3.dose=900;medicines:4.dose=650", ""},
		{"medicines:3.dose=900;medicines:3.rate=150;medicines:3.rate_unit=IU/h", ""}, // an infusion
	})
	changes(t, "clin-dose", "", files(8), []change{{"medicines:3.dose=900", ""}})
}

// A height at which the weights would be below 10 kg/m².
func TestHeightAgainstWeights(t *testing.T) {
	for cm, want := range map[string]string{
		"161": "", "162": "clin-unusual 8.patient.height_cm 162 -> perhaps 126 cm", "182": "clin-unusual 8.patient.height_cm 182 -> perhaps 128 cm",
		"199": "clin-unusual 8.patient.height_cm 199 -> ",
	} {
		about := "height_cm = " + cm + "\n"
		got := told(t, "clin-unusual", about, map[string]string{sessionsFile: mondays(3, "weight_after_kg", everyRow("26.00"))})
		if got != want {
			t.Errorf("%s: %s, want %s", cm, got, want)
		}
	}
}

// Blood processed within 5 % where eight rows agree, not where the pump was slowed.
func TestOwnShareOfBloodProcessed(t *testing.T) {
	files := func(n int) map[string]string {
		return map[string]string{
			sessionsFile: mondays(n, "treated_min,blood_processed_l,blood_flow_ml_min", everyRow("180,53,300")),
			readingsFile: readingsOf(n, 2, "blood_flow_ml_min", "300"),
		}
	}
	const found = "clin-blood-volume 5.blood_processed_l 48 -> about 54 L"
	changes(t, "clin-blood-volume", "", files(8), []change{
		{"5.blood_processed_l=50.2", ""}, {"5.blood_processed_l=48", found},
		{"5.blood_processed_l=48;readings:9.blood_flow_ml_min=284", ""}, {"5.blood_processed_l=48;readings:9.blood_flow_ml_min=286", found},
	})
	changes(t, "clin-blood-volume", "", files(7), []change{{"5.blood_processed_l=48", ""}})
}

// Dialysate is as exact as the person's own rows: within 5 %, or wider where they scatter.
func TestOwnShareOfDialysate(t *testing.T) {
	files := func(n int, litres func(i int) string) map[string]string {
		return map[string]string{
			sessionsFile: mondays(n, "treated_min,dialysate_l,dialysate_flow_ml_min", func(i int) string { return "180," + litres(i) + ",500" }),
			readingsFile: readingsOf(n, 2, "blood_flow_ml_min", "300"),
		}
	}
	steady := func(int) string { return "90" }
	const found = "clin-dialysate-volume 5.dialysate_l 96.9 -> about 90 L"
	changes(t, "clin-dialysate-volume", "", files(8, steady), []change{{"5.dialysate_l=94", ""}, {"5.dialysate_l=96.9", found}})
	changes(t, "clin-dialysate-volume", "", files(7, steady), []change{{"5.dialysate_l=96.9", ""}})
	scattered := func(i int) string { return []string{"88", "90", "92"}[i%3] }
	changes(t, "clin-dialysate-volume", "", files(9, scattered), []change{{"5.dialysate_l=96.9", ""}})
}
