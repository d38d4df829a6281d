package check

import (
	"fmt"
	"testing"
)

// The fluid removed beside the weights: half a litre either way, half a litre
// more where nothing is written of drinks.
func TestFluidAndWeightsAtTheirLimits(t *testing.T) {
	const rules = "clin-uf-weights clin-urine-day"
	const heads = "uf_removed_l,weight_before_kg,weight_after_kg,drinks_l,saline_l,rinseback_l,urine_l,treated_min"
	const found = "clin-uf-weights 5.uf_removed_l "
	const fromWeights = " L, from the weights and what was drunk and infused"
	written := map[string]string{sessionsFile: mondays(9, heads, everyRow("2.0,72,70,0,,,,"))}
	changes(t, rules, "", written, []change{
		{"5.uf_removed_l=2.55", ""}, {"5.uf_removed_l=2.56", found + "2.56 -> about 2" + fromWeights},
		{"5.uf_removed_l=1.45", ""}, {"5.uf_removed_l=1.44", found + "1.44 -> about 2" + fromWeights},
		{"5.uf_removed_l=2.6;5.drinks_l=0.1", ""}, {"5.uf_removed_l=2.6;5.saline_l=0.1", ""}, {"5.uf_removed_l=2.6;5.rinseback_l=0.1", ""},
		{"5.uf_removed_l=2.0;5.drinks_l=0.6", found + "2.0 -> about 2.6" + fromWeights},
		{"5.urine_l=1.4", "clin-urine-day 5.urine_l 1.4 -> urine passed during the treatment, not that of the day"},
		{"5.urine_l=0.5", ""}, {"5.urine_l=0.6", "clin-urine-day 5.urine_l 0.6 -> urine passed during the treatment, not that of the day"},
		{"5.urine_l=0.6;5.status=not done", ""},
	})
	unwritten := map[string]string{sessionsFile: mondays(9, heads, everyRow("2.0,72,70,,,,,"))}
	changes(t, rules, "", unwritten, []change{
		{"5.uf_removed_l=3.0", ""}, {"5.uf_removed_l=3.1", found + "3.1 -> about 2" + fromWeights},
		{"5.uf_removed_l=1.5", ""}, {"5.uf_removed_l=1.4", found + "1.4 -> about 2" + fromWeights},
	})
}

// A drink with the decimal point elsewhere, within half of the usual one, where
// three others are known.
func TestDecimalPointOfDrinksAtItsLimits(t *testing.T) {
	const heads = "uf_removed_l,weight_before_kg,weight_after_kg,drinks_l,saline_l,rinseback_l"
	const point, fluid = "clin-uf-weights 4.drinks_l ", "clin-uf-weights 4.uf_removed_l 2.2 -> about "
	const fromWeights = " L, from the weights and what was drunk and infused"
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, heads, everyRow("2.2,72,70,0.20,,"))}
	}
	changes(t, "clin-uf-weights", "", files(4), []change{
		{"4.drinks_l=2.0", point + "2.0 -> perhaps 0.2 L"},
		{"4.drinks_l=2.9", point + "2.9 -> perhaps 0.29 L"}, {"4.drinks_l=3.1", point + "3.1 -> perhaps 0.1 L"},
		{"4.drinks_l=1.0", point + "1.0 -> perhaps 0.1 L"}, {"4.drinks_l=0.9", point + "0.9 -> perhaps 0.2 L"}, {"4.drinks_l=3.6", point + "3.6 -> about 0.2 L"},
		{"4.drinks_l=2.0;4.uf_removed_l=1.6", "clin-uf-weights 4.uf_removed_l 1.6 -> about 4" + fromWeights},
	})
	changes(t, "clin-uf-weights", "", files(3), []change{{"4.drinks_l=2.0", fluid + "4" + fromWeights}})
	saline := map[string]string{sessionsFile: mondays(4, heads, everyRow("2.2,72,70,,0.20,"))}
	changes(t, "clin-uf-weights", "", saline, []change{{"4.saline_l=2.0", "clin-uf-weights 4.saline_l 2.0 -> perhaps 0.2 L"}})
	rinseback := map[string]string{sessionsFile: mondays(4, heads, everyRow("2.2,72,70,,,0.20"))}
	changes(t, "clin-uf-weights", "", rinseback, []change{{"4.rinseback_l=2.0", "clin-uf-weights 4.rinseback_l 2.0 -> perhaps 0.2 L"}})
}

// The weight to mend is named where the rate and three weights around bear it
// out.
func TestWeightToMendAtItsLimits(t *testing.T) {
	const heads = "uf_removed_l,weight_before_kg,weight_after_kg,drinks_l,treated_min"
	const before, after = "clin-uf-weights 4.weight_before_kg ", "clin-uf-weights 4.weight_after_kg "
	files := func(n int, rate string) map[string]string {
		return map[string]string{
			sessionsFile:   mondays(n, heads, everyRow("2.0,72,70,0,180")),
			"readings.csv": readingsOf(n, 2, "uf_rate_l_h", rate),
		}
	}
	changes(t, "clin-uf-weights", "", files(4, "0.67"), []change{
		{"4.weight_before_kg=72.5", ""}, {"4.weight_before_kg=72.6", before + "72.6 -> about 72 kg"}, {"4.weight_before_kg=71.4", before + "71.4 -> perhaps 71.9 kg"},
		{"4.weight_after_kg=70.5", ""}, {"4.weight_after_kg=70.6", after + "70.6 -> about 70 kg"}, {"4.weight_after_kg=69.4", after + "69.4 -> perhaps 69.9 kg"},
		{"4.weight_after_kg=69.4;4.drinks_l=0.2", after + "69.4 -> about 70.2 kg"}, {"4.weight_before_kg=72.6;4.drinks_l=0.2", before + "72.6 -> about 71.8 kg"},
		{"4.weight_before_kg=73;4.weight_after_kg=69", before + "73 -> perhaps 71 kg"}, // as far off as the other
		{"4.weight_before_kg=73;4.weight_after_kg=68.9", after + "68.9 -> about 71 kg"},
		{"4.weight_before_kg=72.6;4.treated_min=", before + "72.6 -> about 72 kg"},
		{"4.weight_before_kg=72.6;readings:6.uf_rate_l_h=", "clin-uf-weights 4.uf_removed_l 2.0 -> about 2.6 L, from the weights and what was drunk and infused"},
	})
	const unnamed = "clin-uf-weights 4.uf_removed_l 2.0 -> about 2.6 L, from the weights and what was drunk and infused"
	changes(t, "clin-uf-weights", "", files(3, "0.67"), []change{{"4.weight_before_kg=72.6", unnamed}})
	changes(t, "clin-uf-weights", "", files(4, "0.90"), []change{{"4.weight_before_kg=72.6", unnamed}})
	// Six sessions on either side are looked at.
	far := map[string]string{sessionsFile: mondays(20, heads, func(i int) string {
		if i > 8 {
			return "2.0,75,73,0,180"
		}
		return "2.0,72,70,0,180"
	}), "readings.csv": readingsOf(20, 2, "uf_rate_l_h", "0.67")}
	changes(t, "clin-uf-weights", "", far, []change{
		{"4.weight_before_kg=72.9", before + "72.9 -> about 72 kg"},
		{"18.weight_before_kg=75.9", "clin-uf-weights 18.weight_before_kg 75.9 -> about 75 kg"},
	})
}

// Fluid removed against goal, rate and time, and the last reading, with room for a
// tenth of it, three times the person's own scatter, or two of the last digits.
func TestFluidRemovedUnlikeOwnAtItsLimits(t *testing.T) {
	const rules, found = "clin-uf-rate clin-uf-falls", "clin-uf-rate 5.uf_removed_l "
	files := func(n int, goal string) map[string]string {
		readings := "session,time,uf_rate_l_h,uf_so_far_l\n"
		for i := range n {
			readings += fmt.Sprintf("s%d,15:00,0.20,0.20\ns%d,16:00,0.20,0.40\ns%d,17:00,0.20,0.60\n", i, i, i)
		}
		return map[string]string{
			sessionsFile: mondays(n, "uf_removed_l,uf_goal_l,treated_min", everyRow("0.63,"+goal+",190")), "readings.csv": readings,
		}
	}
	changes(t, rules, "", files(7, "0.60"), []change{
		{"5.uf_removed_l=0.69", ""}, {"5.uf_removed_l=0.70", found + "0.70 -> about 0.63 L"},
		{"5.uf_removed_l=0.76", found + "0.76 -> about 0.63 L"}, {"5.uf_removed_l=0.70;5.uf_goal_l=0.70", ""},
		{"5.uf_removed_l=0.70;5.status=cut short", ""}, {"5.uf_removed_l=0.55", ""},
	})
	// Less is removed where the rate was lowered, or two digits are exchanged.
	changes(t, rules, "", files(7, ""), []change{{"5.uf_removed_l=0.46;readings:12.uf_so_far_l=;readings:13.uf_so_far_l=", found + "0.46 -> perhaps 0.64 L"}, {"5.uf_removed_l=0.47;readings:12.uf_so_far_l=;readings:13.uf_so_far_l=", ""}})
	changes(t, rules, "", files(6, "0.60"), []change{{"5.uf_removed_l=0.70", ""}})
}

// More fluid read than was removed in the end: the amount in the end is the one
// to mend where the goal or another reading says so.
func TestMoreThanWasRemovedAtItsLimits(t *testing.T) {
	const amount, reading = "clin-uf-falls 3.uf_removed_l ", "clin-uf-falls 3.uf_so_far_l "
	files := map[string]string{
		sessionsFile:   mondays(2, "uf_removed_l,uf_goal_l", everyRow("2.0,")),
		"readings.csv": "session,time,uf_so_far_l\ns1,15:00,0.6\ns1,16:00,1.2\ns1,17:00,1.8\n",
	}
	changes(t, "clin-uf-falls", "", files, []change{
		{"3.uf_removed_l=1.7", ""}, {"3.uf_removed_l=1.6", "clin-uf-falls 4.uf_so_far_l 1.8 -> 1.6 or less"},
		{"3.uf_removed_l=1.1", "clin-uf-falls 4.uf_so_far_l 1.8 -> 1.1 or less"}, {"3.uf_removed_l=1.0", amount + "1.0 -> 1.8 or more"},
		{"3.uf_removed_l=1.6;3.uf_goal_l=1.62", amount + "1.6 -> 1.8 or more"}, {"3.uf_removed_l=1.6;3.uf_goal_l=1.61", "clin-uf-falls 4.uf_so_far_l 1.8 -> 1.6 or less"},
		{"readings:3.uf_so_far_l=2.2", reading + "2.2 -> 2.0 or less"},
	})
}

// A goal that one slip makes of the fluid removed, where rate, time and weights
// confirm that, and nothing happened.
func TestGoalBesideFluidRemovedAtItsLimits(t *testing.T) {
	const heads = "uf_goal_l,uf_removed_l,weight_before_kg,weight_after_kg,drinks_l,treated_min,reason"
	const about = "[[prescription]]\nvalid_from = 2025-01-01\nduration_min = 200\n"
	files := func(n int, rate string) map[string]string {
		return map[string]string{
			sessionsFile:   mondays(n, heads, everyRow("1.3,1.3,72,70.7,0,180,")),
			"readings.csv": readingsOf(n, 3, "uf_rate_l_h", rate),
		}
	}
	found := func(goal string) string { return "clin-uf-rate 5.uf_goal_l " + goal + " -> perhaps 1.3 L" }
	changes(t, "clin-uf-rate clin-unusual", about, files(7, "0.43"), []change{
		{"5.uf_goal_l=3.1", found("3.1")}, {"5.uf_goal_l=2.3", found("2.3")}, {"5.uf_goal_l=1.9", ""}, {"5.uf_goal_l=1.7", ""},
		{"5.uf_goal_l=2.5", ""}, {"5.uf_goal_l=0.3", found("0.3")},
		{"5.uf_goal_l=2.3;5.treated_min=179", ""},
		{"5.uf_goal_l=2.3;5.reason=cramp", ""}, {"5.uf_goal_l=2.3;5.status=cut short", ""},
		{"5.uf_goal_l=2.3;5.weight_after_kg=70.1", ""},
	})
	changes(t, "clin-uf-rate", "", files(7, "0.48"), []change{{"5.uf_goal_l=2.3", ""}})
	changes(t, "clin-uf-rate", "", files(6, "0.43"), []change{{"5.uf_goal_l=2.3", ""}})
	changes(t, "clin-decimal-point clin-impossible", "", files(7, "0.43"), []change{
		{"5.uf_goal_l=13", "clin-decimal-point 5.uf_goal_l 13 -> perhaps 1.3 L"},
		{"5.uf_goal_l=21.3", "clin-impossible 5.uf_goal_l 21.3 -> usually 0 to 7.2 L"},
	})
}
