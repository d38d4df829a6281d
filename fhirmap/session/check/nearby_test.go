package check

import (
	"strings"
	"testing"
)

const besideHeadings = "bp_before_systolic_mmhg,bp_before_diastolic_mmhg,pulse_before_per_min,bp_before_standing_systolic_mmhg,bp_before_standing_diastolic_mmhg,bp_after_systolic_mmhg,bp_after_diastolic_mmhg,pulse_after_per_min,bp_after_standing_systolic_mmhg,bp_after_standing_diastolic_mmhg"

// A pressure or pulse beside the two nearest ones: further off than the limit,
// than the person's own scatter, and not moved together with its partner. The
// readings of row 5 are 11 to 13.
func TestNumbersBesideTheirNeighbours(t *testing.T) {
	const readings = "bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min"
	files := map[string]string{
		sessionsFile: mondays(7, besideHeadings, everyRow("140,80,70,136,78,130,75,70,126,73")),
		readingsFile: readingsOf(7, 3, readings, "138,79,70"),
	}
	const told = "clin-apart 5.bp_before_"
	changes(t, "clin-apart clin-exchanged", "", files, []change{
		{"5.bp_before_systolic_mmhg=162", ""}, {"5.bp_before_systolic_mmhg=164", told + "systolic_mmhg 164 -> about 140 mmHg"},
		{"5.bp_before_systolic_mmhg=118", ""}, {"5.bp_before_systolic_mmhg=117", told + "systolic_mmhg 117 -> about 140 mmHg"},
		{"5.bp_before_diastolic_mmhg=98", ""}, {"5.bp_before_diastolic_mmhg=99", told + "diastolic_mmhg 99 -> about 80 mmHg"},
		{"5.bp_before_standing_systolic_mmhg=104", told + "standing_systolic_mmhg 104 -> perhaps 140 mmHg"},
		{"5.bp_before_standing_diastolic_mmhg=55", told + "standing_diastolic_mmhg 55 -> about 78 mmHg"},
		{"5.bp_after_systolic_mmhg=161", "clin-apart 5.bp_after_systolic_mmhg 161 -> about 130 mmHg"},
		{"5.bp_after_standing_diastolic_mmhg=94", "clin-apart 5.bp_after_standing_diastolic_mmhg 94 -> about 73 mmHg"},
		{"5.pulse_before_per_min=95", ""}, {"5.pulse_before_per_min=45", ""}, {"5.pulse_before_per_min=44", "clin-apart 5.pulse_before_per_min 44 -> about 70 a minute"},
		{"5.pulse_after_per_min=44", "clin-apart 5.pulse_after_per_min 44 -> about 70 a minute"},
		{"readings:12.pulse_per_min=98", "clin-apart 12.pulse_per_min 98 -> about 70 a minute"},
		{"readings:11.bp_systolic_mmhg=169", "clin-apart 11.bp_systolic_mmhg 169 -> about 138 mmHg"},
		{"readings:13.bp_diastolic_mmhg=58", "clin-apart 13.bp_diastolic_mmhg 58 -> about 79 mmHg"},
		// The other number moves with it: a quarter of the higher, half of the lower.
		{"5.bp_before_systolic_mmhg=180;5.bp_before_diastolic_mmhg=88", told + "systolic_mmhg 180 -> about 140 mmHg"},
		{"5.bp_before_systolic_mmhg=180;5.bp_before_diastolic_mmhg=90", ""},
		{"5.bp_before_systolic_mmhg=100;5.bp_before_diastolic_mmhg=68", ""},
		{"5.bp_before_systolic_mmhg=100;5.bp_before_diastolic_mmhg=90", told + "systolic_mmhg 100 -> about 140 mmHg"},
		{"5.bp_before_diastolic_mmhg=102;5.bp_before_systolic_mmhg=146", told + "diastolic_mmhg 102 -> about 80 mmHg"},
		{"5.bp_before_diastolic_mmhg=102;5.bp_before_systolic_mmhg=149", ""},
		// Two digits exchanged are told sooner, and whatever the other number does.
		{"5.bp_before_diastolic_mmhg=97;5.bp_before_standing_diastolic_mmhg=77;readings:11.bp_diastolic_mmhg=77", told + "diastolic_mmhg 97 -> perhaps 79 mmHg"},
		{"5.bp_before_diastolic_mmhg=97", told + "diastolic_mmhg 97 -> perhaps 79 mmHg"},
		{"5.bp_before_diastolic_mmhg=97;5.bp_before_systolic_mmhg=160", told + "diastolic_mmhg 97 -> perhaps 79 mmHg"},
		{"5.bp_before_diastolic_mmhg=98;5.bp_before_systolic_mmhg=140", ""},
		// The two beside it do not agree: the pressure was changing.
		{"5.bp_before_systolic_mmhg=190;5.bp_before_standing_systolic_mmhg=158;readings:11.bp_systolic_mmhg=138", ""},
		{"5.bp_before_systolic_mmhg=175;readings:11.bp_systolic_mmhg=117", ""}, // on the way down
		// One expected in the other's place.
		{"readings:12.bp_diastolic_mmhg=52;readings:12.pulse_per_min=79;readings:11.pulse_per_min=52;readings:13.pulse_per_min=52", "clin-exchanged 12.bp_diastolic_mmhg 52 -> perhaps 79 and 52"},
	})
}

// The person's own scatter: two and a half times what nearly all pairs keep, of
// seven pairs or more.
func TestScatterOfNumbersBesideEachOther(t *testing.T) {
	scattered := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "pulse_before_per_min,pulse_after_per_min", func(i int) string {
			return []string{"70,90", "70,50", "70,70", "70,90", "70,50", "70,70", "70,70", "70,70"}[i%8]
		}), readingsFile: readingsOf(n, 1, "pulse_per_min", "70")}
	}
	changes(t, "clin-apart", "", scattered(8), []change{
		{"4.pulse_after_per_min=120", ""}, // 50, of 2.5 times 20
		{"4.pulse_before_per_min=120", ""},
		{"4.pulse_before_per_min=121", "clin-apart 4.pulse_before_per_min 121 -> about 70 a minute"},
		{"5.pulse_before_per_min=95", ""},
	})
	steady := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "pulse_before_per_min,pulse_after_per_min", everyRow("70,70")), readingsFile: readingsOf(n, 1, "pulse_per_min", "70")}
	}
	changes(t, "clin-apart", "", steady(7), []change{{"5.pulse_before_per_min=100", "clin-apart 5.pulse_before_per_min 100 -> about 70 a minute"}})
	changes(t, "clin-apart", "", steady(6), []change{{"5.pulse_before_per_min=100", ""}})
	alone := map[string]string{sessionsFile: mondays(9, "pulse_before_per_min,pulse_after_per_min", everyRow("70,70"))}
	changes(t, "clin-apart", "", alone, []change{{"5.pulse_before_per_min=100", ""}})
}

// A UF rate, and the fluid removed so far, beside a steady flow of 0.4 L/h. The
// readings of row 5 are 17 to 21.
func TestFluidBesideASteadyFlow(t *testing.T) {
	const headings = "uf_so_far_l,uf_rate_l_h,note"
	text := "session,time," + headings + "\n"
	for s := range 4 {
		for i, litres := range []string{"0.40", "0.60", "0.80", "1.00", "1.20"} {
			text += strings.Join([]string{"s" + string(rune('0'+s)), []string{"15:00", "15:30", "16:00", "16:30", "17:00"}[i], litres, "0.42", ""}, ",") + "\n"
		}
	}
	files := map[string]string{sessionsFile: mondays(4, "uf_removed_l", everyRow("1.30")), readingsFile: text}
	rate, litres := "clin-apart 19.uf_rate_l_h ", "clin-uf-falls 19.uf_so_far_l "
	changes(t, "clin-apart clin-exchanged clin-uf-falls clin-uf-rate", "", files, []change{
		{"readings:19.uf_rate_l_h=0.60", ""}, {"readings:19.uf_rate_l_h=0.61", rate + "0.61 -> about 0.4 L/h"},
		{"readings:19.uf_rate_l_h=0.27", ""}, {"readings:19.uf_rate_l_h=0.26", rate + "0.26 -> about 0.4 L/h"},
		{"readings:19.uf_rate_l_h=0.26;readings:19.note=cramp", ""}, {"readings:19.uf_rate_l_h=0", ""},
		{"readings:19.uf_rate_l_h=0.65;readings:19.note=cramp", rate + "0.65 -> about 0.4 L/h"},
		{"readings:19.uf_rate_l_h=0.24", rate + "0.24 -> perhaps 0.42 L/h"}, {"readings:19.uf_rate_l_h=0.24;readings:19.note=cramp", rate + "0.24 -> perhaps 0.42 L/h"},
		{"readings:19.uf_rate_l_h=4.2", ""}, // told by its limits
		{"readings:19.uf_so_far_l=1.40;readings:18.uf_rate_l_h=0.9;readings:20.uf_rate_l_h=0.2", "clin-uf-falls 20.uf_so_far_l 1.00 -> 1.40 or more"},
		{"readings:19.uf_so_far_l=1.41;readings:18.uf_rate_l_h=0.9;readings:20.uf_rate_l_h=0.2", "clin-uf-falls 19.uf_so_far_l 1.41 -> 1.30 or less"}, // and not the next one too
		{"readings:17.uf_rate_l_h=0.65", "clin-apart 17.uf_rate_l_h 0.65 -> about 0.41 L/h"}, {"readings:21.uf_rate_l_h=0.65", "clin-apart 21.uf_rate_l_h 0.65 -> about 0.41 L/h"},
		{"readings:19.uf_so_far_l=0.91", ""}, {"readings:19.uf_so_far_l=0.92", litres + "0.92 -> about 0.8 L"},
		{"readings:19.uf_so_far_l=0.69", ""}, {"readings:19.uf_so_far_l=0.68", litres + "0.68 -> perhaps 0.86 L"},
		{"readings:19.uf_so_far_l=0.08", litres + "0.08 -> perhaps 0.80 L"},
		{"readings:17.uf_so_far_l=0.04", "clin-uf-falls 17.uf_so_far_l 0.04 -> perhaps 0.40 L"},
		{"readings:21.uf_so_far_l=1.02", "clin-uf-falls 21.uf_so_far_l 1.02 -> perhaps 1.20 L"},
		{"readings:19.uf_rate_l_h=0.80;readings:19.uf_so_far_l=0.42", "clin-exchanged 19.uf_so_far_l 0.42 -> perhaps 0.80 and 0.42"},
		// The flow changes.
		{"readings:18.uf_rate_l_h=0.65;readings:19.uf_rate_l_h=0.65", ""},
		{"readings:19.uf_rate_l_h=0.65;readings:18.uf_rate_l_h=0.30;readings:20.uf_rate_l_h=0.30", ""},
		{"readings:19.time=15:31", "clin-uf-falls 19.time 15:31 -> about 16:00"},
	})
}

// The time of a reading beside a steady flow: a quarter of an hour off, or less
// with a slip of the pen, and further from the middle of the two beside it.
func TestTimeBesideASteadyFlow(t *testing.T) {
	text := "session,time,uf_so_far_l,uf_rate_l_h\n"
	for s := range 4 {
		for i, litres := range []string{"0.40", "0.61", "0.80", "1.00", "1.20"} {
			text += strings.Join([]string{"s" + string(rune('0'+s)), []string{"15:00", "15:32", "16:00", "16:30", "17:00"}[i], litres, "0.42"}, ",") + "\n"
		}
	}
	files := map[string]string{sessionsFile: mondays(4, "uf_removed_l", everyRow("1.30")), readingsFile: text}
	const told = "clin-uf-falls 19.time "
	changes(t, "clin-uf-falls clin-reading-twice clin-outside-session", "", files, []change{
		{"readings:19.time=16:16", ""}, {"readings:19.time=16:17", told + "16:17 -> about 16:00"},
		{"readings:19.time=15:44", ""}, {"readings:19.time=15:43", told + "15:43 -> about 16:00"},
		{"readings:18.time=15:23", "clin-uf-falls 18.time 15:23 -> perhaps 15:32"}, {"readings:18.time=15:22", ""},
		{"readings:19.time=17:00", told + "17:00 -> perhaps 16:00"}, {"readings:19.time=15:00", told + "15:00 -> perhaps 16:00"},
		{"readings:17.time=16:00", "clin-reading-twice 17.time 16:00 -> perhaps 15:00"}, {"readings:21.time=18:00", "clin-outside-session 21.time 18:00 -> perhaps 17:00"},
		// Two times exchanged, and an amount that is wrong at an even time.
		{"readings:18.time=16:00;readings:19.time=15:32", "clin-uf-falls 18.time 16:00 -> perhaps 15:32 and 16:00"},
		{"readings:19.uf_so_far_l=1.03", "clin-uf-falls 19.uf_so_far_l 1.03 -> about 0.8 L"},
		{"readings:18.time=15:50;readings:17.uf_rate_l_h=0.60", ""}, // the flow is not steady
	})
}

// The fluid removed so far in tenths of a litre at 90 mL/h: a line through two
// rounded numbers is further from the third than the fluid is.
func TestRoundedFluidBesideASteadyFlow(t *testing.T) {
	text := "session,time,uf_so_far_l,uf_rate_ml_h\n"
	for s := range 4 {
		for i, litres := range []string{"0.1", "0.2", "0.4", "0.6"} {
			text += strings.Join([]string{"s" + string(rune('0'+s)), []string{"15:05", "17:06", "19:05", "21:07"}[i], litres, "90"}, ",") + "\n"
		}
	}
	files := map[string]string{sessionsFile: mondays(4, "uf_removed_l", everyRow("0.7")), readingsFile: text}
	changes(t, "clin-uf-falls", "", files, []change{
		{"readings:10.uf_so_far_l=0.1", ""}, {"readings:10.uf_so_far_l=0.2", ""},
		{"readings:11.uf_so_far_l=0.9", "clin-uf-falls 11.uf_so_far_l 0.9 -> about 0.25 L"},
		{"readings:13.uf_so_far_l=6.0", "clin-uf-falls 13.uf_so_far_l 6.0 -> 0.7 or less"},
	})
}

// A rate that is unusual and contradicted is told once, without a zero before
// the digits.
func TestWrongRateIsToldOnce(t *testing.T) {
	text := "session,time,uf_so_far_l,uf_rate_ml_h\n"
	for i, litres := range []string{"0.30", "0.45", "0.60", "0.75", "0.90"} {
		text += strings.Join([]string{"s0", []string{"15:00", "15:30", "16:00", "16:30", "17:00"}[i], litres, "300"}, ",") + "\n"
	}
	files := map[string]string{sessionsFile: mondays(2, "uf_removed_l,weight_after_kg", everyRow("0.95,70")), readingsFile: text}
	changes(t, "clin-unusual clin-apart clin-litres clin-decimal-point", "", files, []change{
		{"readings:4.uf_rate_ml_h=3000", "clin-apart 4.uf_rate_ml_h 3000 -> perhaps 300 mL/h"},
		{"readings:4.uf_rate_ml_h=030", "clin-apart 4.uf_rate_ml_h 030 -> perhaps 300 mL/h"},
	})
	litres := map[string]string{sessionsFile: files[sessionsFile], readingsFile: strings.ReplaceAll(strings.ReplaceAll(text, "_ml_h", "_l_h"), ",300", ",0.30")}
	changes(t, "clin-unusual clin-apart clin-litres clin-decimal-point", "", litres, []change{
		{"readings:4.uf_rate_l_h=5.00", "clin-apart 4.uf_rate_l_h 5.00 -> about 0.3 L/h"},
	})
}

// What the machine shows of the circuit, beside the two nearest: a slip of the pen
// gives a number, anything else is a note. The readings of row 5 are 17 to 21.
func TestCircuitBesideItsNeighbours(t *testing.T) {
	const readings = "arterial_pressure_mmhg,venous_pressure_mmhg,tmp_mmhg,conductivity_ms_cm,dialysate_temperature_c,blood_flow_ml_min,note"
	files := map[string]string{
		sessionsFile: mondays(7, "pulse_before_per_min", everyRow("70")),
		readingsFile: readingsOf(7, 5, readings, "-150,155,60,13.8,36.5,300,"),
	}
	const venous = "clin-apart 19.venous_pressure_mmhg "
	changes(t, "clin-apart", "", files, []change{
		{"readings:19.venous_pressure_mmhg=117", ""}, {"readings:19.venous_pressure_mmhg=193", ""},
		{"readings:19.venous_pressure_mmhg=115", venous + "115 -> perhaps 151 mmHg"},
		{"readings:19.venous_pressure_mmhg=65", venous + "65 -> perhaps 165 mmHg"},
		{"readings:19.venous_pressure_mmhg=110", venous + "110 -> about 155 mmHg"},
		{"readings:19.arterial_pressure_mmhg=-65", "clin-apart 19.arterial_pressure_mmhg -65 -> perhaps -165 mmHg"},
		{"readings:19.conductivity_ms_cm=14.1", ""}, {"readings:19.conductivity_ms_cm=14.6", "clin-apart 19.conductivity_ms_cm 14.6 -> about 13.8 mS/cm"}, {"readings:19.conductivity_ms_cm=14.3", "clin-apart 19.conductivity_ms_cm 14.3 -> about 13.8 mS/cm"},
		{"readings:19.conductivity_ms_cm=12.9", "clin-apart 19.conductivity_ms_cm 12.9 -> perhaps 13.9 mS/cm"},
		{"readings:19.dialysate_temperature_c=37.1", ""}, {"readings:19.dialysate_temperature_c=37.5", "clin-apart 19.dialysate_temperature_c 37.5 -> perhaps 36.5 °C"},
		{"readings:19.dialysate_temperature_c=35.6", "clin-apart 19.dialysate_temperature_c 35.6 -> perhaps 36.5 °C"},
		// The last one may be the first of a change.
		{"readings:21.venous_pressure_mmhg=230", ""},
		{"readings:21.venous_pressure_mmhg=65", "clin-apart 21.venous_pressure_mmhg 65 -> perhaps 165 mmHg"},
		{"readings:19.blood_flow_ml_min=330", ""}, {"readings:19.blood_flow_ml_min=350", "clin-apart 19.blood_flow_ml_min 350 -> perhaps 300 mL/min"},
		{"readings:19.blood_flow_ml_min=400", "clin-apart 19.blood_flow_ml_min 400 -> perhaps 300 mL/min"},
		// An interruption lowers the blood flow, and never raises it.
		{"readings:19.blood_flow_ml_min=200", "clin-apart 19.blood_flow_ml_min 200 -> perhaps 300 mL/min"},
		{"readings:19.blood_flow_ml_min=400;readings:19.note=line kinked", "clin-apart 19.blood_flow_ml_min 400 -> perhaps 300 mL/min"},
		// The blood flow moved with it, or it rises steadily.
		{"readings:19.venous_pressure_mmhg=65;readings:19.blood_flow_ml_min=200", ""},
		{"readings:19.arterial_pressure_mmhg=-65;readings:19.blood_flow_ml_min=200", ""},
		{"readings:18.venous_pressure_mmhg=190;readings:19.venous_pressure_mmhg=240;readings:20.venous_pressure_mmhg=290;readings:21.venous_pressure_mmhg=340", ""},
	})
}

// Beside what the person wrote of it, a number is a note without another value.
func TestNumbersThatAnEventExplains(t *testing.T) {
	files := map[string]string{
		sessionsFile: mondays(7, "bp_before_systolic_mmhg,bp_before_diastolic_mmhg,pulse_before_per_min,notes", everyRow("140,80,70,")),
		readingsFile: readingsOf(7, 5, "bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,venous_pressure_mmhg,note", "138,79,70,155,"),
	}
	const low = "readings:19.bp_diastolic_mmhg=58"
	changes(t, "clin-apart", "", files, []change{
		{low, "clin-apart 19.bp_diastolic_mmhg 58 -> about 79 mmHg"},
		{low + ";5.notes=needle slipped and bled", "clin-apart 19.bp_diastolic_mmhg 58 -> "},
		{low + ";5.notes=felt faint", "clin-apart 19.bp_diastolic_mmhg 58 -> "},
		{low + ";5.notes=a quiet day", "clin-apart 19.bp_diastolic_mmhg 58 -> about 79 mmHg"},
		{"readings:19.bp_diastolic_mmhg=101;5.notes=felt faint", "clin-apart 19.bp_diastolic_mmhg 101 -> about 79 mmHg"},
		{"readings:19.bp_diastolic_mmhg=101;5.notes=a pain in the leg", "clin-apart 19.bp_diastolic_mmhg 101 -> "},
		{"readings:19.pulse_per_min=122;5.notes=fever", "clin-apart 19.pulse_per_min 122 -> "},
		{"readings:19.pulse_per_min=38;5.notes=fever", "clin-apart 19.pulse_per_min 38 -> about 70 a minute"},
		{"readings:19.venous_pressure_mmhg=65;readings:19.note=moved the line", "clin-apart 19.venous_pressure_mmhg 65 -> "},
	})
}

// A number of the dialysate that one session alone has.
func TestBathOfOneSession(t *testing.T) {
	files := map[string]string{sessionsFile: mondays(7, "dialysate_sodium_mmol_l,dialysate_potassium_mmol_l,dialysate_calcium_mmol_l,dialysate_bicarbonate_mmol_l", everyRow("138,2,1.25,34"))}
	changes(t, "clin-apart", "", files, []change{
		{"5.dialysate_potassium_mmol_l=3", "clin-apart 5.dialysate_potassium_mmol_l 3 -> about 2 mmol/L"},
		{"5.dialysate_calcium_mmol_l=1.52", "clin-apart 5.dialysate_calcium_mmol_l 1.52 -> perhaps 1.25 mmol/L"},
		{"5.dialysate_bicarbonate_mmol_l=24", "clin-apart 5.dialysate_bicarbonate_mmol_l 24 -> perhaps 34 mmol/L"},
		{"5.dialysate_bicarbonate_mmol_l=32", ""},
		{"5.dialysate_bicarbonate_mmol_l=28", "clin-apart 5.dialysate_bicarbonate_mmol_l 28 -> about 34 mmol/L"},
		{"5.dialysate_sodium_mmol_l=137", ""}, {"5.dialysate_calcium_mmol_l=1.26", "clin-apart 5.dialysate_calcium_mmol_l 1.26 -> perhaps 1.25 mmol/L"},
		{"8.dialysate_bicarbonate_mmol_l=24", ""}, // the last may stay
		{"5.dialysate_bicarbonate_mmol_l=24;6.dialysate_bicarbonate_mmol_l=24", ""},
	})
}

// A dry weight that one session alone has does not change for a day.
func TestDryWeightOfOneSession(t *testing.T) {
	files := map[string]string{sessionsFile: mondays(7, "dry_weight_kg,rinseback_l", everyRow("72.5,0.25"))}
	changes(t, "clin-apart", "", files, []change{
		{"5.dry_weight_kg=75.2", "clin-apart 5.dry_weight_kg 75.2 -> perhaps 72.5 kg"}, {"5.dry_weight_kg=73.5", "clin-apart 5.dry_weight_kg 73.5 -> perhaps 72.5 kg"},
		{"5.rinseback_l=0.025", "clin-apart 5.rinseback_l 0.025 -> perhaps 0.25 L"}, {"5.rinseback_l=0.3", ""},
		{"5.dry_weight_kg=73.0", ""}, {"8.dry_weight_kg=73.5", ""}, {"4.dry_weight_kg=73.5;5.dry_weight_kg=73.5", ""},
	})
}

// The dialysate flow of one reading, a pressure with its point moved, and a lowered
// blood flow that the arterial pressure or a note bears out.
func TestFlowsAndPointsBesideTheirNeighbours(t *testing.T) {
	files := map[string]string{
		sessionsFile: mondays(7, "pulse_before_per_min", everyRow("70")),
		readingsFile: readingsOf(7, 5, "arterial_pressure_mmhg,venous_pressure_mmhg,blood_flow_ml_min,dialysate_flow_ml_min,note", "-150,155,300,500,"),
	}
	const apart = "clin-apart 19."
	changes(t, "clin-apart", "", files, []change{
		{"readings:19.dialysate_flow_ml_min=550", ""}, {"readings:19.dialysate_flow_ml_min=600", apart + "dialysate_flow_ml_min 600 -> perhaps 500 mL/min"},
		{"readings:19.venous_pressure_mmhg=15.5", apart + "venous_pressure_mmhg 15.5 -> perhaps 155 mmHg"},
		{"readings:19.arterial_pressure_mmhg=-15", apart + "arterial_pressure_mmhg -15 -> perhaps -150 mmHg"},
		{"readings:19.blood_flow_ml_min=200;readings:19.arterial_pressure_mmhg=-120", ""},
		{"readings:19.blood_flow_ml_min=200;readings:19.note=kinked", ""},
		{"readings:19.blood_flow_ml_min=200;readings:35.blood_flow_ml_min=200", ""}, // in two sessions: no slip
	})
}

// What is set and one reading of the log has otherwise, by one slip; a pressure of 0
// while blood flows; a needle that is none.
func TestSettingsOfOneReading(t *testing.T) {
	files := func(sessions int) map[string]string {
		return map[string]string{
			sessionsFile: mondays(sessions, "needle_gauge", everyRow("15")),
			readingsFile: readingsOf(sessions, 4, "arterial_pressure_mmhg,blood_flow_ml_min,dialysate_flow_ml_min,dialysate_temperature_c", "-150,300,500,36.5"),
		}
	}
	changes(t, "clin-apart clin-unusual", "", files(5), []change{
		{"readings:11.dialysate_temperature_c=35.5", "clin-apart 11.dialysate_temperature_c 35.5 -> perhaps 36.5 °C"}, {"readings:11.dialysate_temperature_c=36.0", ""},
		{"readings:11.dialysate_temperature_c=35.5;readings:15.dialysate_temperature_c=36.0", ""},
		{"readings:11.blood_flow_ml_min=303", "clin-apart 11.blood_flow_ml_min 303 -> perhaps 300 mL/min"}, {"readings:11.blood_flow_ml_min=310", ""},
		{"readings:11.dialysate_flow_ml_min=510", ""}, {"readings:11.dialysate_flow_ml_min=501", "clin-apart 11.dialysate_flow_ml_min 501 -> perhaps 500 mL/min"},
		{"readings:12.arterial_pressure_mmhg=0", "clin-apart 12.arterial_pressure_mmhg 0 -> about -150 mmHg"},
		{"4.needle_gauge=17", ""}, {"4.needle_gauge=51", "clin-unusual 4.needle_gauge 51 -> usually 14 to 18"}, {"4.needle_gauge=1", "clin-unusual 4.needle_gauge 1 -> usually 14 to 18"}, {"4.needle_gauge=15G", ""}, {"4.needle_gauge=15 blunt", ""},
	})
	changes(t, "clin-apart", "", files(4), []change{{"readings:11.blood_flow_ml_min=303", ""}})
}
