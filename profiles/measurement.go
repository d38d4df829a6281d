package profiles

import "slices"

// Coding is one code in one system with its official display.
type Coding struct{ System, Code, Display string }

// Haemodialysis and TherapeuticProcedure are code and category of a session
// (SNOMED CT, Global Patient Set).
var (
	Haemodialysis        = Coding{SNOMED, "302497006", "Hemodialysis (procedure)"}
	TherapeuticProcedure = Coding{SNOMED, "277132007", "Therapeutic procedure (procedure)"}
)

// Phase is the time of a value: before, during or after dialysis.
type Phase uint8

// The phases. PhaseAny means that the time decides.
const (
	PhaseAny Phase = iota
	PhasePre
	PhaseIntra
	PhasePost
)

// Coding returns the SNOMED CT qualifier of the phase, written as a second
// category (all three are in the Global Patient Set).
func (p Phase) Coding() (Coding, bool) {
	switch p {
	case PhasePre:
		return Coding{SNOMED, "115499008", "Pre-dialysis (qualifier value)"}, true
	case PhaseIntra:
		return Coding{SNOMED, "307154001", "During procedure (qualifier value)"}, true
	case PhasePost:
		return Coding{SNOMED, "115500004", "Post-dialysis (qualifier value)"}, true
	default:
		return Coding{}, false
	}
}

// Category is the FHIR observation-category code of a measurement.
type Category string

// The categories in use. Circuit pressures and everything read off the
// machine are "procedure", never "vital-signs"; "laboratory" is kept for
// results a laboratory issued.
const (
	VitalSigns Category = "vital-signs"
	ProcedureC Category = "procedure"
	Laboratory Category = "laboratory"
	Survey     Category = "survey"
)

// Display returns the category's official display.
func (c Category) Display() string {
	switch c {
	case VitalSigns:
		return "Vital Signs"
	case Laboratory:
		return "Laboratory"
	case Survey:
		return "Survey"
	default:
		return "Procedure"
	}
}

// Measurement is one row of the code table.
type Measurement struct {
	// Field is the name shared by the log, the computations and this table.
	Field string
	// Codings are the codes, the principal one first.
	Codings []Coding
	// Text is the CodeableConcept.text.
	Text     string
	Category Category
	Phase    Phase
	// Units are the UCUM codes the value may be written in, the preferred
	// one first; empty for a value that is no quantity.
	Units []string
	// Sign is -1 where the value is normally negative, else 0.
	Sign int8
	// Source says where code and meaning were seen together.
	Source string
	// Profile is that of an Observation whose value a person entered, "" for
	// a row that is only ever computed. A computed value has [ProfileComputed]
	// whatever its row.
	Profile Profile
}

// Principal is the code a receiver should search by.
func (m Measurement) Principal() Coding { return m.Codings[0] }

// Of returns the row for a field written in a unit. Where a quantity has
// different codes for mass and for substance concentration, the unit decides.
// An empty unit takes the first row of the field.
func Of(field, unit string) (Measurement, bool) {
	for _, m := range Measurements() {
		if m.Field == field && (unit == "" || slices.Contains(m.Units, unit)) {
			return m, true
		}
	}
	return Measurement{}, false
}

// codedApart are methods whose value does not take the code of its quantity:
// LOINC 70965-9 names the formula of 1993 with its own generation factor.
var codedApart = map[string]string{
	"spktv-daugirdas2-gfac":        "sp_kt_v_interval",
	"spktv-daugirdas2-gfac-volume": "sp_kt_v_interval",
}

// CodedAs returns the field whose code a computed value takes, from the
// identity and the key of its method.
func CodedAs(method, key string) string {
	if field, apart := codedApart[method]; apart {
		return field
	}
	return key
}

// ByCode returns the rows that carry a code, in table order.
func ByCode(system, code string) []Measurement {
	var rows []Measurement
	for _, m := range Measurements() {
		if slices.ContainsFunc(m.Codings, func(c Coding) bool { return c.System == system && c.Code == code }) {
			rows = append(rows, m)
		}
	}
	return rows
}

func local(code, display string) Coding { return Coding{Local, code, display} }
func loinc(code, display string) Coding { return Coding{LOINC, code, display} }
