package check

import (
	"fmt"
	"strings"
	"testing"
)

// Weights far from the others: by more than a quarter, where there are three
// others; a known slip is named where it comes within 8 % of the others.
func TestWeightsAtTheirLimits(t *testing.T) {
	const rules = "clin-weight-far clin-pounds clin-stones clin-decimal-point"
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "weight_before_kg,weight_after_kg,dry_weight_kg", everyRow("70,,"))}
	}
	changes(t, rules, "", files(9), []change{
		{"5.weight_before_kg=87.5", ""}, {"5.weight_before_kg=87.6", "clin-weight-far 5.weight_before_kg 87.6 -> a weight near 70 kg"},
		{"5.weight_before_kg=52.5", ""}, {"5.weight_before_kg=52.4", "clin-weight-far 5.weight_before_kg 52.4 -> a weight near 70 kg"},
		{"5.weight_before_kg=154", "clin-pounds 5.weight_before_kg 154 -> perhaps 69.9 kg"},
		{"5.weight_before_kg=166", "clin-pounds 5.weight_before_kg 166 -> perhaps 75.3 kg"},
		{"5.weight_before_kg=167", "clin-weight-far 5.weight_before_kg 167 -> a weight near 70 kg"},
		{"5.weight_before_kg=141", "clin-weight-far 5.weight_before_kg 141 -> a weight near 70 kg"},
		{"5.weight_before_kg=142", "clin-pounds 5.weight_before_kg 142 -> perhaps 64.4 kg"},
		{"5.weight_before_kg=11", "clin-stones 5.weight_before_kg 11 -> perhaps 69.9 kg"},
		{"5.weight_before_kg=7.05", "clin-decimal-point 5.weight_before_kg 7.05 -> perhaps 70.5 kg"},
	})
	changes(t, rules, "", files(4), []change{{"5.weight_before_kg=87.6", "clin-weight-far 5.weight_before_kg 87.6 -> a weight near 70 kg"}})
	changes(t, rules, "", files(3), []change{{"4.weight_before_kg=87.6", ""}})
	// Both weights of a session are left out of those it is compared with.
	changes(t, rules, "", files(4), []change{{"5.weight_before_kg=90;5.weight_after_kg=89",
		"clin-weight-far 5.weight_before_kg 90 -> a weight near 70 kg\nclin-weight-far 5.weight_after_kg 89 -> a weight near 70 kg"}})
	changes(t, rules, "", files(3), []change{{"4.weight_before_kg=90;4.weight_after_kg=89", ""}})
	// A dry weight bears a weight out that is far from the others, and stands in
	// for them.
	changes(t, rules, "", files(9), []change{
		{"5.weight_before_kg=90;5.dry_weight_kg=72", ""},
		{"5.weight_before_kg=90;5.dry_weight_kg=71.9", "clin-weight-far 5.weight_before_kg 90 -> a weight near 70 kg"},
	})
	changes(t, rules, "", files(2), []change{
		{"3.dry_weight_kg=56", ""}, {"3.dry_weight_kg=55.9", "clin-weight-far 3.weight_before_kg 70 -> a weight near 55.9 kg"},
	})
}

// Six weights on either side are compared with.
func TestWeightsFarInTimeAreNotCompared(t *testing.T) {
	const rules = "clin-weight-far"
	files := map[string]string{sessionsFile: mondays(21, "weight_before_kg", func(i int) string { return fmt.Sprint(60 + 2*i) })}
	changes(t, rules, "", files, []change{
		{"12.weight_before_kg=100", ""}, {"12.weight_before_kg=101", "clin-weight-far 12.weight_before_kg 101 -> a weight near 80 kg"},
		{"2.weight_before_kg=83", ""}, {"2.weight_before_kg=84", "clin-weight-far 2.weight_before_kg 84 -> a weight near 67 kg"},
	})
}

// A prescribed dry weight a known slip from three weights or more.
func TestPrescribedDryWeightAtItsLimits(t *testing.T) {
	const rules = "clin-pounds clin-stones clin-decimal-point clin-weight-far"
	for _, c := range []struct {
		weights int
		dry     string
		want    string
	}{
		{3, "155", "clin-pounds 11.prescription.dry_weight_kg 155 -> perhaps 70.3 kg"},
		{2, "155", "clin-weight-far 2.weight_before_kg 70 -> a weight near 155 kg\nclin-weight-far 3.weight_before_kg 70 -> a weight near 155 kg"},
		{3, "87.5", ""}, {3, "87.6", "clin-weight-far 11.prescription.dry_weight_kg 87.6 -> a weight near 70 kg"},
		{3, "96", "clin-weight-far 11.prescription.dry_weight_kg 96 -> perhaps 69 kg"}, {2, "87.6", ""}, {3, "7", "clin-decimal-point 11.prescription.dry_weight_kg 7 -> perhaps 70 kg"},
	} {
		plan := "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 1\ndry_weight_kg = " + c.dry + "\n"
		files := map[string]string{sessionsFile: mondays(c.weights, "weight_before_kg", everyRow("70"))}
		if got := told(t, rules, plan, files); got != c.want {
			t.Errorf("%d weights beside %s: %s, want %s", c.weights, c.dry, got, c.want)
		}
	}
}

// A session that ends heavier by more than half a kilogram, unless drinks
// explain it; the weight that is not near the usual one is to be mended.
func TestWeightsSwappedAtTheirLimits(t *testing.T) {
	const rules = "clin-weights-swapped clin-weight-far"
	const plain = "clin-weights-swapped 5.weight_before_kg "
	files := map[string]string{sessionsFile: mondays(9, "weight_before_kg,weight_after_kg,uf_removed_l,drinks_l", everyRow("72,70,,"))}
	changes(t, rules, "", files, []change{
		{"5.weight_before_kg=70;5.weight_after_kg=70.5", ""}, {"5.weight_before_kg=70;5.weight_after_kg=70.6", plain + "70 -> "},
		{"5.weight_before_kg=70;5.weight_after_kg=71;5.drinks_l=0.5", ""}, {"5.weight_before_kg=70;5.weight_after_kg=71.1;5.drinks_l=0.5", plain + "70 -> "},
		{"5.weight_before_kg=70;5.weight_after_kg=71;5.drinks_l=0.5;5.uf_removed_l=0.5", ""},
		{"5.weight_before_kg=70;5.weight_after_kg=71;5.drinks_l=0.5;5.uf_removed_l=0.6", plain + "70 -> "},
		{"5.weight_before_kg=70;5.weight_after_kg=72;5.uf_removed_l=2.0", plain + "70 -> perhaps 72 before and 70 after"},
		{"5.weight_before_kg=70;5.weight_after_kg=72.5;5.uf_removed_l=2.0", plain + "70 -> perhaps 72.5 before and 70 after"},
		{"5.weight_before_kg=70;5.weight_after_kg=72.6;5.uf_removed_l=2.0", plain + "70 -> "},
		{"5.weight_before_kg=70;5.weight_after_kg=71.5;5.uf_removed_l=2.0", plain + "70 -> perhaps 71.5 before and 70 after"},
		{"5.weight_before_kg=70;5.weight_after_kg=71.4;5.uf_removed_l=2.0", plain + "70 -> "},
		{"5.weight_before_kg=70;5.weight_after_kg=71.4;5.uf_removed_l=2.0;5.drinks_l=0.1", plain + "70 -> perhaps 71.4 before and 70 after"},
		{"5.weight_before_kg=70;5.weight_after_kg=70.6;5.uf_removed_l=0.5", plain + "70 -> "},
		{"5.weight_before_kg=70;5.weight_after_kg=70.6;5.uf_removed_l=0.6", plain + "70 -> perhaps 70.6 before and 70 after"},
		{"5.weight_before_kg=65.4;5.weight_after_kg=70", plain + "65.4 -> "},
		{"5.weight_before_kg=65.3;5.weight_after_kg=70", "clin-weight-far 5.weight_before_kg 65.3 -> a weight near 71 kg"},
		{"5.weight_before_kg=72;5.weight_after_kg=76.6", plain + "72 -> "},
		{"5.weight_before_kg=72;5.weight_after_kg=76.7", "clin-weight-far 5.weight_after_kg 76.7 -> a weight near 71 kg"},
		{"5.weight_before_kg=65;5.weight_after_kg=77", plain + "65 -> "},
	})
}

// A column in pounds among two in kilograms, within 8 %, where each has three
// numbers.
func TestHeadingsInAnotherUnitAtTheirLimits(t *testing.T) {
	for _, c := range []struct {
		rows               int
		before, after, dry string
		want               string
	}{
		{3, "154", "70", "70", "1.weight_before_kg weight_before_kg -> perhaps a heading in lb"},
		{2, "154", "70", "70", ""},
		{3, "70", "154", "70", "1.weight_after_kg weight_after_kg -> perhaps a heading in lb"},
		{3, "70", "70", "154", "1.dry_weight_kg dry_weight_kg -> perhaps a heading in lb"},
		{3, "166", "70", "70", "1.weight_before_kg weight_before_kg -> perhaps a heading in lb"}, {3, "167", "70", "70", ""},
		{3, "142", "70", "70", "1.weight_before_kg weight_before_kg -> perhaps a heading in lb"}, {3, "141", "70", "70", ""},
		{3, "154", "75.6", "70", "1.weight_before_kg weight_before_kg -> perhaps a heading in lb"}, {3, "154", "75.7", "70", ""},
		{3, "31.7", "70", "70", "1.weight_before_kg weight_before_kg -> perhaps a heading in kg"},
		{3, "154", "", "70", ""}, {3, "154", "70", "", ""},
	} {
		rows := mondays(c.rows, "weight_before_kg,weight_after_kg,dry_weight_kg", everyRow(c.before+","+c.after+","+c.dry))
		want := c.want
		if want != "" {
			want = "clin-heading-unit " + want + ", or numbers such as "
		}
		if got := told(t, "clin-heading-unit", "", map[string]string{sessionsFile: rows}); !strings.HasPrefix(got, want) || want == "" && got != "" {
			t.Errorf("%+v: %s", c, got)
		}
	}
}

// The weight since the last session, up to four days after it.
func TestWeightGainAtItsLimits(t *testing.T) {
	const gain = "clin-weight-gain 3.weight_before_kg "
	const expected = " -> a gain of -3 to 10 % of the weight after the last session"
	files := map[string]string{sessionsFile: "session,date,start,end,status,weight_before_kg,weight_after_kg\n" +
		"a,2025-11-03,14:00,17:00,done,72,70\nb,2025-11-07,17:00,20:00,done,71,70\n"}
	changes(t, "clin-weight-gain", "", files, []change{
		{"3.weight_before_kg=77.0", ""}, {"3.weight_before_kg=77.1", gain + "77.1" + expected},
		{"3.weight_before_kg=67.9;3.weight_after_kg=66", ""}, {"3.weight_before_kg=67.8;3.weight_after_kg=66", gain + "67.8" + expected},
		{"3.weight_before_kg=77.1;3.start=17:01", ""},
		{"3.weight_before_kg=77.1;2.weight_after_kg=", ""},
		{"3.weight_before_kg=77.1;2.end=", ""},
	})
	// The session before may have no weight after.
	files[sessionsFile] = "session,date,start,end,status,weight_before_kg,weight_after_kg\n" +
		"a,2025-11-03,14:00,17:00,done,72,70\nx,2025-11-05,14:00,17:00,done,71,\nb,2025-11-07,17:00,20:00,done,71,70\n"
	changes(t, "clin-weight-gain", "", files, []change{{"4.weight_before_kg=77.1", "clin-weight-gain 4.weight_before_kg 77.1" + expected}})
}

// A weight more than three deviations and 5 % from the mean of ten others.
func TestOwnMeanAtItsLimits(t *testing.T) {
	steady := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "weight_before_kg", func(i int) string { return fmt.Sprintf("%.1f", 69.9+float64(i%2)/5) })}
	}
	changes(t, "clin-weight-far", "", steady(12), []change{
		{"5.weight_before_kg=73.4", ""}, {"5.weight_before_kg=73.6", "clin-weight-far 5.weight_before_kg 73.6 -> a weight near 70 kg"},
		{"5.weight_before_kg=66.6", ""}, {"5.weight_before_kg=66.4", "clin-weight-far 5.weight_before_kg 66.4 -> a weight near 70 kg"},
	})
	changes(t, "clin-weight-far", "", steady(11), []change{{"5.weight_before_kg=73.6", "clin-weight-far 5.weight_before_kg 73.6 -> a weight near 70 kg"}})
	changes(t, "clin-weight-far", "", steady(10), []change{{"5.weight_before_kg=73.6", ""}})
	wavering := map[string]string{sessionsFile: mondays(13, "weight_before_kg", func(i int) string { return fmt.Sprint(67 + i%2*6) })}
	// Of 12 others, half 67 and half 73, the deviation is 3.13 kg.
	changes(t, "clin-weight-far", "", wavering, []change{
		{"2.weight_before_kg=79.3", ""}, {"2.weight_before_kg=79.5", "clin-weight-far 2.weight_before_kg 79.5 -> a weight near 70 kg"},
	})
}

// Both weights and the dry weight in pounds under kilograms: what was removed
// fits them as pounds, in seven sessions or more, at a third of the difference.
func TestAllWeightsInAnotherUnit(t *testing.T) {
	const heading = "clin-heading-unit 1.weight_before_kg weight_before_kg -> perhaps a heading in lb, or numbers such as 63.5 kg"
	plan := "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 1\ndry_weight_kg = 138\n"
	for _, c := range []struct {
		rows        int
		after, want string
	}{
		{7, "137.8", heading}, {6, "137.8", ""}, {7, "138.4", ""},
	} {
		files := map[string]string{sessionsFile: mondays(c.rows, "weight_before_kg,weight_after_kg,uf_removed_l", everyRow("140,"+c.after+",1.0"))}
		if got := told(t, "clin-heading-unit clin-uf-weights", plan, files); got != c.want && (c.want != "" || strings.Contains(got, "heading")) {
			t.Errorf("%d rows, %s after: %s, want %s", c.rows, c.after, got, c.want)
		}
	}
}

// Of two weights in the wrong order, the one with whose change both are closest to
// those around is named; they are exchanged only where that brings both closer.
func TestOneOfTwoWeightsInTheWrongOrder(t *testing.T) {
	const rules = "clin-weights-swapped clin-uf-weights clin-weight-far"
	files := map[string]string{sessionsFile: mondays(9, "weight_before_kg,weight_after_kg,uf_removed_l", everyRow("72,70,2.0"))}
	changes(t, rules, "", files, []change{
		{"5.weight_after_kg=74", "clin-uf-weights 5.weight_after_kg 74 -> perhaps 70 kg"},
		{"5.weight_before_kg=68", "clin-uf-weights 5.weight_before_kg 68 -> about 72 kg"},
		{"5.weight_before_kg=70;5.weight_after_kg=72", "clin-weights-swapped 5.weight_before_kg 70 -> perhaps 72 before and 70 after"},
	})
	// So they are where exchanged both are among those around, and no slip explains one.
	drifting := map[string]string{sessionsFile: mondays(9, "weight_before_kg,weight_after_kg,uf_removed_l", func(i int) string {
		return []string{"79.4,77.8,1.6", "78.6,77.4,1.2", "78.4,77.5,0.9"}[i%3]
	})}
	changes(t, rules, "", drifting, []change{
		{"5.weight_before_kg=78.1;5.weight_after_kg=79.3;5.uf_removed_l=1.2", "clin-weights-swapped 5.weight_before_kg 78.1 -> perhaps 79.3 before and 78.1 after"},
		{"5.weight_before_kg=78.6;5.weight_after_kg=79.4;5.uf_removed_l=1.2", "clin-uf-weights 5.weight_after_kg 79.4 -> perhaps 77.4 kg"},
	})
}

// What is drunk and infused explains a weight after that is above that before, where
// it fits the fluid removed.
func TestWeightsInTheWrongOrderByWhatWasGiven(t *testing.T) {
	const rules = "clin-weights-swapped clin-uf-weights clin-weight-far"
	files := map[string]string{
		sessionsFile:   mondays(9, "weight_before_kg,weight_after_kg,uf_removed_l,drinks_l,saline_l,rinseback_l", everyRow("89.8,88.3,2.0,0.25,0,0.25")),
		"readings.csv": "session,time,uf_rate_l_h\ns3,14:30,0.1\ns3,15:00,0.1\ns3,16:00,0.1\ns3,17:00,0.1\n",
	}
	const given = "5.weight_before_kg=87.3;5.weight_after_kg=88.1;5.uf_removed_l=0.3;5.saline_l="
	changes(t, rules, "", files, []change{
		{given + "0.5", ""}, {given + "1.0", ""},
		{given + "0", "clin-uf-weights 5.weight_before_kg 87.3 -> about 87.9 kg"},
	})
}
