package check

import (
	"fmt"
	"strings"
	"testing"
)

// A dose written twice: some minutes later, of a medicine that others have once.
func TestDosesTwiceAtTheirLimits(t *testing.T) {
	rows := func(n int, name, kind string) string {
		text := "session,time,medicine,dose,dose_unit,kind,route\n"
		for i := range n {
			text += fmt.Sprintf("s%d,14:00,%s,2500,IU,%s,circuit\n", i, name, kind)
		}
		return text
	}
	sessions := mondays(6, "notes", everyRow(""))
	for _, c := range []struct{ sessions, medicines, more, want string }{
		{sessions, rows(3, "heparin", "anticoagulant"), "s0,14:15,heparin,2500,IU,anticoagulant,circuit", "5"},
		{sessions, rows(3, "heparin", "anticoagulant"), "s0,14:16,heparin,2500,IU,anticoagulant,circuit", ""},
		{sessions, rows(3, "heparin", "anticoagulant"), "s0,14:05,heparin,2000,IU,anticoagulant,circuit", ""},
		{sessions, rows(3, "heparin", "anticoagulant"), "s0,14:05,heparin,2500,IU,anticoagulant,vein", ""},
		{sessions, rows(2, "heparin", "anticoagulant"), "s0,14:05,heparin,2500,IU,anticoagulant,circuit", ""},
		{sessions, rows(3, "epoetin", "ESA"), "s0,16:30,epoetin,2500,IU,ESA,circuit", "5"},
		{sessions, rows(3, "heparin", "anticoagulant"), "s0,14:05,heparin,2500,IU,anticoagulant,circuit\ns0,14:10,heparin,2500,IU,anticoagulant,circuit", ""},
		{sessions, rows(4, "heparin", "anticoagulant"), "s0,14:05,heparin,2500,IU,anticoagulant,circuit\ns1,14:05,heparin,2500,IU,anticoagulant,circuit", ""},
		{strings.Replace(sessions, "done,", "done,heparin given again", 1), rows(3, "heparin", "anticoagulant"), "s0,14:05,heparin,2500,IU,anticoagulant,circuit", ""},
	} {
		found := ruleIn(t, "clin-medicine-twice", "", map[string]string{sessionsFile: c.sessions, "medicines.csv": c.medicines + c.more + "\n"})
		if len(found) != min(1, len(c.want)) || c.want != "" && fmt.Sprint(found[0].Cells[0].Row) != c.want {
			t.Errorf("%q: %+v", c.more, found)
		}
	}
}

// A column whose values hardly differ slipped past a session that was not done.
func TestColumnsSlippedPastASessionNotDone(t *testing.T) {
	const rule = "month-column-slipped"
	const up, down = rule + " %d.%s %s -> ", rule + " %d.%s  -> "
	row := func(i int) string {
		if i == 5 {
			return "not done,,,,"
		}
		return fmt.Sprintf("done,2.0,72,70,%d", 60+i%4)
	}
	text := strings.ReplaceAll(strings.ReplaceAll(mondays(10, "x", row), "end,status,x", "end,status,uf_removed_l,weight_before_kg,weight_after_kg,pulse_after_per_min"), "done,not done", "not done")
	files := map[string]string{sessionsFile: strings.ReplaceAll(text, "done,done", "done")}
	changes(t, rule, "", files, []change{
		{"6.pulse_after_per_min=;7.pulse_after_per_min=62;11.pulse_after_per_min=", fmt.Sprintf(up, 6, "pulse_after_per_min", "")},
		{"6.pulse_after_per_min=;7.pulse_after_per_min=62", ""},  // in the row below its own
		{"7.pulse_after_per_min=62;11.pulse_after_per_min=", ""}, // one too many, one not taken
		{"4.pulse_after_per_min=;7.pulse_after_per_min=62;8.pulse_after_per_min=", fmt.Sprintf(down, 4, "pulse_after_per_min")},
		{"7.pulse_after_per_min=62;8.pulse_after_per_min=", ""},
		{"7.pulse_after_per_min=0;6.pulse_after_per_min=;11.pulse_after_per_min=", ""},
		{"6.weight_after_kg=;7.weight_after_kg=70;11.weight_after_kg=", fmt.Sprintf(up, 6, "weight_after_kg", "")},
		{"4.weight_before_kg=72.1;5.weight_after_kg=70.1;6.weight_before_kg=72.1;6.weight_after_kg=;7.weight_after_kg=70;11.weight_after_kg=", fmt.Sprintf(up, 4, "weight_after_kg", "70")},
		// Two in a row were not done.
		{"8.status=not done;8.uf_removed_l=;8.weight_before_kg=;8.weight_after_kg=;8.pulse_after_per_min=62;6.pulse_after_per_min=;11.pulse_after_per_min=", fmt.Sprintf(up, 6, "pulse_after_per_min", "")},
	})
}

// An amount that went in, or a weight: the one that is unlike the others.
func TestIntakeUnlikeOwnAtItsLimits(t *testing.T) {
	const drinks, saline = "clin-uf-weights 4.drinks_l ", "clin-uf-weights 4.saline_l "
	files := map[string]string{
		sessionsFile: mondays(7, "uf_removed_l,weight_before_kg,weight_after_kg,drinks_l,saline_l,treated_min", func(i int) string {
			return fmt.Sprintf("2.2,72,70,0.2,%s,180", []string{"0", "0.1"}[i%2])
		}),
		"readings.csv": readingsOf(7, 4, "uf_rate_l_h", "0.73"),
	}
	changes(t, "clin-uf-weights clin-unusual clin-decimal-point", "", files, []change{
		{"4.drinks_l=3", drinks + "3 -> perhaps 0.3 L"}, // as is within half of the others
		{"4.drinks_l=2", drinks + "2 -> perhaps 0.2 L"},
		{"4.drinks_l=1.2", drinks + "1.2 -> perhaps 0.2 L"},
		{"4.drinks_l=0.6", ""},
		{"4.saline_l=1.0", saline + "1.0 -> perhaps 0.1 L"},
		{"4.saline_l=2.0", saline + "2.0 -> usually 0 to 0.1 L"},
		{"4.weight_after_kg=67", "clin-uf-weights 4.weight_after_kg 67 -> about 70 kg"},
	})
}

// A day with one digit wrong, on the day of another session or on a day that is
// none of the week's.
func TestOneDigitOfTheDay(t *testing.T) {
	rows := func(sixth string) map[string]string {
		text := "session,date,start,end,status\n"
		for i, day := range []string{"03", "05", "07", "10", "12", sixth, "17", "19"} {
			text += fmt.Sprintf("n%d,2025-11-%s,14:00,17:00,done\n", i, day)
		}
		return map[string]string{sessionsFile: text}
	}
	const plan = "[[prescription]]\nvalid_from = 2025-01-01\nweekdays = [\"mon\", \"wed\", \"fri\"]\n"
	for _, c := range []struct{ day, plan, want string }{
		{"14", plan, ""}, {"04", plan, "month-date-far 7.date 2025-11-04 -> perhaps 2025-11-14"},
		{"04", "", ""}, {"24", plan, ""}, {"05", "", "month-date-far 7.date 2025-11-05 -> perhaps 2025-11-15"},
	} {
		if got := told(t, "month-date-far", c.plan, rows(c.day)); got != c.want {
			t.Errorf("%s: %s", c.day, got)
		}
	}
	shared := rows("14")
	shared[sessionsFile] = strings.NewReplacer("-05,", "-04,", "n5,2025-11-14", "n5,2025-11-04").Replace(shared[sessionsFile])
	if got := told(t, "month-date-far month-overlap", "", shared); got != "month-date-far 7.date 2025-11-04 -> perhaps 2025-11-14" {
		t.Error(got)
	}
}

// A prescription that no session follows because its first day is out of order.
func TestPrescriptionsOutOfOrder(t *testing.T) {
	log := map[string]string{sessionsFile: mondays(9, "notes", everyRow(""))} // from 6 January to 3 March
	for _, c := range []struct{ first, second, want string }{
		{"2024-12-01", "2025-02-13", ""}, {"2024-12-01", "2025-08-30", ""},
		{"2024-12-01", "2025-08-31", "2025-08-31 -> perhaps 2025-01-31"}, {"2025-01-01", "2024-12-31", ""},
		{"2024-12-01", "2024-02-13", "2024-02-13 -> perhaps 2025-02-13"},
		{"2024-12-01", "2026-02-13", "2026-02-13 -> perhaps 2025-02-13"},
		{"2025-01-07", "2024-02-13", ""},
	} {
		about := ""
		for _, from := range []string{c.first, c.second} {
			about += "[[prescription]]\nvalid_from = " + from + "\nsessions_per_week = 1\n"
		}
		got := told(t, "month-plan-later", about, log)
		if _, after, _ := strings.Cut(got, "prescription.valid_from "); after != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}

// Results against each other and the person's own: which of a pair, and what.
func TestPairsAgainstOwnResults(t *testing.T) {
	const plan = "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 3\n"
	for _, c := range []struct{ test, unit, own, before, after, want string }{
		{"potassium", "mmol/L", "5.0/3.6", "3.5", "5.1", "clin-solute-rises 5.value 5.1 -> perhaps 5.1 before and 3.5 after"},
		{"potassium", "mmol/L", "", "3.5", "5.1", "clin-solute-rises 5.value 5.1 -> perhaps 1.5 mmol/L"},
		{"potassium", "mmol/L", "", "3.8", "4.5", "clin-solute-rises 5.value 4.5 -> perhaps 4.5 before and 3.8 after"},
		{"phosphate", "mg/dL", "5.2/2.8", "2.5", "3.1", "clin-solute-rises 4.value 2.5 -> perhaps 5.2 mg/dL before"},
		{"phosphate", "mg/dL", "5.2/2.8", "3.1", "3.0", ""},
		{"phosphate", "mg/dL", "5.2/2.8", "2.0", "2.1", ""},
		{"phosphate", "mg/dL", "5.2/2.8", "2.0", "2.2", "clin-solute-rises 4.value 2.0 -> perhaps 5.0 mg/dL before"},
		{"phosphate", "mg/dL", "4.0/2.8", "2.0", "2.2", ""}, // phosphate may be added
		{"phosphate", "mg/dL", "", "2.5", "3.1", ""},
		{"urea", "mmol/L", "20/7.5", "21", "7.9", ""},
		{"urea", "mmol/L", "20/7.5", "52.6", "10.6", "clin-urea-clearance 4.value 52.6 -> perhaps 25.6 mmol/L"},
	} {
		labs := "session,when,test,value,unit\n"
		add := func(session, before, after string) {
			labs += session + ",before," + c.test + "," + before + "," + c.unit + "\n" + session + ",after," + c.test + "," + after + "," + c.unit + "\n"
		}
		if before, after, ok := strings.Cut(c.own, "/"); ok {
			add("s1", before, after)
		} else {
			labs += "s1,before,urea,20,mmol/L\ns1,before,albumin,40,g/L\n"
		}
		add("s2", c.before, c.after)
		files := map[string]string{sessionsFile: mondays(4, "weight_after_kg,uf_removed_l,treated_min,blood_flow_ml_min,dialysate_flow_ml_min", everyRow("70,2,180,300,500")), "labs.csv": labs}
		if got := told(t, "clin-solute-rises clin-urea-clearance clin-urea-ratio clin-unusual clin-unit", plan, files); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
