package profiles

// Pressure is one row of the blood pressure table: two entered numbers that
// become one Observation with two components (FHIR R4 vital-signs profile bp).
type Pressure struct {
	Systolic, Diastolic string // fields
	Text                string
	Phase               Phase
	// Position is the position of the body, zero when the log does not say.
	Position Coding
}

// Codes of the blood pressure Observation, fixed by the R4 bp profile.
var (
	PressurePanel = loinc("85354-9", "Blood pressure panel with all children optional")
	SystolicCode  = loinc("8480-6", "Systolic blood pressure")
	DiastolicCode = loinc("8462-4", "Diastolic blood pressure")
)

var standing = Coding{SNOMED, "10904000", "Orthostatic body position (finding)"}

// Pressures returns the blood pressure table.
func Pressures() []Pressure {
	return []Pressure{
		{"bp_before_systolic", "bp_before_diastolic", "Blood pressure before dialysis", PhasePre, Coding{}},
		{"bp_before_standing_systolic", "bp_before_standing_diastolic", "Blood pressure before dialysis, standing", PhasePre, standing},
		{"bp_systolic", "bp_diastolic", "Blood pressure during dialysis", PhaseIntra, Coding{}},
		{"bp_after_systolic", "bp_after_diastolic", "Blood pressure after dialysis", PhasePost, Coding{}},
		{"bp_after_standing_systolic", "bp_after_standing_diastolic", "Blood pressure after dialysis, standing", PhasePost, standing},
	}
}
