package check

import (
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// names are the fields in the words of the person who fills in the log.
var names = map[session.Field]string{
	"weight_before":                "weight before",
	"weight_after":                 "weight after",
	"dry_weight":                   "dry weight",
	"height":                       "height",
	"bp_systolic":                  "higher blood pressure number",
	"bp_diastolic":                 "lower blood pressure number",
	"bp_before_systolic":           "higher blood pressure number before",
	"bp_before_diastolic":          "lower blood pressure number before",
	"bp_before_standing_systolic":  "higher standing blood pressure number before",
	"bp_before_standing_diastolic": "lower standing blood pressure number before",
	"bp_after_systolic":            "higher blood pressure number after",
	"bp_after_diastolic":           "lower blood pressure number after",
	"bp_after_standing_systolic":   "higher standing blood pressure number after",
	"bp_after_standing_diastolic":  "lower standing blood pressure number after",
	"pulse":                        "pulse",
	"pulse_before":                 "pulse before",
	"pulse_after":                  "pulse after",
	"temperature_before":           "body temperature before",
	"temperature_after":            "body temperature after",
	"uf_goal":                      "fluid to remove",
	"uf_removed":                   "fluid removed",
	"uf_so_far":                    "fluid removed so far",
	"uf_rate":                      "UF rate",
	"drinks":                       "drinks",
	"saline":                       "saline",
	"rinseback":                    "rinse-back",
	"urine":                        "urine",
	"dialysate_volume":             "dialysate used",
	"dialysate_flow":               "dialysate flow",
	"blood_flow":                   "blood flow",
	"blood_processed":              "blood processed",
	"treated_time":                 "treatment time",
	"session_duration":             "planned treatment time",
	"dialysate_sodium":             "sodium of the dialysate",
	"dialysate_potassium":          "potassium of the dialysate",
	"dialysate_calcium":            "calcium of the dialysate",
	"dialysate_bicarbonate":        "bicarbonate of the dialysate",
	"dialysate_lactate":            "lactate of the dialysate",
	"check_chlorine":               "total chlorine of the water",
	"check_hardness":               "hardness of the water",
	"check_conductivity":           "conductivity measured apart",
	"check_dialysate_batch":        "conductivity of the batch",
	"recovery_time":                "time to recover",
	"arterial_line_pressure":       "arterial pressure",
	"venous_line_pressure":         "venous pressure",
	"transmembrane_pressure":       "TMP",
	"dialysate_conductivity":       "conductivity",
	"dialysate_temperature":        "dialysate temperature",
	"urea":                         "urea",
	"bun":                          "BUN",
	"creatinine":                   "creatinine",
	"albumin":                      "albumin",
	"calcium":                      "calcium",
	"magnesium":                    "magnesium",
	"ferritin":                     "ferritin",
	"crp":                          "CRP",
	"pth":                          "parathyroid hormone",
	"beta2-microglobulin":          "β2-microglobulin",
	"potassium":                    "potassium",
	"haemoglobin":                  "haemoglobin",
	"phosphate":                    "phosphate",
	"bicarbonate":                  "bicarbonate",
	"sodium":                       "sodium",
	"dialyser_koa":                 "KoA of the dialyser",
	"residual_urea_clearance":      "urea clearance of your own kidneys",
	"sessions_per_week":            "sessions a week",
	"uf_limit":                     "limit of the UF rate",
	"dose":                         "dose",
	"rate":                         "rate of the infusion",
}

// name is a field in plain words.
func name(f session.Field) issue.Text {
	if n, ok := names[f]; ok {
		return issue.T(n)
	}
	return issue.Literal(string(f))
}
