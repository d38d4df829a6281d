package session

// Field names one measured or written thing, in the vocabulary that the log,
// the computations and the FHIR code table share.
type Field string

// Sheet names one file of the log (without ".csv") or one sheet of a workbook.
type Sheet string

// The sheets of a log.
const (
	SheetSessions  Sheet = "sessions"
	SheetChecks    Sheet = "checks"
	SheetReadings  Sheet = "readings"
	SheetMedicines Sheet = "medicines"
	SheetLabs      Sheet = "labs"
	SheetEvents    Sheet = "events"
)

// Kind says how a column's cells are read.
type Kind uint8

// The kinds of column.
const (
	KindNumber Kind = iota
	KindText
	KindChoice
	KindDate
	KindTime
	KindID
	KindUnit // the unit of a number in the same row
)

// Column is one column of the log.
type Column struct {
	Sheet Sheet
	// Name is the heading as written in a log: lower case, unit in the name.
	Name  string
	Field Field
	Kind  Kind
	// Unit is the UCUM code the column's numbers are written in; empty for a
	// column that is no number or whose unit stands in another column.
	Unit string
	// Choices are the accepted texts of a KindChoice column; of a KindText
	// column they are an offer, and any other text is taken as well.
	Choices []string
	// Required columns must be in the file; others may be left out.
	Required bool
	// Hint is one plain sentence for the person who fills the log in.
	Hint string
}

// Columns is the table of every column of the log, in the order the template
// writes them. To add a measurement, add its row here and its code in the
// measurements table of package profiles; a test fails when one is missing.
var Columns = []Column{
	{SheetSessions, "session", "session", KindID, "", nil, true, "a short name for this session that never changes, such as 2025-11-03a"},
	{SheetSessions, "date", "date", KindDate, "", nil, true, "the day the session started, as 2025-11-03"},
	{SheetSessions, "start", "start", KindTime, "", nil, true, "when treatment started, as 18:30; leave empty if not done"},
	{SheetSessions, "end", "end", KindTime, "", nil, true, "when treatment ended; may be after midnight"},
	{SheetSessions, "clock_change", "clock_change", KindChoice, "", []string{"before", "after"}, false, "only in the hour that comes twice in autumn: before or after the clocks went back"},
	{SheetSessions, "status", "status", KindChoice, "", []string{"done", "cut short", "not done"}, true, "done, cut short or not done"},
	{SheetSessions, "reason", "reason", KindText, "", nil, false, "why it was cut short or not done"},
	{SheetSessions, "before_at", "before_at", KindTime, "", nil, false, "when you weighed and took blood pressure before"},
	{SheetSessions, "weight_before_kg", "weight_before", KindNumber, "kg", nil, false, "weight before, in kg"},
	{SheetSessions, "bp_before_systolic_mmhg", "bp_before_systolic", KindNumber, "mm[Hg]", nil, false, "blood pressure before, sitting, the higher number"},
	{SheetSessions, "bp_before_diastolic_mmhg", "bp_before_diastolic", KindNumber, "mm[Hg]", nil, false, "blood pressure before, sitting, the lower number"},
	{SheetSessions, "bp_before_standing_systolic_mmhg", "bp_before_standing_systolic", KindNumber, "mm[Hg]", nil, false, "blood pressure before, standing, the higher number"},
	{SheetSessions, "bp_before_standing_diastolic_mmhg", "bp_before_standing_diastolic", KindNumber, "mm[Hg]", nil, false, "blood pressure before, standing, the lower number"},
	{SheetSessions, "pulse_before_per_min", "pulse_before", KindNumber, "/min", nil, false, "pulse before, beats in a minute"},
	{SheetSessions, "temperature_before_c", "temperature_before", KindNumber, "Cel", nil, false, "body temperature before, in °C"},
	{SheetSessions, "after_at", "after_at", KindTime, "", nil, false, "when you weighed and took blood pressure after"},
	{SheetSessions, "weight_after_kg", "weight_after", KindNumber, "kg", nil, false, "weight after, in kg"},
	{SheetSessions, "bp_after_systolic_mmhg", "bp_after_systolic", KindNumber, "mm[Hg]", nil, false, "blood pressure after, sitting, the higher number"},
	{SheetSessions, "bp_after_diastolic_mmhg", "bp_after_diastolic", KindNumber, "mm[Hg]", nil, false, "blood pressure after, sitting, the lower number"},
	{SheetSessions, "bp_after_standing_systolic_mmhg", "bp_after_standing_systolic", KindNumber, "mm[Hg]", nil, false, "blood pressure after, standing, the higher number"},
	{SheetSessions, "bp_after_standing_diastolic_mmhg", "bp_after_standing_diastolic", KindNumber, "mm[Hg]", nil, false, "blood pressure after, standing, the lower number"},
	{SheetSessions, "pulse_after_per_min", "pulse_after", KindNumber, "/min", nil, false, "pulse after, beats in a minute"},
	{SheetSessions, "temperature_after_c", "temperature_after", KindNumber, "Cel", nil, false, "body temperature after, in °C"},
	{SheetSessions, "dry_weight_kg", "dry_weight", KindNumber, "kg", nil, false, "your dry weight, only on the day the clinic changes it"},
	{SheetSessions, "uf_goal_l", "uf_goal", KindNumber, "L", nil, false, "fluid to remove that you programmed, in litres"},
	{SheetSessions, "uf_removed_l", "uf_removed", KindNumber, "L", nil, false, "fluid removed that the machine shows at the end, in litres"},
	{SheetSessions, "drinks_l", "drinks", KindNumber, "L", nil, false, "what you drank and ate during the session, in litres"},
	{SheetSessions, "saline_l", "saline", KindNumber, "L", nil, false, "saline given during the session, in litres"},
	{SheetSessions, "rinseback_l", "rinseback", KindNumber, "L", nil, false, "saline used to give the blood back, in litres"},
	{SheetSessions, "urine_l", "urine", KindNumber, "L", nil, false, "urine you passed during the treatment, not that of the day, in litres"},
	{SheetSessions, "dialysate_l", "dialysate_volume", KindNumber, "L", nil, false, "dialysate used, in litres"},
	{SheetSessions, "dialysate_flow_ml_min", "dialysate_flow", KindNumber, "mL/min", nil, false, "dialysate flow you set, in mL/min"},
	{SheetSessions, "dialysate_flow_l_h", "dialysate_flow", KindNumber, "L/h", nil, false, "dialysate flow you set, in L/h, if your machine shows it so"},
	{SheetSessions, "blood_flow_ml_min", "blood_flow", KindNumber, "mL/min", nil, false, "blood flow you set, in mL/min"},
	{SheetSessions, "blood_processed_l", "blood_processed", KindNumber, "L", nil, false, "blood processed that the machine shows, in litres"},
	{SheetSessions, "treated_min", "treated_time", KindNumber, "min", nil, false, "treatment time that the machine shows, in minutes, without pauses"},
	{SheetSessions, "prescription", "prescription", KindText, "", nil, false, "the name of the prescription you followed, if not the usual one; the name stands in log.toml"},
	{SheetSessions, "dialyser", "dialyser", KindText, "", nil, false, "dialyser, if not the one prescribed"},
	{SheetSessions, "dialysate_sodium_mmol_l", "dialysate_sodium", KindNumber, "mmol/L", nil, false, "sodium of the dialysate, in mmol/L"},
	{SheetSessions, "dialysate_potassium_mmol_l", "dialysate_potassium", KindNumber, "mmol/L", nil, false, "potassium of the dialysate, in mmol/L"},
	{SheetSessions, "dialysate_calcium_mmol_l", "dialysate_calcium", KindNumber, "mmol/L", nil, false, "calcium of the dialysate, in mmol/L"},
	{SheetSessions, "dialysate_bicarbonate_mmol_l", "dialysate_bicarbonate", KindNumber, "mmol/L", nil, false, "bicarbonate of the dialysate, in mmol/L"},
	{SheetSessions, "dialysate_lactate_mmol_l", "dialysate_lactate", KindNumber, "mmol/L", nil, false, "lactate of the dialysate, in mmol/L"},
	{SheetSessions, "access", "access", KindText, "", nil, false, "access used, if not the usual one"},
	{SheetSessions, "arterial_needle_site", "arterial_needle_site", KindText, "", nil, false, "where the arterial needle went, in your words or numbers"},
	{SheetSessions, "venous_needle_site", "venous_needle_site", KindText, "", nil, false, "where the venous needle went, in your words or numbers"},
	{SheetSessions, "needling", "needling", KindText, "", needlings, false, "way of needling, if not the usual one: ladder, buttonhole or area"},
	{SheetSessions, "needle_gauge", "needle_gauge", KindText, "", nil, false, "needle gauge, if not the usual one"},
	{SheetSessions, "first_try", "first_try", KindText, "", []string{"yes", "no"}, false, "whether both needles were in at the first try"},
	{SheetSessions, "needle_problems", "needle_problems", KindText, "", nil, false, "problems with needles or catheter, in your words"},
	{SheetSessions, "recovery_min", "recovery_time", KindNumber, "min", nil, false, "how long until you felt yourself again, in minutes"},
	{SheetSessions, "entered_at", "entered_at", KindTime, "", nil, false, "when you finished writing this session down"},
	{SheetSessions, "notes", "notes", KindText, "", nil, false, "anything else"},
	{SheetSessions, "time_zone", "time_zone", KindText, "", nil, false, "only away from home: the time zone there, such as Europe/Lisbon"},

	{SheetChecks, "session", "session", KindID, "", nil, true, "the session this was looked at for"},
	{SheetChecks, "time", "time", KindTime, "", nil, false, "when you looked, as 17:50"},
	{SheetChecks, "clock_change", "clock_change", KindChoice, "", []string{"before", "after"}, false, "only in the hour that comes twice in autumn: before or after the clocks went back"},
	{SheetChecks, "what", "what", KindText, "", checkNames(), true, "what was looked at or used: a word from the list, or your own"},
	{SheetChecks, "result", "result", KindText, "", []string{"ok", "not ok", "yes", "no"}, false, "ok or not ok; for redness, swelling, pain or thrill: yes or no"},
	{SheetChecks, "value", "value", KindNumber, "", nil, false, "the number, if there is one"},
	{SheetChecks, "unit", "unit", KindUnit, "", nil, false, "its unit, such as mg/L or mS/cm"},
	{SheetChecks, "lot", "lot", KindText, "", nil, false, "of a dialyser, lines, needles or a batch: the lot number as printed"},
	{SheetChecks, "expires", "expires", KindText, "", nil, false, "the day or month until which it may be used, as 2026-03-31 or 2026-03"},
	{SheetChecks, "by_whom", "by_whom", KindText, "", []string{"self", "helper", "nurse"}, false, "who did it: self, helper or nurse; leave names out"},

	{SheetReadings, "session", "session", KindID, "", nil, true, "the session this reading belongs to"},
	{SheetReadings, "time", "time", KindTime, "", nil, true, "when you read it off, as 19:00"},
	{SheetReadings, "clock_change", "clock_change", KindChoice, "", []string{"before", "after"}, false, "only in the hour that comes twice in autumn: before or after the clocks went back"},
	{SheetReadings, "bp_systolic_mmhg", "bp_systolic", KindNumber, "mm[Hg]", nil, false, "blood pressure, the higher number"},
	{SheetReadings, "bp_diastolic_mmhg", "bp_diastolic", KindNumber, "mm[Hg]", nil, false, "blood pressure, the lower number"},
	{SheetReadings, "pulse_per_min", "pulse", KindNumber, "/min", nil, false, "pulse, beats in a minute"},
	{SheetReadings, "blood_flow_ml_min", "blood_flow", KindNumber, "mL/min", nil, false, "blood flow, in mL/min"},
	{SheetReadings, "dialysate_flow_ml_min", "dialysate_flow", KindNumber, "mL/min", nil, false, "dialysate flow, in mL/min"},
	{SheetReadings, "dialysate_flow_l_h", "dialysate_flow", KindNumber, "L/h", nil, false, "dialysate flow, in L/h, if your machine shows it so"},
	{SheetReadings, "arterial_pressure_mmhg", "arterial_line_pressure", KindNumber, "mm[Hg]", nil, false, "arterial (before the pump) pressure, with its minus"},
	{SheetReadings, "venous_pressure_mmhg", "venous_line_pressure", KindNumber, "mm[Hg]", nil, false, "venous pressure"},
	{SheetReadings, "tmp_mmhg", "transmembrane_pressure", KindNumber, "mm[Hg]", nil, false, "transmembrane pressure (TMP)"},
	{SheetReadings, "uf_rate_l_h", "uf_rate", KindNumber, "L/h", nil, false, "UF rate, in litres an hour"},
	{SheetReadings, "uf_rate_ml_h", "uf_rate", KindNumber, "mL/h", nil, false, "UF rate, in mL an hour, if your machine shows it so"},
	{SheetReadings, "uf_so_far_l", "uf_so_far", KindNumber, "L", nil, false, "fluid removed so far, in litres"},
	{SheetReadings, "conductivity_ms_cm", "dialysate_conductivity", KindNumber, "mS/cm", nil, false, "conductivity, in mS/cm"},
	{SheetReadings, "dialysate_temperature_c", "dialysate_temperature", KindNumber, "Cel", nil, false, "dialysate temperature, in °C"},
	{SheetReadings, "note", "note", KindText, "", nil, false, "anything else at this time"},

	{SheetMedicines, "session", "session", KindID, "", nil, true, "the session it was given in"},
	{SheetMedicines, "time", "time", KindTime, "", nil, true, "when it was given"},
	{SheetMedicines, "clock_change", "clock_change", KindChoice, "", []string{"before", "after"}, false, "only in the hour that comes twice in autumn: before or after the clocks went back"},
	{SheetMedicines, "medicine", "medicine", KindText, "", nil, true, "the medicine's name"},
	{SheetMedicines, "kind", "kind", KindChoice, "", []string{"anticoagulant", "ESA", "iron", "other"}, false, "anticoagulant, ESA, iron or other"},
	{SheetMedicines, "dose", "dose", KindNumber, "", nil, false, "the amount"},
	{SheetMedicines, "dose_unit", "dose_unit", KindUnit, "", nil, false, "its unit: IU, mg, microgram, mL"},
	{SheetMedicines, "rate", "rate", KindNumber, "", nil, false, "for an infusion: the amount each hour"},
	{SheetMedicines, "rate_unit", "rate_unit", KindUnit, "", nil, false, "its unit, such as IU/h"},
	{SheetMedicines, "until", "until", KindTime, "", nil, false, "for an infusion: when it ended"},
	{SheetMedicines, "route", "route", KindChoice, "", []string{"circuit", "vein", "skin", "mouth", "catheter lock"}, false, "into the circuit, into the vein, under the skin, by mouth, or left in the catheter as its lock"},
	{SheetMedicines, "code_system", "code_system", KindText, "", nil, false, "if your clinic gave a code: the name (URI) of its code list"},
	{SheetMedicines, "code", "code", KindText, "", nil, false, "if your clinic gave a code: the code"},

	{SheetLabs, "session", "session", KindID, "", nil, true, "the session the sample belongs to"},
	{SheetLabs, "drawn_date", "drawn_date", KindDate, "", nil, false, "the day it was drawn; empty means the day of the session"},
	{SheetLabs, "drawn_time", "drawn_time", KindTime, "", nil, false, "when it was drawn, if you know it"},
	{SheetLabs, "clock_change", "clock_change", KindChoice, "", []string{"before", "after"}, false, "only in the hour that comes twice in autumn: before or after the clocks went back"},
	{SheetLabs, "when", "when", KindChoice, "", []string{"before", "after", "other"}, true, "before or after dialysis, or other"},
	{SheetLabs, "test", "test", KindChoice, "", nil, true, "urea, BUN, creatinine, potassium, haemoglobin or any other, as the laboratory names it"},
	{SheetLabs, "value", "value", KindNumber, "", nil, true, "the result"},
	{SheetLabs, "unit", "unit", KindUnit, "", nil, true, "its unit, such as mmol/L or mg/dL"},
	{SheetLabs, "laboratory", "laboratory", KindText, "", nil, false, "the laboratory's name"},

	{SheetEvents, "session", "session", KindID, "", nil, true, "the session it happened in"},
	{SheetEvents, "time", "time", KindTime, "", nil, true, "when it happened"},
	{SheetEvents, "clock_change", "clock_change", KindChoice, "", []string{"before", "after"}, false, "only in the hour that comes twice in autumn: before or after the clocks went back"},
	{SheetEvents, "kind", "kind", KindChoice, "", []string{"alarm", "symptom", "access", "needles", "circuit", "water", "other"}, true, "alarm, symptom, access, needles (swapped, or blood going round between them), circuit, water or other"},
	{SheetEvents, "what", "what", KindText, "", nil, true, "what happened, in your words"},
	{SheetEvents, "alarm_number", "alarm_number", KindText, "", nil, false, "the number of the alarm, as the machine shows it"},
	{SheetEvents, "action", "action", KindText, "", nil, false, "what you did"},
}

// At is the field of a value drawn before or after dialysis; other words
// leave it as it is.
func (f Field) At(when string) Field {
	if when == "before" || when == "after" {
		return f + Field("_"+when)
	}
	return f
}
