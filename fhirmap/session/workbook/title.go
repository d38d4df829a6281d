package workbook

import (
	"strings"
	"sync"

	"runsheet.example/fhirmap/session"
)

// group is the part of a treatment that a column belongs to; columns of one
// group have one colour in the heading.
type group uint8

const (
	groupPlan group = iota
	groupBefore
	groupAfter
	groupFluid
	groupMachine
	groupOther
)

// need is how many people fill a column in (common practice). It decides
// which columns are shown at first; hidden ones can be opened with the plus
// sign above the sheet, and are read whether shown or not.
type need uint8

const (
	everyone need = iota // also shown in large print
	most
	some // hidden at first
)

// title is how a column is shown.
type title struct {
	sheet session.Sheet
	name  string
	text  string
	group group
	need  need
	width float64 // in characters
}

const (
	ses = session.SheetSessions
	che = session.SheetChecks
	rea = session.SheetReadings
	med = session.SheetMedicines
	lab = session.SheetLabs
	eve = session.SheetEvents
)

// titles are the friendly headings, in the order of the log's columns. They
// differ from each other within a sheet, so that a sheet whose hidden row of
// names is gone can still be read.
var titles = []title{
	{ses, "session", "Session", groupPlan, everyone, 13},
	{ses, "date", "Date", groupPlan, everyone, 16.5},
	{ses, "start", "Start", groupPlan, everyone, 6.9},
	{ses, "end", "End", groupPlan, everyone, 6.9},
	{ses, "clock_change", "Clock change", groupPlan, some, 8},
	{ses, "status", "Status", groupPlan, everyone, 8},
	{ses, "reason", "Reason, if not done", groupPlan, most, 14},
	{ses, "before_at", "Time before", groupBefore, some, 6.9},
	{ses, "weight_before_kg", "Weight before (kg)", groupBefore, everyone, 6.9},
	{ses, "bp_before_systolic_mmhg", "BP before, upper (mmHg)", groupBefore, everyone, 7.4},
	{ses, "bp_before_diastolic_mmhg", "BP before, lower (mmHg)", groupBefore, everyone, 7.4},
	{ses, "bp_before_standing_systolic_mmhg", "BP before standing, upper (mmHg)", groupBefore, some, 9},
	{ses, "bp_before_standing_diastolic_mmhg", "BP before standing, lower (mmHg)", groupBefore, some, 9},
	{ses, "pulse_before_per_min", "Pulse before (per min)", groupBefore, everyone, 6.9},
	{ses, "temperature_before_c", "Temp. before (°C)", groupBefore, most, 6.9},
	{ses, "after_at", "Time after", groupAfter, some, 6.9},
	{ses, "weight_after_kg", "Weight after (kg)", groupAfter, everyone, 6.9},
	{ses, "bp_after_systolic_mmhg", "BP after, upper (mmHg)", groupAfter, everyone, 7.4},
	{ses, "bp_after_diastolic_mmhg", "BP after, lower (mmHg)", groupAfter, everyone, 7.4},
	{ses, "bp_after_standing_systolic_mmhg", "BP after standing, upper (mmHg)", groupAfter, some, 9},
	{ses, "bp_after_standing_diastolic_mmhg", "BP after standing, lower (mmHg)", groupAfter, some, 9},
	{ses, "pulse_after_per_min", "Pulse after (per min)", groupAfter, everyone, 6.9},
	{ses, "temperature_after_c", "Temp. after (°C)", groupAfter, most, 6.9},
	{ses, "dry_weight_kg", "New dry weight (kg)", groupFluid, some, 6.9},
	{ses, "uf_goal_l", "UF goal (L)", groupFluid, most, 6.4},
	{ses, "uf_removed_l", "UF done (L)", groupFluid, everyone, 6.4},
	{ses, "drinks_l", "Drinks (L)", groupFluid, most, 6.4},
	{ses, "saline_l", "Saline (L)", groupFluid, most, 6.4},
	{ses, "rinseback_l", "Rinse- back (L)", groupFluid, most, 6.4},
	{ses, "urine_l", "Urine during treat- ment (L)", groupFluid, some, 7.5},
	{ses, "dialysate_l", "Dialys- ate (L)", groupMachine, everyone, 6.9},
	{ses, "dialysate_flow_ml_min", "Dialys- ate flow (mL/min)", groupMachine, some, 8},
	{ses, "dialysate_flow_l_h", "Dialys- ate flow (L/h)", groupMachine, some, 8},
	{ses, "blood_flow_ml_min", "Blood flow (mL/ min)", groupMachine, most, 6.9},
	{ses, "blood_processed_l", "Blood done (L)", groupMachine, some, 6.4},
	{ses, "treated_min", "Time treated (min)", groupMachine, everyone, 6.9},
	{ses, "prescription", "Prescription, if another", groupMachine, some, 14},
	{ses, "dialyser", "Dialyser, if another", groupMachine, some, 14},
	{ses, "dialysate_sodium_mmol_l", "Dialysate sodium (mmol/L)", groupMachine, some, 10},
	{ses, "dialysate_potassium_mmol_l", "Dialysate potassium (mmol/L)", groupMachine, some, 10},
	{ses, "dialysate_calcium_mmol_l", "Dialysate calcium (mmol/L)", groupMachine, some, 10},
	{ses, "dialysate_bicarbonate_mmol_l", "Dialysate bicarbonate (mmol/L)", groupMachine, some, 11},
	{ses, "dialysate_lactate_mmol_l", "Dialysate lactate (mmol/L)", groupMachine, some, 10},
	{ses, "access", "Access, if another", groupOther, some, 14},
	{ses, "arterial_needle_site", "Arterial needle", groupOther, some, 11},
	{ses, "venous_needle_site", "Venous needle", groupOther, some, 11},
	{ses, "needling", "Needling, if another", groupOther, some, 11},
	{ses, "needle_gauge", "Gauge, if another", groupOther, some, 9},
	{ses, "first_try", "In at first try", groupOther, some, 8},
	{ses, "needle_problems", "Needle problems", groupOther, some, 18},
	{ses, "recovery_min", "Time to recover (min)", groupOther, most, 7.5},
	{ses, "entered_at", "Time written down", groupOther, some, 8},
	{ses, "notes", "Notes", groupOther, everyone, 25},
	{ses, "time_zone", "Time zone, if away", groupOther, some, 14},

	{che, "session", "Session", groupPlan, everyone, 13},
	{che, "time", "Time", groupPlan, everyone, 8},
	{che, "clock_change", "Clock change", groupPlan, some, 8},
	{che, "what", "What", groupBefore, everyone, 24},
	{che, "result", "Result", groupBefore, everyone, 10},
	{che, "value", "Number", groupBefore, everyone, 9},
	{che, "unit", "Unit", groupBefore, everyone, 9},
	{che, "lot", "Lot", groupMachine, everyone, 14},
	{che, "expires", "Use until", groupMachine, everyone, 12},
	{che, "by_whom", "By whom", groupOther, everyone, 12},

	{rea, "session", "Session", groupPlan, everyone, 13},
	{rea, "time", "Time", groupPlan, everyone, 8},
	{rea, "clock_change", "Clock change", groupPlan, some, 8},
	{rea, "bp_systolic_mmhg", "BP upper (mmHg)", groupBefore, everyone, 8},
	{rea, "bp_diastolic_mmhg", "BP lower (mmHg)", groupBefore, everyone, 8},
	{rea, "pulse_per_min", "Pulse (per min)", groupBefore, everyone, 8},
	{rea, "blood_flow_ml_min", "Blood flow (mL/min)", groupMachine, everyone, 8.5},
	{rea, "dialysate_flow_ml_min", "Dialysate flow (mL/min)", groupMachine, most, 9.5},
	{rea, "dialysate_flow_l_h", "Dialysate flow (L/h)", groupMachine, some, 9.5},
	{rea, "arterial_pressure_mmhg", "Arterial pressure (mmHg)", groupMachine, everyone, 9},
	{rea, "venous_pressure_mmhg", "Venous pressure (mmHg)", groupMachine, everyone, 9},
	{rea, "tmp_mmhg", "TMP (mmHg)", groupMachine, most, 8},
	{rea, "uf_rate_l_h", "UF rate (L/h)", groupFluid, most, 7.5},
	{rea, "uf_rate_ml_h", "UF rate (mL/h)", groupFluid, some, 7.5},
	{rea, "uf_so_far_l", "UF so far (L)", groupFluid, everyone, 7.5},
	{rea, "conductivity_ms_cm", "Conduc- tivity (mS/cm)", groupMachine, most, 8},
	{rea, "dialysate_temperature_c", "Dialysate temp. (°C)", groupMachine, most, 9.5},
	{rea, "note", "Note", groupOther, everyone, 26},

	{med, "session", "Session", groupPlan, everyone, 13},
	{med, "time", "Time", groupPlan, everyone, 8},
	{med, "clock_change", "Clock change", groupPlan, some, 8},
	{med, "medicine", "Medicine", groupBefore, everyone, 22},
	{med, "kind", "Kind", groupBefore, everyone, 14},
	{med, "dose", "Dose", groupBefore, everyone, 9},
	{med, "dose_unit", "Unit of the dose", groupBefore, everyone, 11},
	{med, "rate", "Rate, for an infusion", groupFluid, most, 10},
	{med, "rate_unit", "Unit of the rate", groupFluid, most, 9},
	{med, "until", "Until", groupFluid, most, 8},
	{med, "route", "Route", groupOther, everyone, 10},
	{med, "code_system", "Code list", groupOther, some, 18},
	{med, "code", "Code", groupOther, some, 12},

	{lab, "session", "Session", groupPlan, everyone, 13},
	{lab, "drawn_date", "Day drawn, if another", groupPlan, most, 16},
	{lab, "drawn_time", "Time drawn", groupPlan, everyone, 8},
	{lab, "clock_change", "Clock change", groupPlan, some, 8},
	{lab, "when", "Before or after", groupBefore, everyone, 10},
	{lab, "test", "Test", groupBefore, everyone, 14},
	{lab, "value", "Result", groupBefore, everyone, 10},
	{lab, "unit", "Unit", groupBefore, everyone, 10},
	{lab, "laboratory", "Laboratory", groupOther, everyone, 24},

	{eve, "session", "Session", groupPlan, everyone, 13},
	{eve, "time", "Time", groupPlan, everyone, 8},
	{eve, "clock_change", "Clock change", groupPlan, some, 8},
	{eve, "kind", "Kind", groupBefore, everyone, 12},
	{eve, "what", "What happened", groupBefore, everyone, 42},
	{eve, "alarm_number", "Alarm number", groupBefore, some, 10},
	{eve, "action", "What you did", groupOther, everyone, 42},
}

// titleOf is how a column is shown. A column without an entry is shown under
// its own name.
func titleOf(sheet session.Sheet, name string) title {
	if t, ok := titlesByName()[sheetHeading{sheet, name}]; ok {
		return t
	}
	return title{sheet, name, name, groupOther, everyone, 14}
}

// inOtherUnit are the units that a heading may name instead of the log's own.
var inOtherUnit = []string{"lb", "°F", "mL"}

// shown are the ways a column is shown: in its own unit first, then in others.
func (t title) shown() []title {
	all := []title{t}
	for _, unit := range inOtherUnit {
		if other, ok := session.NameIn(t.sheet, t.name, unit); ok && other != t.name {
			all = append(all, title{t.sheet, other, inBrackets.ReplaceAllString(t.text, "("+unit+")"), t.group, t.need, t.width})
		}
	}
	return all
}

// titlesByName are the titles of the columns in every unit, by their names.
var titlesByName = sync.OnceValue(func() map[sheetHeading]title {
	byName := map[sheetHeading]title{}
	for _, t := range titles {
		for _, shown := range t.shown() {
			key := sheetHeading{t.sheet, shown.name}
			if _, taken := byName[key]; !taken {
				byName[key] = shown
			}
		}
	}
	return byName
})

// plain is a heading without the differences that people and line breaks
// make. A hyphen before a break of ours is no part of the word.
func plain(heading string) string {
	heading = strings.ReplaceAll(strings.Join(strings.Fields(strings.ToLower(heading)), " "), "- ", "")
	return strings.Join(strings.FieldsFunc(heading, func(r rune) bool {
		return strings.ContainsRune(" _-,.()[]/", r)
	}), " ")
}

// columnByTitle finds the column that a friendly heading stands for, or that
// an exact name names.
func columnByTitle(sheet session.Sheet, heading string) (string, bool) {
	wanted := plain(heading)
	if wanted == "" {
		return "", false
	}
	name, ok := namesByHeading()[sheetHeading{sheet, wanted}]
	return name, ok
}

// sheetHeading is a heading of a sheet: the plain words of one, or a name.
type sheetHeading struct {
	sheet session.Sheet
	text  string
}

// namesByHeading are the names of the columns by all that may stand for them.
var namesByHeading = sync.OnceValue(func() map[sheetHeading]string {
	names := map[sheetHeading]string{{ses, plain("Urine (L)")}: "urine_l"} // of workbooks written earlier
	for _, t := range titles {
		for _, shown := range t.shown() {
			names[sheetHeading{t.sheet, plain(shown.text)}] = shown.name
			names[sheetHeading{t.sheet, plain(shown.name)}] = shown.name
		}
	}
	return names
})
