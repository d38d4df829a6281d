package profiles

const (
	srcVSAC  = "NLM VSAC expansions (eCQM 2025-05-08)"
	srcR4    = "FHIR R4 4.0.1 vital-signs profiles"
	srcTable = "LOINC table core, component; name seen separately"
	srcList  = "LOINC number and name seen together in several independent public lists"
	srcLocal = "no standard code found; local code system"
)

var (
	bodyWeight = loinc("29463-7", "Body weight")
	litres     = []string{"L", "mL"}
	flow       = []string{"mL/min", "L/h"}
	pressure   = []string{"mm[Hg]"}
	celsius    = []string{"Cel"}
	molar      = []string{"mmol/L"}
	massConc   = []string{"mg/dL"}

	totalChlorine   = local("check-total-chlorine", "Total chlorine of the water")
	waterHardness   = local("check-water-hardness", "Hardness of the water, as calcium carbonate")
	partsPerMillion = []string{"[ppm]"}
)

// Measurements returns the code table. Rows with the same field differ in
// the units they take. The caller must not change it.
func Measurements() []Measurement { return measurements }

var measurements = []Measurement{
	{"weight_before", []Coding{bodyWeight, loinc("8347-7", "Body weight Measured --pre dialysis")}, "Body weight before dialysis", VitalSigns, PhasePre, AtMoment, []string{"kg", "g", "[lb_av]"}, 0, srcR4 + "; " + srcVSAC},
	{"weight_after", []Coding{bodyWeight, loinc("8344-4", "Body weight Measured --post dialysis")}, "Body weight after dialysis", VitalSigns, PhasePost, AtMoment, []string{"kg", "g", "[lb_av]"}, 0, srcR4 + "; " + srcVSAC},
	{"dry_weight", []Coding{loinc("8340-2", "Dry body weight Estimated")}, "Dry weight set by the clinic", ProcedureC, PhaseAny, AtMoment, []string{"kg", "[lb_av]"}, 0, "NLM VSAC 2.16.840.1.113762.1.4.1196.1352"},
	{"pulse_before", []Coding{loinc("8867-4", "Heart rate")}, "Pulse before dialysis", VitalSigns, PhasePre, AtMoment, []string{"/min"}, 0, srcR4},
	{"pulse_after", []Coding{loinc("8867-4", "Heart rate")}, "Pulse after dialysis", VitalSigns, PhasePost, AtMoment, []string{"/min"}, 0, srcR4},
	{"pulse", []Coding{loinc("8867-4", "Heart rate")}, "Pulse during dialysis", VitalSigns, PhaseIntra, AtMoment, []string{"/min"}, 0, srcR4},
	{"temperature_before", []Coding{loinc("8310-5", "Body temperature")}, "Body temperature before dialysis", VitalSigns, PhasePre, AtMoment, []string{"Cel", "[degF]"}, 0, srcR4},
	{"temperature_after", []Coding{loinc("8310-5", "Body temperature")}, "Body temperature after dialysis", VitalSigns, PhasePost, AtMoment, []string{"Cel", "[degF]"}, 0, srcR4},

	{"uf_goal", []Coding{local("uf-goal", "Ultrafiltration goal")}, "Fluid removal programmed", ProcedureC, PhaseAny, OverTreatment, litres, 0, srcLocal},
	{"uf_removed", []Coding{loinc("99741-1", "Ultrafiltrate volume removed")}, "Fluid removed by ultrafiltration", ProcedureC, PhaseAny, OverTreatment, litres, 0, "MII ICU module 2026.0.2 (HL7 Germany) profile; UZ Core haemodialysis example"},
	{"drinks", []Coding{local("oral-intake-during-dialysis", "Oral intake during dialysis")}, "Drinks and food during dialysis", ProcedureC, PhaseAny, OverTreatment, litres, 0, srcLocal},
	{"saline", []Coding{local("saline-given", "Saline given during dialysis")}, "Saline given during dialysis", ProcedureC, PhaseAny, OverTreatment, litres, 0, srcLocal},
	{"rinseback", []Coding{local("rinse-back-volume", "Rinse-back volume")}, "Rinse-back volume", ProcedureC, PhaseAny, OverTreatment, litres, 0, srcLocal},
	{"urine", []Coding{loinc("9187-6", "Urine output")}, "Urine passed during dialysis", ProcedureC, PhaseAny, OverTreatment, litres, 0, "LOINC table core; MII ICU module 2026.0.2"},
	{"dialysate_volume", []Coding{local("dialysate-volume", "Dialysate volume")}, "Dialysate used", ProcedureC, PhaseAny, OverTreatment, litres, 0, srcLocal},
	{"blood_processed", []Coding{local("blood-volume-processed", "Blood volume processed")}, "Blood volume processed", ProcedureC, PhaseAny, OverTreatment, litres, 0, srcLocal},
	{"treated_time", []Coding{local("treatment-time-delivered", "Treatment time delivered")}, "Treatment time delivered", ProcedureC, PhaseAny, OverTreatment, []string{"min", "h"}, 0, srcLocal},
	{"dialysate_sodium", []Coding{local("dialysate-sodium", "Dialysate sodium")}, "Sodium of the dialysate", ProcedureC, PhaseAny, OverTreatment, molar, 0, srcLocal},
	{"dialysate_potassium", []Coding{local("dialysate-potassium", "Dialysate potassium")}, "Potassium of the dialysate", ProcedureC, PhaseAny, OverTreatment, molar, 0, srcLocal},
	{"dialysate_calcium", []Coding{local("dialysate-calcium", "Dialysate calcium")}, "Calcium of the dialysate", ProcedureC, PhaseAny, OverTreatment, molar, 0, srcLocal},
	{"dialysate_bicarbonate", []Coding{local("dialysate-bicarbonate", "Dialysate bicarbonate")}, "Bicarbonate of the dialysate", ProcedureC, PhaseAny, OverTreatment, molar, 0, srcLocal},
	{"dialysate_lactate", []Coding{local("dialysate-lactate", "Dialysate lactate")}, "Lactate of the dialysate", ProcedureC, PhaseAny, OverTreatment, molar, 0, srcLocal},
	{"recovery_time", []Coding{local("recovery-time", "Time to recover after dialysis")}, "Time to recover after dialysis", Survey, PhasePost, AtMoment, []string{"min", "h"}, 0, srcLocal},

	{"blood_flow", []Coding{local("blood-flow-rate", "Blood flow rate")}, "Blood flow", ProcedureC, PhaseAny, AtMoment, flow, 0, srcLocal},
	{"dialysate_flow", []Coding{local("dialysate-flow-rate", "Dialysate flow rate")}, "Dialysate flow", ProcedureC, PhaseAny, AtMoment, flow, 0, srcLocal},
	{"arterial_line_pressure", []Coding{local("arterial-line-pressure", "Arterial (pre-pump) line pressure")}, "Arterial (pre-pump) line pressure", ProcedureC, PhaseIntra, AtMoment, pressure, -1, srcLocal},
	{"venous_line_pressure", []Coding{local("venous-line-pressure", "Venous (return) line pressure")}, "Venous (return) line pressure", ProcedureC, PhaseIntra, AtMoment, pressure, 0, srcLocal},
	{"transmembrane_pressure", []Coding{local("transmembrane-pressure", "Transmembrane pressure")}, "Transmembrane pressure", ProcedureC, PhaseIntra, AtMoment, pressure, 0, srcLocal},
	{"uf_rate", []Coding{local("uf-rate", "Ultrafiltration rate")}, "Ultrafiltration rate", ProcedureC, PhaseIntra, AtMoment, []string{"mL/h", "L/h"}, 0, srcLocal},
	{"uf_so_far", []Coding{local("uf-volume-so-far", "Ultrafiltration volume so far")}, "Fluid removed so far", ProcedureC, PhaseIntra, AtMoment, litres, 0, srcLocal},
	{"dialysate_conductivity", []Coding{local("dialysate-conductivity", "Dialysate conductivity")}, "Dialysate conductivity", ProcedureC, PhaseIntra, AtMoment, []string{"mS/cm"}, 0, srcLocal},
	{"dialysate_temperature", []Coding{local("dialysate-temperature", "Dialysate temperature")}, "Dialysate temperature", ProcedureC, PhaseIntra, AtMoment, celsius, 0, srcLocal},

	{"needle_problems", []Coding{local("access-problem", "Problem with needles or catheter")}, "Problem with needles or catheter", ProcedureC, PhaseAny, OverTreatment, nil, 0, srcLocal},
	{"arterial_needle_site", []Coding{local("arterial-needle-site", "Place of the arterial needle")}, "Place of the arterial needle", ProcedureC, PhaseAny, OverTreatment, nil, 0, srcLocal},
	{"venous_needle_site", []Coding{local("venous-needle-site", "Place of the venous needle")}, "Place of the venous needle", ProcedureC, PhaseAny, OverTreatment, nil, 0, srcLocal},
	{"first_try", []Coding{local("needles-first-try", "Needles in at the first try")}, "Needles in at the first try", ProcedureC, PhaseAny, OverTreatment, nil, 0, srcLocal},
	{"prescription", []Coding{local("prescription-followed", "Prescription followed, if not the usual one")}, "Prescription followed, if not the usual one", ProcedureC, PhaseAny, OverTreatment, nil, 0, srcLocal},
	{"reading_note", []Coding{local("reading-note", "Note made during dialysis")}, "Note made during dialysis", ProcedureC, PhaseIntra, AtMoment, nil, 0, srcLocal},
	{"event_alarm", []Coding{local("machine-alarm", "Machine alarm")}, "Machine alarm", ProcedureC, PhaseAny, AtMoment, nil, 0, srcLocal},
	{"alarm_number", []Coding{local("machine-alarm-number", "Number of the alarm, as the machine shows it")}, "Number of the alarm, as the machine shows it", ProcedureC, PhaseAny, AtMoment, nil, 0, srcLocal},
	{"event_symptom", []Coding{local("symptom-during-dialysis", "Symptom during dialysis")}, "Symptom during dialysis", ProcedureC, PhaseAny, AtMoment, nil, 0, srcLocal},
	{"event_access", []Coding{local("access-event", "Access event")}, "Event at the access", ProcedureC, PhaseAny, AtMoment, nil, 0, srcLocal},
	{"event_needles", []Coding{local("needle-event", "Needles swapped or recirculating")}, "Needles swapped or blood recirculating", ProcedureC, PhaseAny, AtMoment, nil, 0, srcLocal},
	{"event_circuit", []Coding{local("circuit-event", "Circuit event")}, "Event in the blood circuit", ProcedureC, PhaseAny, AtMoment, nil, 0, srcLocal},
	{"event_water", []Coding{local("water-event", "Water or dialysate event")}, "Event with water or dialysate", ProcedureC, PhaseAny, AtMoment, nil, 0, srcLocal},
	{"event_other", []Coding{local("other-event", "Other event during dialysis")}, "Other event during dialysis", ProcedureC, PhaseAny, AtMoment, nil, 0, srcLocal},

	{"check_chlorine", []Coding{totalChlorine}, totalChlorine.Display, ProcedureC, PhasePre, AtMoment, []string{"mg/L"}, 0, srcLocal},
	{"check_chlorine", []Coding{totalChlorine}, totalChlorine.Display, ProcedureC, PhasePre, AtMoment, partsPerMillion, 0, srcLocal},
	{"check_hardness", []Coding{waterHardness}, waterHardness.Display, ProcedureC, PhasePre, AtMoment, []string{"mg/L", "[gr]/[gal_us]"}, 0, srcLocal},
	{"check_hardness", []Coding{waterHardness}, waterHardness.Display, ProcedureC, PhasePre, AtMoment, partsPerMillion, 0, srcLocal},
	{"check_hardness", []Coding{waterHardness}, waterHardness.Display, ProcedureC, PhasePre, AtMoment, molar, 0, srcLocal},
	{"check_conductivity", []Coding{local("check-conductivity", "Dialysate conductivity measured apart from the machine")}, "Dialysate conductivity measured apart from the machine", ProcedureC, PhasePre, AtMoment, []string{"mS/cm"}, 0, srcLocal},
	{"check_dialysate_batch", []Coding{local("check-dialysate-batch", "Dialysate batch tested")}, "Dialysate batch tested", ProcedureC, PhasePre, AtMoment, []string{"mS/cm"}, 0, srcLocal},
	{"check_self_test", []Coding{local("check-self-test", "Machine self-test")}, "Machine self-test", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},
	{"check_disinfection", []Coding{local("check-disinfection", "Disinfection")}, "Disinfection", ProcedureC, PhaseAny, AtMoment, nil, 0, srcLocal},
	{"check_circuit", []Coding{local("check-circuit-primed", "Circuit primed and free of air")}, "Circuit primed and free of air", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},
	{"check_connections", []Coding{local("check-connections", "Connections and clamps looked over")}, "Connections and clamps looked over", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},
	{"check_redness", []Coding{local("check-access-redness", "Redness at the access")}, "Redness at the access", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},
	{"check_swelling", []Coding{local("check-access-swelling", "Swelling at the access")}, "Swelling at the access", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},
	{"check_pain", []Coding{local("check-access-pain", "Pain at the access")}, "Pain at the access", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},
	{"check_thrill", []Coding{local("check-access-thrill", "Thrill felt at the access")}, "Thrill felt at the access", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},
	{"check_needle_monitor", []Coding{local("check-needle-monitor", "Monitor for a loose needle or line in place")}, "Monitor for a loose needle or line in place", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},
	{"check_supplies", []Coding{local("check-supplies", "Supplies looked over")}, "Supplies looked over", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},
	{"check_other", []Coding{local("check-other", "Other check before dialysis")}, "Other check before dialysis", ProcedureC, PhasePre, AtMoment, nil, 0, srcLocal},

	{"urea_before", []Coding{loinc("39777-8", "Urea [Moles/volume] in Serum or Plasma --pre dialysis")}, "Urea before dialysis", Laboratory, PhasePre, AtMoment, molar, 0, srcTable},
	{"urea_before", []Coding{loinc("3091-6", "Urea [Mass/volume] in Serum or Plasma")}, "Urea before dialysis", Laboratory, PhasePre, AtMoment, massConc, 0, srcList},
	{"urea_after", []Coding{loinc("39776-0", "Urea [Moles/volume] in Serum or Plasma --post dialysis")}, "Urea after dialysis", Laboratory, PhasePost, AtMoment, molar, 0, srcTable},
	{"urea_after", []Coding{loinc("3091-6", "Urea [Mass/volume] in Serum or Plasma")}, "Urea after dialysis", Laboratory, PhasePost, AtMoment, massConc, 0, srcList},
	{"urea", []Coding{loinc("22664-7", "Urea [Moles/volume] in Serum or Plasma")}, "Urea", Laboratory, PhaseAny, AtMoment, molar, 0, srcList},
	{"urea", []Coding{loinc("3091-6", "Urea [Mass/volume] in Serum or Plasma")}, "Urea", Laboratory, PhaseAny, AtMoment, massConc, 0, srcList},
	{"bun_before", []Coding{loinc("11065-0", "Urea nitrogen [Mass/volume] in Serum or Plasma --pre dialysis")}, "Urea nitrogen before dialysis", Laboratory, PhasePre, AtMoment, massConc, 0, srcVSAC},
	{"bun_before", []Coding{loinc("14937-7", "Urea nitrogen [Moles/volume] in Serum or Plasma")}, "Urea nitrogen before dialysis", Laboratory, PhasePre, AtMoment, molar, 0, srcVSAC},
	{"bun_after", []Coding{loinc("11064-3", "Urea nitrogen [Mass/volume] in Serum or Plasma --post dialysis")}, "Urea nitrogen after dialysis", Laboratory, PhasePost, AtMoment, massConc, 0, srcVSAC},
	{"bun_after", []Coding{loinc("14937-7", "Urea nitrogen [Moles/volume] in Serum or Plasma")}, "Urea nitrogen after dialysis", Laboratory, PhasePost, AtMoment, molar, 0, srcVSAC},
	{"bun", []Coding{loinc("3094-0", "Urea nitrogen [Mass/volume] in Serum or Plasma")}, "Urea nitrogen", Laboratory, PhaseAny, AtMoment, massConc, 0, srcVSAC},
	{"bun", []Coding{loinc("14937-7", "Urea nitrogen [Moles/volume] in Serum or Plasma")}, "Urea nitrogen", Laboratory, PhaseAny, AtMoment, molar, 0, srcVSAC},
	{"creatinine_before", []Coding{loinc("11042-9", "Creatinine [Mass/volume] in Serum or Plasma --pre dialysis")}, "Creatinine before dialysis", Laboratory, PhasePre, AtMoment, massConc, 0, srcVSAC},
	{"creatinine_before", []Coding{loinc("51619-5", "Creatinine [Moles/volume] in Serum or Plasma --pre dialysis")}, "Creatinine before dialysis", Laboratory, PhasePre, AtMoment, []string{"umol/L", "mmol/L"}, 0, srcVSAC},
	{"creatinine_after", []Coding{loinc("11041-1", "Creatinine [Mass/volume] in Serum or Plasma --post dialysis")}, "Creatinine after dialysis", Laboratory, PhasePost, AtMoment, massConc, 0, srcVSAC},
	{"creatinine_after", []Coding{loinc("51620-3", "Creatinine [Moles/volume] in Serum or Plasma --post dialysis")}, "Creatinine after dialysis", Laboratory, PhasePost, AtMoment, []string{"umol/L", "mmol/L"}, 0, srcVSAC},
	{"creatinine", []Coding{loinc("2160-0", "Creatinine [Mass/volume] in Serum or Plasma")}, "Creatinine", Laboratory, PhaseAny, AtMoment, massConc, 0, srcVSAC},
	{"creatinine", []Coding{loinc("14682-9", "Creatinine [Moles/volume] in Serum or Plasma")}, "Creatinine", Laboratory, PhaseAny, AtMoment, []string{"umol/L", "mmol/L"}, 0, srcVSAC},
	{"potassium_before", []Coding{loinc("51618-7", "Potassium [Moles/volume] in Serum or Plasma --pre dialysis")}, "Potassium before dialysis", Laboratory, PhasePre, AtMoment, []string{"mmol/L", "meq/L"}, 0, srcVSAC},
	{"potassium_after", []Coding{loinc("29349-8", "Potassium [Moles/volume] in Serum or Plasma --post dialysis")}, "Potassium after dialysis", Laboratory, PhasePost, AtMoment, []string{"mmol/L", "meq/L"}, 0, srcVSAC},
	{"potassium", []Coding{loinc("2823-3", "Potassium [Moles/volume] in Serum or Plasma")}, "Potassium", Laboratory, PhaseAny, AtMoment, []string{"mmol/L", "meq/L"}, 0, srcVSAC},
	{"haemoglobin_before", []Coding{loinc("718-7", "Hemoglobin [Mass/volume] in Blood")}, "Haemoglobin before dialysis", Laboratory, PhasePre, AtMoment, []string{"g/L", "g/dL"}, 0, srcVSAC},
	{"haemoglobin_before", []Coding{loinc("59260-0", "Hemoglobin [Moles/volume] in Blood")}, "Haemoglobin before dialysis", Laboratory, PhasePre, AtMoment, molar, 0, srcVSAC},
	{"haemoglobin_after", []Coding{loinc("718-7", "Hemoglobin [Mass/volume] in Blood")}, "Haemoglobin after dialysis", Laboratory, PhasePost, AtMoment, []string{"g/L", "g/dL"}, 0, srcVSAC},
	{"haemoglobin_after", []Coding{loinc("59260-0", "Hemoglobin [Moles/volume] in Blood")}, "Haemoglobin after dialysis", Laboratory, PhasePost, AtMoment, molar, 0, srcVSAC},
	{"haemoglobin", []Coding{loinc("718-7", "Hemoglobin [Mass/volume] in Blood")}, "Haemoglobin", Laboratory, PhaseAny, AtMoment, []string{"g/L", "g/dL"}, 0, srcVSAC},
	{"haemoglobin", []Coding{loinc("59260-0", "Hemoglobin [Moles/volume] in Blood")}, "Haemoglobin", Laboratory, PhaseAny, AtMoment, molar, 0, srcVSAC},
	{"phosphate_before", []Coding{loinc("14879-1", "Phosphate [Moles/volume] in Serum or Plasma")}, "Phosphate before dialysis", Laboratory, PhasePre, AtMoment, molar, 0, srcList},
	{"phosphate_before", []Coding{loinc("2777-1", "Phosphate [Mass/volume] in Serum or Plasma")}, "Phosphate before dialysis", Laboratory, PhasePre, AtMoment, massConc, 0, srcList},
	{"phosphate_after", []Coding{loinc("55972-4", "Phosphate [Moles/volume] in Serum or Plasma --post dialysis")}, "Phosphate after dialysis", Laboratory, PhasePost, AtMoment, molar, 0, "NLM VSAC 1222.123"},
	{"phosphate_after", []Coding{loinc("48617-5", "Phosphate [Mass/volume] in Serum or Plasma --post dialysis")}, "Phosphate after dialysis", Laboratory, PhasePost, AtMoment, massConc, 0, "NLM VSAC 1222.123"},
	{"phosphate", []Coding{loinc("14879-1", "Phosphate [Moles/volume] in Serum or Plasma")}, "Phosphate", Laboratory, PhaseAny, AtMoment, molar, 0, srcList},
	{"phosphate", []Coding{loinc("2777-1", "Phosphate [Mass/volume] in Serum or Plasma")}, "Phosphate", Laboratory, PhaseAny, AtMoment, massConc, 0, srcList},
	{"bicarbonate_before", []Coding{loinc("1963-8", "Bicarbonate [Moles/volume] in Serum or Plasma")}, "Bicarbonate before dialysis", Laboratory, PhasePre, AtMoment, []string{"mmol/L", "meq/L"}, 0, srcList},
	{"bicarbonate_after", []Coding{loinc("1963-8", "Bicarbonate [Moles/volume] in Serum or Plasma")}, "Bicarbonate after dialysis", Laboratory, PhasePost, AtMoment, []string{"mmol/L", "meq/L"}, 0, srcList},
	{"bicarbonate", []Coding{loinc("1963-8", "Bicarbonate [Moles/volume] in Serum or Plasma")}, "Bicarbonate", Laboratory, PhaseAny, AtMoment, []string{"mmol/L", "meq/L"}, 0, srcList},
	{"sodium_before", []Coding{loinc("2951-2", "Sodium [Moles/volume] in Serum or Plasma")}, "Sodium before dialysis", Laboratory, PhasePre, AtMoment, []string{"mmol/L", "meq/L"}, 0, srcList},
	{"sodium_after", []Coding{loinc("2951-2", "Sodium [Moles/volume] in Serum or Plasma")}, "Sodium after dialysis", Laboratory, PhasePost, AtMoment, []string{"mmol/L", "meq/L"}, 0, srcList},
	{"sodium", []Coding{loinc("2951-2", "Sodium [Moles/volume] in Serum or Plasma")}, "Sodium", Laboratory, PhaseAny, AtMoment, []string{"mmol/L", "meq/L"}, 0, srcList},

	// Tests without codes for a phase: the row is that of any
	// time, and the category says the phase.
	{"albumin", []Coding{loinc("1751-7", "Albumin [Mass/volume] in Serum or Plasma")}, "Albumin", Laboratory, PhaseAny, AtMoment, []string{"g/L", "g/dL"}, 0, srcList},
	{"calcium", []Coding{loinc("2000-8", "Calcium [Moles/volume] in Serum or Plasma")}, "Calcium", Laboratory, PhaseAny, AtMoment, molar, 0, srcList},
	{"calcium", []Coding{loinc("17861-6", "Calcium [Mass/volume] in Serum or Plasma")}, "Calcium", Laboratory, PhaseAny, AtMoment, massConc, 0, srcList},
	{"magnesium", []Coding{loinc("2601-3", "Magnesium [Moles/volume] in Serum or Plasma")}, "Magnesium", Laboratory, PhaseAny, AtMoment, molar, 0, srcList},
	{"magnesium", []Coding{loinc("19123-9", "Magnesium [Mass/volume] in Serum or Plasma")}, "Magnesium", Laboratory, PhaseAny, AtMoment, massConc, 0, srcList},
	{"ferritin", []Coding{loinc("2276-4", "Ferritin [Mass/volume] in Serum or Plasma")}, "Ferritin", Laboratory, PhaseAny, AtMoment, []string{"ug/L", "ng/mL"}, 0, srcList},
	{"crp", []Coding{loinc("1988-5", "C reactive protein [Mass/volume] in Serum or Plasma")}, "C-reactive protein", Laboratory, PhaseAny, AtMoment, []string{"mg/L", "mg/dL"}, 0, srcList},
	{"pth", []Coding{loinc("2731-8", "Parathyrin.intact [Mass/volume] in Serum or Plasma")}, "Parathyroid hormone, intact", Laboratory, PhaseAny, AtMoment, []string{"pg/mL", "ng/L"}, 0, srcList},
	{"pth", []Coding{loinc("14866-8", "Parathyrin.intact [Moles/volume] in Serum or Plasma")}, "Parathyroid hormone, intact", Laboratory, PhaseAny, AtMoment, []string{"pmol/L"}, 0, srcList},
	{"beta2-microglobulin", []Coding{loinc("1952-1", "Beta-2-Microglobulin [Mass/volume] in Serum or Plasma")}, "β2-microglobulin", Laboratory, PhaseAny, AtMoment, []string{"mg/L", "ug/mL"}, 0, srcList},

	{"uf_rate_per_kg", []Coding{local("uf-rate-per-kg", "Ultrafiltration rate per kg body weight")}, "Ultrafiltration rate per kg body weight, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"mL/kg/h"}, 0, srcLocal},
	{"uf_expected", []Coding{local("uf-expected-from-weights", "Fluid removal expected from weights")}, "Fluid removal that the weights and fluids given account for, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"L"}, 0, srcLocal},
	{"uf_discrepancy", []Coding{local("uf-discrepancy", "Fluid removal not accounted for")}, "Fluid removed less fluid removal expected from weights, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"L"}, 0, srcLocal},
	{"interdialytic_weight_gain", []Coding{local("interdialytic-weight-gain", "Interdialytic weight gain")}, "Interdialytic weight gain, calculated", ProcedureC, PhasePre, AtMoment, []string{"kg"}, 0, srcLocal},
	{"interdialytic_weight_gain_percent", []Coding{local("interdialytic-weight-gain-percent", "Interdialytic weight gain in percent of the previous post-dialysis weight")}, "Interdialytic weight gain in percent, calculated", ProcedureC, PhasePre, AtMoment, []string{"%"}, 0, srcLocal},
	{"target_miss", []Coding{local("target-weight-difference", "Post-dialysis weight less dry weight")}, "Post-dialysis weight less dry weight, calculated", ProcedureC, PhasePost, AtMoment, []string{"kg"}, 0, srcLocal},
	{"total_body_water", []Coding{local("total-body-water-watson", "Total body water (Watson)")}, "Total body water, calculated (Watson)", ProcedureC, PhasePost, AtMoment, []string{"L"}, 0, srcLocal},
	{"total_body_water", []Coding{local("total-body-water", "Total body water")}, "Total body water, calculated", ProcedureC, PhasePost, AtMoment, []string{"L"}, 0, srcLocal},
	{"dialysate_saturation", []Coding{local("dialysate-saturation", "Dialysate saturation with urea, estimated")}, "Dialysate saturation with urea, estimated from flows and KoA", ProcedureC, PhaseAny, OverTreatment, []string{"1"}, 0, srcLocal},
	{"dialysate_kt_v", []Coding{local("dialysate-side-kt-v", "Kt/V estimated from the dialysate side")}, "Kt/V estimated from the dialysate side, calculated; not a blood-side spKt/V", ProcedureC, PhaseAny, OverTreatment, []string{"1"}, 0, srcLocal},
	{"urea_reduction_ratio", []Coding{loinc("54456-9", "Urea reduction ratio in Serum or Plasma")}, "Urea reduction ratio, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"%"}, 0, "NLM VSAC 2.16.840.1.113762.1.4.1222.819"},
	{"sp_kt_v", []Coding{loinc("70965-9", "Kt/V.Hemodialysis [Daugirdas II]")}, "Single-pool Kt/V (Daugirdas, second generation), calculated", ProcedureC, PhaseAny, OverTreatment, []string{"1"}, 0, "NLM VSAC 2.16.840.1.113762.1.4.1222.128"},
	{"sp_kt_v_interval", []Coding{local("spkt-v-interval-factor", "Single-pool Kt/V with the generation factor of the interval")}, "Single-pool Kt/V (generation factor of the preceding interval), calculated", ProcedureC, PhaseAny, OverTreatment, []string{"1"}, 0, srcLocal + "; LOINC 70965-9 is of the formula of 1993 with its own factor"},
	{"e_kt_v", []Coding{local("ekt-v", "Equilibrated Kt/V")}, "Equilibrated Kt/V, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"1"}, 0, srcLocal},
	{"std_kt_v_weekly", []Coding{local("std-kt-v-weekly", "Weekly standard Kt/V")}, "Weekly standard Kt/V, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"1"}, 0, srcLocal},
	{"sessions_done", []Coding{local("sessions-done", "Sessions done in the week")}, "Dialysis sessions done in the week, counted", ProcedureC, PhaseAny, OverTreatment, []string{"/wk"}, 0, srcLocal},
	{"sessions_planned", []Coding{local("sessions-planned", "Sessions planned for the week")}, "Dialysis sessions planned for the week, by the prescription", ProcedureC, PhaseAny, OverTreatment, []string{"/wk"}, 0, srcLocal},
	{"hours_done", []Coding{local("hours-done", "Hours treated in the week")}, "Hours of dialysis in the week, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"h"}, 0, srcLocal},
	{"uf_done", []Coding{local("uf-done", "Fluid removed in the week")}, "Fluid removed by ultrafiltration in the week, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"L"}, 0, srcLocal},
	{"ekr", []Coding{local("ekr", "Equivalent renal urea clearance")}, "Equivalent renal urea clearance, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"mL/min"}, 0, srcLocal},
	{"time_averaged_urea_plasma", []Coding{local("time-averaged-urea", "Time-averaged urea")}, "Time-averaged urea in plasma, calculated by the urea model", ProcedureC, PhaseAny, OverTreatment, molar, 0, srcLocal},
	{"npcr", []Coding{loinc("70959-2", "Protein catabolic rate adjusted for body weight based on Serum or Plasma [Calculated]")}, "Normalised protein catabolic rate, calculated", ProcedureC, PhaseAny, OverTreatment, []string{"g/kg/d"}, 0, "NLM VSAC 2.16.840.1.113762.1.4.1267.13; LOINC table core"},
}
