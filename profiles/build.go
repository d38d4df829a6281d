package profiles

const (
	srcVSAC  = "NLM VSAC expansions (eCQM 2025-05-08)"
	srcR4    = "FHIR R4 4.0.1 vital-signs profiles"
	srcTable = "LOINC table core, component; name seen separately"
	srcList  = "LOINC number and name seen together in several independent public lists"
	srcLocal = "no standard code found; local code system"

	// CommonPractice is the source of what is done everywhere and published
	// nowhere.
	CommonPractice = "common practice"
	suppliesFor    = "a recall is answered by lot numbers, and nothing past its date is used"

	// computedOnly is the profile of what nobody enters.
	computedOnly Profile = ""
)

// What several rows share.
var (
	bodyWeight       = loinc("29463-7", "Body weight")
	bodyWeights      = in("kg", "g", "[lb_av]")
	bodyTemperatures = in("Cel", "[degF]")
	perMinute        = in("/min")
	litres           = in("L", "mL")
	flow             = in("mL/min", "L/h")
	ratio            = in("1")
	molar            = in("mmol/L")
	charged          = in("mmol/L", "meq/L")
	micromolar       = in("umol/L", "mmol/L")
	massConc         = in("mg/dL")
	massOfProtein    = in("g/L", "g/dL")

	// Needlings are the ways of needling.
	Needlings = in("ladder", "buttonhole", "area")
)

func in(all ...string) []string { return all }

// number is a column of numbers in one unit.
func number(name, unit, title string, part Part, filled Filled, width float64, hint string) []Column {
	return []Column{{Name: name, Unit: unit, Title: title, Part: part, Filled: filled, Width: width, Hint: hint}}
}

// cell is a column of another kind.
func cell(kind Kind, name, title string, part Part, filled Filled, width float64, hint string, choices ...string) []Column {
	return []Column{{Kind: kind, Name: name, Title: title, Part: part, Filled: filled, Width: width, Hint: hint, Choices: choices}}
}

// only is the row of a field that is nothing but a column of the same name.
func only(c []Column) Row { return Row{Field: Field(c[0].Name), Columns: c} }

// required is a column that must be in the file.
func required(c []Column) []Column {
	c[0].Required = true
	return c
}

// check is what is looked at before a treatment; sign is a sign of trouble.
func check(name, purpose, source string, also ...string) CheckKind {
	return CheckKind{Name: name, Also: also, For: purpose, Source: source}
}

func sign(name, purpose, source string, also ...string) CheckKind {
	return CheckKind{Name: name, Also: also, For: purpose, Source: source, Sign: true}
}

// coded is how a field is written in a record.
func coded(p Profile, phase Phase, text string, units []string, source string, codings ...Coding) Measurement {
	category := ProcedureC
	switch p {
	case ProfileWeight, ProfilePulse, ProfileTemperature:
		category = VitalSigns
	case ProfileLaboratory:
		category = Laboratory
	case ProfileRecoveryTime:
		category = Survey
	}
	return Measurement{Codings: codings, Text: text, Category: category, Phase: phase, Units: units, Source: source, Profile: p}
}

// ours is coded with a code of our own.
func ours(p Profile, phase Phase, text string, units []string, code, display string) Measurement {
	return coded(p, phase, text, units, srcLocal, local(code, display))
}

// named is ours with the display as text.
func named(p Profile, phase Phase, units []string, code, display string) Measurement {
	return ours(p, phase, display, units, code, display)
}

// lab is the result of a test of blood.
func lab(phase Phase, text string, units []string, source, code, display string) Measurement {
	return coded(ProfileLaboratory, phase, text, units, source, loinc(code, display))
}

// negative is a value that is normally below zero.
func negative(m Measurement) Measurement {
	m.Sign = -1
	return m
}
