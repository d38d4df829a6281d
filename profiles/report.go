package profiles

import "strings"

// VisitReport is the page for a clinic visit. Local, since no LOINC code for
// it could be confirmed.
var VisitReport = local("visit-report", "Home haemodialysis report for the visit")

// OtherService is the category of a report that is of none of the diagnostic
// services of HL7 table 0074 (hl7.fhir.r4.examples 4.0.1).
var OtherService = Coding{DiagnosticService, "OTH", "Other"}

// Components of a summary (hl7.fhir.r4.examples 4.0.1, observation-statistics).
// TotalCount also counts sessions without the value.
var (
	Median     = Coding{Statistics, "median", "Median"}
	Minimum    = Coding{Statistics, "minimum", "Minimum"}
	Maximum    = Coding{Statistics, "maximum", "Maximum"}
	Count      = Coding{Statistics, "count", "Count"}
	TotalCount = Coding{Statistics, "total-count", "Total Count"}
)

// Summary is a measure that a report for a visit sums up over some days. Its
// code is its own, so that nobody takes a median for a measured value.
type Summary struct {
	Key    string
	Coding Coding
}

// summaries are the measures in the order of a report.
var summaries = summed(
	"treated_time", "Time treated",
	"weight_after", "Weight after dialysis",
	"target_miss", "Weight after dialysis less dry weight",
	"interdialytic_weight_gain", "Weight gain between sessions",
	"uf_removed", "Fluid removed",
	"uf_rate_per_kg", "UF rate per weight",
	"bp_before_systolic", "Systolic blood pressure before dialysis",
	"bp_before_diastolic", "Diastolic blood pressure before dialysis",
	"lowest_systolic", "Lowest systolic blood pressure during dialysis",
	"venous_line_pressure", "Venous line pressure at the set blood flow",
	"arterial_line_pressure", "Arterial line pressure at the set blood flow",
	"recovery_time", "Time to recover after dialysis",
	"dialysate_kt_v", "Kt/V of a session from dialysate",
	"std_kt_v_weekly", "Weekly standard Kt/V by the urea model",
)

// summed makes summaries of keys, each followed by its name.
func summed(words ...string) []Summary {
	var out []Summary
	for i := 0; i < len(words); i += 2 {
		code := "summary-" + strings.ReplaceAll(words[i], "_", "-")
		out = append(out, Summary{words[i], local(code, words[i+1]+": median, least and greatest")})
	}
	return out
}

// Attendance is the number of sessions of some days, by how they went; its
// components are AttendanceCounts, in this order.
var (
	Attendance       = local("attendance", "Sessions of these days, counted")
	AttendanceCounts = [...]Coding{
		local("sessions-done", "Sessions done, those cut short included"), local("sessions-cut-short", "Sessions cut short"),
		local("sessions-not-done", "Sessions not done"), local("sessions-held-back", "Sessions held back because of mistakes in the log"),
	}
)

// Reporting lists the local codes of a report for a visit.
func Reporting() []Coding {
	return append(append([]Coding{VisitReport, Attendance}, AttendanceCounts[:]...), SummaryCodings()...)
}

// SummaryCodings lists the codes of the summaries.
func SummaryCodings() []Coding {
	var out []Coding
	for _, s := range summaries {
		out = append(out, s.Coding)
	}
	return out
}

// SummaryOf returns the summary of a key.
func SummaryOf(key string) (Summary, bool) {
	for _, s := range summaries {
		if s.Key == key {
			return s, true
		}
	}
	return Summary{}, false
}
