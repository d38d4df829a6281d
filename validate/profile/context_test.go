package profile_test

import (
	"strings"
	"testing"

	"runsheet.example/validate/profile"
)

// extensionIn is an extension "x" with the contexts and further members.
func extensionIn(more string, contexts ...string) string {
	var all []string
	for _, c := range contexts {
		kind, expression, _ := strings.Cut(c, " ")
		all = append(all, `{"type":"`+kind+`","expression":"`+expression+`"}`)
	}
	text := definition("x", "Extension", el("Extension.url", "", 1, "1", `"fixedUri":"`+guide+`x",`))
	return strings.Replace(text, `"snapshot"`, `"context":[`+strings.Join(all, ",")+`],`+more+`"snapshot"`, 1)
}

// Contexts by FHIRPath and by the elements of a profile, and the rules about
// when an extension can be used (FHIR R4 4.0.1, StructureDefinition.context and
// .contextInvariant).
func TestExtensionContexts(t *testing.T) {
	x := `"extension":[{"url":"` + guide + `x"}]`
	coded := `"code":{"coding":[` + strings.TrimSuffix(loinc("1-8"), "}") + `,` + x + `}]}`
	quantified := codeText + `,"valueQuantity":{"value":1,"unit":"kg",` + x + `}`
	withMethod := definition("m", "Observation", el("Observation.method", "", 1, "1", ""))
	for _, tc := range []struct {
		name, extension, resource, want string
	}{
		{"selected", extensionIn("", "fhirpath Observation.code.coding"), observation(coded), ""},
		{"one of two contexts selects it", extensionIn("", "fhirpath Observation.method.coding", "fhirpath Observation.code.coding"), observation(coded), ""},
		{"not selected", extensionIn("", "fhirpath Observation.method.coding"), observation(coded), "ext-context may not stand in coding (Coding)"},
		{"of the type asked for", extensionIn("", "fhirpath Observation.value.ofType(Quantity)"), observation(quantified), ""},
		{"of another type", extensionIn("", "fhirpath Observation.value.ofType(Range)"), observation(quantified), "ext-context may not stand in value (Quantity)"},
		{"only some of the elements", extensionIn("", "fhirpath code.coding.where(system = 'urn:x')"), observation(coded), "ext-context may not stand"},
		{"on a primitive", extensionIn("", "fhirpath Observation.status"), observation(codeText + `,"_status":{` + x + `}`), ""},
		{"on a primitive of a list", extensionIn("", "fhirpath Patient.name.given"), `{"resourceType":"Patient","name":[{"given":["A","B"],"_given":[null,{` + x + `}]}]}`, ""},
		{"on another primitive", extensionIn("", "fhirpath Observation.issued"), observation(codeText + `,"_status":{` + x + `}`), "ext-context may not stand"},
		{"in a contained resource", extensionIn("", "fhirpath Patient.name"), observation(codeText + `,"contained":[{"resourceType":"Patient","id":"p","name":[{"text":"n",` + x + `}]}],"subject":{"reference":"#p"}`), ""},
		{"true of the element", extensionIn("", "fhirpath coding.exists()"), observation(`"code":{"coding":[` + loinc("1-8") + `],` + x + `}`), ""},
		{"false of the element", extensionIn("", "fhirpath coding.exists()"), observation(`"code":{"text":"x",` + x + `}`), "ext-context may not stand"},
		{"an expression beyond us", extensionIn("", "fhirpath now() > today()"), observation(coded), "profile-not-evaluated where the extension x may stand: now() > today()"},
		{"an expression that fails", extensionIn("", "fhirpath code.coding.code + 1"), observation(coded), "profile-not-evaluated where the extension x may stand"},

		{"element of a profile", extensionIn("", "element "+guide+"m#Observation.code"), observation(`"method":{"text":"m"},"code":{"text":"x",` + x + `}`), ""},
		{"element of a profile that is not met", extensionIn("", "element "+guide+"m#Observation.code"), observation(`"code":{"text":"x",` + x + `}`), "ext-context may not stand"},
		{"another element of a profile", extensionIn("", "element "+guide+"m#Observation.code"), observation(`"method":{"text":"m",` + x + `},"code":{"text":"x"}`), "ext-context may not stand"},
		{"element of a profile nobody knows", extensionIn("", "element "+guide+"none#Observation.code"), observation(`"code":{"text":"x",` + x + `}`), "profile-unknown " + guide + "none"},
		{"slice of a profile", extensionIn("", "element "+guide+"m#Observation.code.coding:loinc"), observation(`"method":{"text":"m"},` + coded), ""},

		{"rule met", extensionIn(`"contextInvariant":["unit = 'kg'"],`, "element Quantity"), observation(quantified), ""},
		{"rule not met", extensionIn(`"contextInvariant":["unit = 'g'"],`, "element Quantity"), observation(quantified), "ext-context may only be used where unit = 'g'"},
		{"rule without a result", extensionIn(`"contextInvariant":["code = 'g'"],`, "element Quantity"), observation(quantified), "ext-context may only be used where code = 'g'"},
		{"second rule not met", extensionIn(`"contextInvariant":["unit = 'kg'","value > 1"],`, "element Quantity"), observation(quantified), "ext-context may only be used where value > 1"},
		{"rule about the extension", extensionIn(`"contextInvariant":["%extension.url.endsWith('x') and %extension.value.empty()"],`, "element Quantity"), observation(quantified), ""},
		{"rule about a primitive", extensionIn(`"contextInvariant":["$this = 'final'"],`, "element Observation.status"), observation(codeText + `,"_status":{` + x + `}`), ""},
		{"rule beyond us", extensionIn(`"contextInvariant":["today() > now()"],`, "element Quantity"), observation(quantified), "profile-not-evaluated when the extension x may be used: today() > now()"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			found := checked([]byte(tc.resource), profile.New(library(t, tc.extension, withIDs(withMethod)), profile.Options{}))
			var got []string
			for _, f := range found {
				got = append(got, f.Rule+" "+f.Details.String())
			}
			rule, part, _ := strings.Cut(tc.want, " ")
			if tc.want == "" && got != nil || tc.want != "" && (len(got) != 1 || !strings.HasPrefix(got[0], rule+" ") || !strings.Contains(got[0], part)) {
				t.Errorf("got %q, want %q", got, tc.want)
			}
		})
	}
}

// The rules that HL7's own extensions of R4 have about when they can be used.
func TestContextRulesOfR4(t *testing.T) {
	const core = "http://hl7.org/fhir/StructureDefinition/"
	item := func(members, name, value string) string {
		return `{"resourceType":"Questionnaire","status":"draft","item":[{"linkId":"1",` + members + `,"extension":[{"url":"` + core + name + `",` + value + `}]}]}`
	}
	unit := `"valueCoding":{"code":"kg","system":"http://unitsofmeasure.org"}`
	changes := func(mode string) string {
		return `{"resourceType":"List","status":"current","mode":"` + mode + `","extension":[{"url":"` + core + `list-changeBase","valueReference":{"reference":"List/1"}}]}`
	}
	orientation := `"valueCode":"horizontal"`
	for _, tc := range []struct {
		name, resource string
		broken         bool
	}{
		{"list-changeBase", changes("changes"), false},
		{"list-changeBase", changes("working"), true},
		{"choiceOrientation", item(`"type":"open-choice"`, "questionnaire-choiceOrientation", orientation), false},
		{"choiceOrientation", item(`"type":"string"`, "questionnaire-choiceOrientation", orientation), true},
		{"fhirType", item(`"type":"display"`, "questionnaire-fhirType", `"valueString":"Age"`), true},
		{"sliderStepValue", item(`"type":"integer"`, "questionnaire-sliderStepValue", `"valueInteger":2`), false},
		{"sliderStepValue", item(`"type":"decimal"`, "questionnaire-sliderStepValue", `"valueInteger":2`), true},
		{"unit", item(`"type":"decimal"`, "questionnaire-unit", unit), false},
		{"unit", item(`"type":"quantity"`, "questionnaire-unit", unit), true},
		{"unitOption", item(`"type":"quantity"`, "questionnaire-unitOption", unit), false},
		{"unitOption", item(`"type":"decimal"`, "questionnaire-unitOption", unit), true},
		{"referenceResource", item(`"type":"reference"`, "questionnaire-referenceResource", `"valueCode":"Patient"`), false},
		{"referenceResource", item(`"type":"string"`, "questionnaire-referenceResource", `"valueCode":"Patient"`), true},
		{"minOccurs", item(`"type":"string","required":true`, "questionnaire-minOccurs", `"valueInteger":2`), false},
		{"minOccurs 0, not required", item(`"type":"string"`, "questionnaire-minOccurs", `"valueInteger":0`), false},
		{"minOccurs", item(`"type":"string"`, "questionnaire-minOccurs", `"valueInteger":2`), true},
		{"maxOccurs", item(`"type":"string","repeats":true`, "questionnaire-maxOccurs", `"valueInteger":3`), false},
		{"maxOccurs 1, not repeating", item(`"type":"string"`, "questionnaire-maxOccurs", `"valueInteger":1`), false},
		{"maxOccurs", item(`"type":"string"`, "questionnaire-maxOccurs", `"valueInteger":3`), true},
	} {
		found := checked([]byte(tc.resource), profile.New(profile.NewLibrary(), profile.Options{}))
		if broken := len(found) == 1 && found[0].Rule == "ext-context"; broken != tc.broken || !broken && len(found) > 0 {
			t.Errorf("%s, broken %v: %+v", tc.name, tc.broken, found)
		}
	}
}
