package check

import (
	"fmt"
	"strings"
	"testing"
)

// medicinesOf are n rows of one medicine, one in each session.
func medicinesOf(n int, name, kind, dose, unit string) string {
	rows := "session,time,medicine,kind,dose,dose_unit,rate,rate_unit,route\n"
	for i := range n {
		rows += fmt.Sprintf("s%d,14:30,%s,%s,%s,%s,,,\n", i, name, kind, dose, unit)
	}
	return rows
}

// Doses at the ends of what is usual for the medicine, and the proposal.
func TestDosesAtTheirLimits(t *testing.T) {
	for _, c := range []struct{ name, kind, dose, unit, want string }{
		{"enoxaparin", "anticoagulant", "10", "mg", ""}, {"enoxaparin", "anticoagulant", "9.9", "mg", "9.9 mg -> perhaps 99 mg"},
		{"enoxaparin", "anticoagulant", "150", "mg", ""}, {"enoxaparin", "anticoagulant", "151", "mg", "151 mg -> perhaps 15.1 mg"},
		{"enoxaparin", "anticoagulant", "150", "IU", "150 IU -> perhaps 150 mg"}, {"enoxaparin", "anticoagulant", "10", "IU", "10 IU -> perhaps 10 mg"},
		{"enoxaparin", "anticoagulant", "1000", "IU", ""}, {"enoxaparin", "anticoagulant", "999", "IU", "999 IU -> perhaps 99.9 mg"},
		{"darbepoetin", "ESA", "5", "ug", ""}, {"darbepoetin", "ESA", "4.9", "ug", "4.9 ug -> perhaps 49 ug"},
		{"darbepoetin", "ESA", "500", "ug", ""}, {"darbepoetin", "ESA", "501", "ug", "501 ug -> perhaps 50.1 ug"},
		{"darbepoetin", "ESA", "0.04", "mg", ""}, {"darbepoetin", "ESA", "40", "mg", "40 mg -> perhaps 40 ug"},
		{"darbepoetin", "ESA", "0.04", "ug", "0.04 ug -> perhaps 40 ug"}, {"darbepoetin", "ESA", "6000", "ug", "6000 ug -> perhaps 6 ug"},
		{"darbepoetin", "ESA", "0.0001", "ug", "0.0001 ug -> usually 5 to 500 ug"},
		{"epoetin alfa", "ESA", "4", "kIU", ""}, {"epoetin alfa", "ESA", "4", "IU", "4 IU -> perhaps 4000 IU"},
		{"something new", "ESA", "40", "ug", ""}, {"something new", "ESA", "4000", "IU", ""},
		{"something new", "ESA", "4", "ug", "4 ug -> perhaps 40 ug"}, {"something new", "iron", "2001", "mg", "2001 mg -> perhaps 200.1 mg"},
		{"something new", "other", "2001", "mg", ""}, {"darbepoetin", "ESA", "1000", "mL", ""}, {"darbepoetin", "ESA", "1000", "L", ""},
	} {
		files := map[string]string{sessionsFile: mondays(1, "reason", everyRow("")), medicinesFile: medicinesOf(1, c.name, c.kind, c.dose, c.unit)}
		got := told(t, "clin-dose", "", files)
		if want := "clin-dose 2.dose " + c.want; got != want && (c.want != "" || got != "") {
			t.Errorf("%+v: %s", c, got)
		}
	}
}

// A dose outside the usual range is compared with the person's others first, and
// proposed in the unit that they are written in.
func TestOwnDosesBeforeTheRange(t *testing.T) {
	for _, tt := range []struct{ name, kind, dose, unit, row, want string }{
		{"epoetin alfa", "ESA", "6000", "IU", "100,IU", "100 IU -> a dose near 6000 IU"},
		{"epoetin alfa", "ESA", "6000", "IU", "6,IU", "6 IU -> perhaps 6000 IU"},
		{"darbepoetin", "ESA", "20", "microgram", "20,mg", "20 mg -> perhaps 20 microgram"},
		{"iron sucrose", "iron", "20", "mg", "20,g", "20 g -> perhaps 20 mg"},
	} {
		medicines := strings.Replace(medicinesOf(9, tt.name, tt.kind, tt.dose, tt.unit), tt.dose+","+tt.unit, tt.row, 1)
		files := map[string]string{sessionsFile: mondays(9, "reason", everyRow("")), medicinesFile: medicines}
		if got := told(t, "clin-dose", "", files); !strings.HasSuffix(got, ".dose "+tt.want) || strings.Contains(got, "\n") {
			t.Errorf("%+v: %s", tt, got)
		}
	}
}

// A dose or rate five times the person's others, or a fifth of them, among four;
// among three a slip of the decimal point alone. Steady doses are closer.
func TestOwnDosesAtTheirLimits(t *testing.T) {
	const dose, rate = "clin-dose 3.dose ", "clin-dose 3.rate "
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "reason", everyRow("")), medicinesFile: medicinesOf(n, "epoetin alfa", "ESA", "4000", "IU")}
	}
	changes(t, "clin-dose", "", files(4), []change{
		{"medicines:3.dose=20000", ""}, {"medicines:3.dose=20001", dose + "20001 -> a dose near 4000 IU"},
		{"medicines:3.dose=800", ""}, {"medicines:3.dose=799", dose + "799 -> a dose near 4000 IU"},
	})
	changes(t, "clin-dose", "", files(3), []change{
		{"medicines:3.dose=40000", dose + "40000 -> a dose near 4000 IU"}, {"medicines:3.dose=400", dose + "400 -> a dose near 4000 IU"},
		{"medicines:3.dose=30000", ""}, {"medicines:3.dose=500", ""},
		{"medicines:3.dose=40000;medicines:2.dose=3000", ""}, {"medicines:3.dose=40000;medicines:2.dose=5000", ""},
	})
	changes(t, "clin-dose", "", files(2), []change{{"medicines:3.dose=40000", ""}})
	// More than twice, or less than half, where the others are all the same.
	changes(t, "clin-dose", "", files(5), []change{
		{"medicines:3.dose=8000", ""}, {"medicines:3.dose=8001", dose + "8001 -> a dose near 4000 IU"},
		{"medicines:3.dose=2000", ""}, {"medicines:3.dose=1999", dose + "1999 -> a dose near 4000 IU"},
		{"medicines:3.dose=8001;medicines:4.dose=5000", ""}, {"medicines:2.dose=5000;medicines:3.dose=10000", ""},
		{"medicines:2.dose=5000;medicines:3.dose=10001", dose + "10001 -> a dose near 4000 IU"},
		{"medicines:2.dose=3000;medicines:3.dose=1500", ""}, {"medicines:2.dose=3000;medicines:3.dose=1499", dose + "1499 -> a dose near 4000 IU"},
		{"medicines:3.dose=9000;medicines:4.dose=9000", ""}, // changed
	})
	lock := map[string]string{sessionsFile: mondays(5, "reason", everyRow("")), medicinesFile: medicinesOf(5, "citrate 4 %", "other", "3.8", "mL")}
	changes(t, "clin-dose", "", lock, []change{{"medicines:3.dose=7.6", ""}, {"medicines:3.dose=8.3", dose + "8.3 -> a dose near 3.8 mL"}})
	infused := map[string]string{sessionsFile: mondays(4, "reason", everyRow("")), medicinesFile: "session,time,medicine,kind,dose,dose_unit,rate,rate_unit,route\n" +
		"s0,14:30,heparin,anticoagulant,,,1000,IU/h,circuit\ns1,14:30,heparin,anticoagulant,,,1000,IU/h,circuit\ns2,14:30,heparin,anticoagulant,,,1000,IU/h,circuit\ns3,14:30,heparin,anticoagulant,,,1000,IU/h,circuit\n"}
	changes(t, "clin-dose", "", infused, []change{
		{"medicines:3.rate=5000", ""}, {"medicines:3.rate=5001", rate + "5001 -> a rate near 1000 IU/h"},
		{"medicines:3.rate=200", ""}, {"medicines:3.rate=199", rate + "199 -> a rate near 1000 IU/h"},
	})
}

// A dose of a medicine in a unit of another kind than in three other rows.
func TestOwnUnitsOfDosesAtTheirLimits(t *testing.T) {
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "reason", everyRow("")), medicinesFile: medicinesOf(n, "new one", "other", "40", "mg")}
	}
	const found = "clin-dose 3.dose 40 IU -> perhaps 40 mg"
	changes(t, "clin-dose", "", files(4), []change{
		{"medicines:3.dose_unit=IU", found},
		{"medicines:3.dose_unit=g", ""},
		{"medicines:3.dose_unit=IU;medicines:4.dose_unit=IU", ""},
		{"medicines:3.dose_unit=IU;medicines:4.dose_unit=mL", ""},
	})
	changes(t, "clin-dose", "", files(3), []change{{"medicines:3.dose_unit=IU", ""}})
}

// Values that grow by the same step in six rows, or eight of decimals; flows set
// by hand in four, by one.
func TestDraggedValuesAtTheirLimits(t *testing.T) {
	grows := func(from, step float64, format string, rows int) func(int) string {
		return func(i int) string { return fmt.Sprintf(format, from+step*float64(min(i, rows-1))) }
	}
	for _, c := range []struct {
		column string
		row    func(int) string
		want   string
	}{
		{"pulse_before_per_min", grows(60, 1, "%.0f", 5), ""}, {"pulse_before_per_min", grows(60, 1, "%.0f", 6), "the values from row to row grow by the same step, 2 to 7, 6 cells"},
		{"pulse_before_per_min", grows(80, -2, "%.0f", 6), "the values from row to row fall by the same step, 2 to 7, 6 cells"},
		{"weight_before_kg", grows(70.1, 0.1, "%.1f", 7), ""}, {"weight_before_kg", grows(70.1, 0.1, "%.1f", 8), "the values from row to row grow by the same step, 2 to 9, 8 cells"},
	} {
		got := ""
		for _, f := range ruleIn(t, "month-copied", "", map[string]string{sessionsFile: mondays(9, c.column, c.row)}) {
			if f.Cells[0].Heading == c.column {
				got = fmt.Sprintf("%s, %d to %d, %d cells", f.Details, f.Cells[0].Row, f.Cells[len(f.Cells)-1].Row, len(f.Cells))
			}
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.column, got, c.want)
		}
	}
	for flows, n := range map[string]int{"300 301 302 303 303": 1, "300 301 302 302 302": 0, "300 310 320 330 340": 0, "303 302 301 300 300": 0} {
		readings := "session,time,blood_flow_ml_min\n"
		var flow [5]int
		fmt.Sscan(flows, &flow[0], &flow[1], &flow[2], &flow[3], &flow[4])
		for i, f := range flow {
			readings += fmt.Sprintf("s0,14:%d,%d\n", 10+10*i, f)
		}
		files := map[string]string{sessionsFile: mondays(1, "reason", everyRow("")), "readings.csv": readings}
		expectations(t, flows, ruleIn(t, "month-copied", "", files), n, "", "")
	}
}

// A setting that is dragged down among rows that hold one value: three rows where
// it stands there again behind them, four at the end; flows and doses by ones.
func TestFilledSettingsAtTheirLimits(t *testing.T) {
	const sodium, flow, calcium = "dialysate_sodium_mmol_l", "blood_flow_ml_min", "dialysate_calcium_mmol_l"
	for _, c := range []struct{ column, values, want string }{
		{"dialysate_potassium_mmol_l", "2 2 3 4 2 2 2", "warning 4 to 5 perhaps 2"}, {"dialysate_potassium_mmol_l", "2 2 3 2 2 2 2", ""},
		{"dialysate_potassium_mmol_l", "2 3 4 5 6 2 2 2", "error 3 to 6 perhaps 2"}, {"dialysate_potassium_mmol_l", "2 2 2 2 3 4", ""},
		{"dialysate_potassium_mmol_l", "2 2 2 2 3 4 5", "warning 6 to 8 perhaps 2"}, {"dialysate_potassium_mmol_l", "2 2 2 3 4 2", "warning 5 to 6 perhaps 2"},
		{"dialysate_potassium_mmol_l", "2 2 3 4 2", ""}, {"dialysate_potassium_mmol_l", "2 2 3 4 3 2 2", ""},
		{calcium, "1.5 1.5 1.25 1.00 1.5 1.5", "warning 4 to 5 perhaps 1.5"}, {calcium, "1.5 1.25 1.00 1.5 1.5 1.75 1.5", ""}, {calcium, "1.5 1.25 1.00 1.5 1.5 1.5 1.5 1.75", "warning 3 to 4 perhaps 1.5"},
		{sodium, "138 137 136 138 138 138", "warning 3 to 4 perhaps 138"}, {"rinseback_l", "0.3 0.3 0.4 0.5 0.3 0.3", "warning 4 to 5 perhaps 0.3"},
		{flow, "300 301 302 300 300 300", "warning 3 to 4 perhaps 300"}, {flow, "300 302 304 300 300 300", ""}, {flow, "300 310 320 300 300 300", ""},
		{"saline_l", "0 0.1 0.2 0 0 0", ""}, {"treated_min", "240 241 242 240 240 240", ""},
	} {
		got, values := "", strings.Fields(c.values)
		row := func(i int) string { return values[i] }
		for _, f := range ruleIn(t, "month-copied", "", map[string]string{sessionsFile: mondays(len(values), c.column, row)}) {
			got += fmt.Sprintf("%s %d to %d %s", f.Severity, f.Cells[0].Row, f.Cells[len(f.Cells)-1].Row, f.Expected)
		}
		if got != c.want {
			t.Errorf("%s %s: %q, want %q", c.column, c.values, got, c.want)
		}
	}
}

// Two digits exchanged in a dose that never changes; another dose may be given for a day.
func TestDigitsOfAConstantDose(t *testing.T) {
	of := func(n int, dose string) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "reason", everyRow("")), medicinesFile: medicinesOf(n, "citrate 4 %", "other", dose, "mL")}
	}
	changes(t, "clin-dose", "", of(9, "4.2"), []change{
		{"medicines:3.dose=2.4", "clin-dose 3.dose 2.4 -> perhaps 4.2 mL"}, {"medicines:3.dose=3.2", ""},
		{"medicines:3.dose=2.4;medicines:4.dose=2.4", ""}, {"medicines:3.dose=2.4;medicines:4.dose=4.0", ""},
	})
	changes(t, "clin-dose", "", of(8, "4.2"), []change{{"medicines:3.dose=2.4", ""}})
	// In finer steps, and in the lock of a catheter, whose volume does not change.
	changes(t, "clin-dose", "", of(9, "2000"), []change{
		{"medicines:3.dose=2300", "clin-dose 3.dose 2300 -> perhaps 2000 mL"}, {"medicines:3.dose=2007", "clin-dose 3.dose 2007 -> perhaps 2000 mL"},
		{"medicines:3.dose=2500", ""}, {"medicines:3.dose=1000", ""}, {"medicines:3.dose=2250", ""}, {"medicines:3.dose=2300;medicines:4.dose=2300", ""},
	})
	changes(t, "clin-dose", "", of(9, "4.2"), []change{
		{"medicines:3.dose=3.2;medicines:3.route=catheter lock", "clin-dose 3.dose 3.2 -> perhaps 4.2 mL"}, {"medicines:3.route=catheter lock", ""},
	})
}
