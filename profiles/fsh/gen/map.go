package main

import (
	"fmt"
	"strings"

	"runsheet.example/profiles"
)

// near is a standard code that comes near a local one without being it. The
// comment says what keeps them apart.
type near struct {
	target      profiles.Coding
	equivalence string
	comment     string
}

// nearLOINC and nearSNOMED hold only codes whose number and meaning were seen
// together in an authoritative list, and of SNOMED CT only the Global Patient
// Set. None is equivalent: an equivalent code would be sent in place of the
// local one.
var (
	nearLOINC = map[string]near{
		"treatment-time-delivered": {profiles.Coding{System: profiles.LOINC, Code: "70956-8", Display: "Minutes of hemodialysis completed when BUN drawn [ESRD]"},
			"narrower", "only for a session at which urea nitrogen was drawn (NLM VSAC 1267.13; LOINC status trial)"},
		"input-sessions-per-week": {profiles.Coding{System: profiles.LOINC, Code: "68448-0", Display: "Dialysis sessions per week"},
			"relatedto", "a survey item, not an input of a formula (NLM VSAC; LOINC status trial)"},
		"residual-urea-clearance": {profiles.Coding{System: profiles.LOINC, Code: "71339-6", Display: "Urea renal clearance/1.73 sq M--hemodialysis Urine and Serum or Plasma [ESRD]"},
			"inexact", "normalised to 1.73 m2 of body surface; the local code is not (NLM VSAC 1267.13)"},
		"total-body-water-watson": {profiles.Coding{System: profiles.LOINC, Code: "101683-1", Display: "Body water mass"},
			"inexact", "a mass in kg by any method; the local code is a volume in L by one formula"},
	}
	nearSNOMED = map[string]near{
		"symptom-during-dialysis": {profiles.Coding{System: profiles.SNOMED, Code: "33603003", Display: "Complication of renal dialysis (disorder)"},
			"relatedto", "a symptom the person noticed may or may not be a complication"},
	}
)

func conceptMap() string {
	var b strings.Builder
	b.WriteString(`Instance: runsheet-codes-to-standard
InstanceOf: ConceptMap
Usage: #definition
Title: "Local codes to LOINC and SNOMED CT"
Description: "What comes near each local code in the standard code systems, and what keeps them apart."
* url = "https://runsheet.example/fhir/ConceptMap/runsheet-codes-to-standard"
* version = "0.1.0"
* name = "RunsheetCodesToStandard"
* title = "Local codes to LOINC and SNOMED CT"
* status = #active
* experimental = false
* date = "2026-11-25"
* publisher = "Runsheet"
* description = "What comes near each local code in the standard code systems, and what keeps them apart. Unmatched: none was found whose number and meaning were seen together. Not searched in, because the tables may not be copied or their numbers contradict each other: ISO/IEEE 11073-10101, and SNOMED CT outside the Global Patient Set."
`)
	fmt.Fprintf(&b, "* copyright = %s\n", fsh(loincNotice+" SNOMED CT Global Patient Set, CC BY 4.0."))
	mapGroup(&b, 0, profiles.LOINC, nearLOINC)
	mapGroup(&b, 1, profiles.SNOMED, nearSNOMED)
	return b.String()
}

// emptyMap lists every code that a receiver may map to its own.
func emptyMap() string {
	var b strings.Builder
	fmt.Fprintf(&b, `
Instance: %[1]s
InstanceOf: ConceptMap
Usage: #definition
Title: "Map to fill in: our codes to the receiver's"
Description: "Every LOINC and local code that a record can hold as the code of a measurement."
* url = "https://runsheet.example/fhir/ConceptMap/%[1]s"
* version = "0.1.0"
* name = "RunsheetCodesToReceiver"
* title = "Map to fill in: our codes to the receiver's"
* status = #draft
* experimental = false
* date = "2026-11-29"
* publisher = "Runsheet"
* description = "Every LOINC and local code that a record can hold as the code of a measurement. To fill it in, state the receiver's code system as target of the group and, for each code that has one, the receiver's code and display with the equivalence equivalent. A code that stays unmatched is sent as it is. A comment is the UCUM unit of the value."
`, profiles.EmptyMap)
	fmt.Fprintf(&b, "* copyright = %s\n", fsh(loincNotice))
	for group, system := range []string{profiles.Local, profiles.LOINC} {
		fmt.Fprintf(&b, "* group[%d].source = %q\n", group, system)
		if system == profiles.Local {
			fmt.Fprintf(&b, "* group[%d].sourceVersion = %q\n", group, profiles.LocalVersion)
		}
		at := fmt.Sprintf("* group[%d].element[=]", group)
		for _, c := range profiles.MappedCodes() {
			if c.System != system {
				continue
			}
			fmt.Fprintf(&b, "* group[%d].element[+].code = #%s\n%s.display = %s\n%s.target[0].equivalence = #unmatched\n", group, c.Code, at, fsh(c.Display), at)
			if len(c.Units) > 0 {
				fmt.Fprintf(&b, "%s.target[0].comment = %s\n", at, fsh(strings.Join(c.Units, " ")))
			}
		}
	}
	return b.String()
}

func mapGroup(b *strings.Builder, group int, target string, nearest map[string]near) {
	fmt.Fprintf(b, "* group[%d].source = %q\n* group[%d].sourceVersion = %q\n* group[%d].target = %q\n",
		group, profiles.Local, group, profiles.LocalVersion, group, target)
	at := fmt.Sprintf("* group[%d].element[=]", group) // not numbered, so that a new code changes no other line
	for _, c := range localConcepts() {
		fmt.Fprintf(b, "* group[%d].element[+].code = #%s\n%s.display = %s\n", group, c.coding.Code, at, fsh(c.coding.Display))
		found, ok := nearest[c.coding.Code]
		if !ok {
			fmt.Fprintf(b, "%s.target[0].equivalence = #unmatched\n", at)
			continue
		}
		fmt.Fprintf(b, "%s.target[0].code = #%s\n%s.target[0].display = %s\n%s.target[0].equivalence = #%s\n%s.target[0].comment = %s\n",
			at, found.target.Code, at, fsh(found.target.Display), at, found.equivalence, at, fsh(found.comment))
	}
}
