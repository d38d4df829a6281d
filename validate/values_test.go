package validate_test

import (
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

func TestUnitRules(t *testing.T) {
	runAll(t, []broken{
		{rule: "unit-not-ucum", entry: arterialPressure, old: `"code": "mm[Hg]"`, new: `"code": "mmHg"`,
			expression: "Bundle.entry[21].resource.value.code", mark: `"code": "mmHg"`},
		{rule: "unit-dimension", entry: arterialPressure, old: `"code": "mm[Hg]"`, new: `"code": "L"`,
			expression: "Bundle.entry[21].resource.value.code", mark: `"code": "L"`},
		{rule: "unit-other", entry: arterialPressure, old: `"code": "mm[Hg]"`, new: `"code": "kPa"`,
			expression: "Bundle.entry[21].resource.value.code", mark: `"code": "kPa"`, also: []string{"clin-record-impossible"}},
		{rule: "unit-text", entry: ufRemoved, old: `"unit": "L"`, new: `"unit": "mL"`,
			expression: "Bundle.entry[8].resource.value.unit", mark: `"unit": "mL"`},
		{rule: "unit-missing", entry: conductivity, old: "\"system\": \"http://unitsofmeasure.org\",\n     \"code\": \"mS/cm\"", new: `"id": "x"`,
			expression: "Bundle.entry[23].resource.value", mark: `"valueQuantity"`},
		{rule: "unit-valid-but-suspicious", entry: conductivity, old: `"code": "mS/cm"`, new: `"code": "ms/cm"`,
			expression: "Bundle.entry[23].resource.value.code", mark: `"code": "ms/cm"`, also: []string{"unit-dimension", "unit-text"}},
		{rule: "unit-valid-but-suspicious", entry: heparin, old: `"code": "[iU]"`, new: `"code": "U"`,
			expression: "Bundle.entry[35].resource.dosage.dose.code", mark: `"code": "U"`},
		{rule: "unit-dimension", entry: ureaBefore, old: `"code": "mmol/L"`, new: `"code": "mg/dL"`,
			expression: "Bundle.entry[26].resource.value.code", mark: `"code": "mg/dL"`,
			also: []string{"unit-text", "calc-value-differs", "calc-not-computable", "clin-record-urea-units", "clin-record-urea-rise"}},
		{rule: "unit-other", entry: spKtV, old: `"code": "d"`, new: `"code": "wk"`,
			expression: "Bundle.entry[33].resource.component[0].value.code", mark: `"code": "wk"`, also: []string{"calc-value-differs"}},
	})
}

// spKtVCode is the coding of single-pool Kt/V in the document.
const spKtVCode = "\"system\": \"urn:oid:2.25.335990940244883323309943966314996822642\",\n       \"code\": \"spkt-v-interval-factor\",\n       \"display\": \"Single-pool Kt/V with the generation factor of the interval\""

func TestTermRules(t *testing.T) {
	runAll(t, []broken{
		{rule: "term-display", entry: pulseBefore, old: `"display": "Heart rate"`, new: `"display": "Pulse"`,
			expression: "Bundle.entry[6].resource.code.coding[0].display", mark: `"display": "Pulse"`},
		{rule: "term-local-unknown", entry: bloodFlow, old: `"code": "blood-flow-rate"`, new: `"code": "blood-flow"`,
			expression: "Bundle.entry[19].resource.code.coding[0].code", mark: `"code": "blood-flow"`},
		{rule: "term-local-unknown", entry: urr, old: `"code": "urr-1"`, new: `"code": "urx-1"`,
			expression: "Bundle.entry[32].resource.method.coding[0].code", mark: `"code": "urx-1"`, also: []string{"calc-method-unknown"}},
		{rule: "term-check-digit", entry: note, old: "\"system\": \"urn:oid:2.25.335990940244883323309943966314996822642\",\n       \"code\": \"reading-note\"", new: `"system": "http://loinc.org", "code": "29463-8"`,
			expression: "Bundle.entry[25].resource.code.coding[0].code", mark: `"code": "29463-8"`},
		{rule: "term-check-digit", entry: procedure, old: `"code": "277132007"`, new: `"code": "277132008"`,
			expression: "Bundle.entry[4].resource.category.coding[0].code", mark: `"code": "277132008"`},
		{rule: "term-system-uri", entry: procedure, old: `"system": "http://snomed.info/sct"`, new: `"system": "https://snomed.info/sct"`,
			expression: "Bundle.entry[4].resource.category.coding[0].system", mark: `"system": "https:`},
		{rule: "term-system-uri", entry: weightBefore, old: `"system": "http://loinc.org"`, new: `"system": "urn:oid:2.16.840.1.113883.6.1"`,
			expression: "Bundle.entry[5].resource.code.coding[0].system", mark: `2.16.840.1.113883.6.1`,
			also: []string{"inv-vs-code", "calc-input-missing"}},
		{rule: "term-misused", entry: spKtV, old: spKtVCode, new: "\"system\": \"http://loinc.org\",\n       \"code\": \"70960-0\"",
			expression: "Bundle.entry[33].resource.code.coding[0].code", mark: `"code": "70960-0"`},
		{rule: "term-misused", entry: spKtV, old: spKtVCode, new: "\"system\": \"http://loinc.org\",\n       \"code\": \"18262-6\"",
			expression: "Bundle.entry[33].resource.code.coding[0].code", mark: `"code": "18262-6"`},
		{rule: "term-misused", entry: spKtV, old: spKtVCode, new: "\"system\": \"http://loinc.org\",\n       \"code\": \"70965-9\"",
			expression: "Bundle.entry[33].resource.code.coding[0].code", mark: `"code": "70965-9"`},
		{rule: "term-misused", entry: eKtV, old: "\"system\": \"urn:oid:2.25.335990940244883323309943966314996822642\",\n       \"code\": \"ekt-v\"", new: `"system": "http://loinc.org", "code": "70961-8"`,
			expression: "Bundle.entry[34].resource.code.coding[0].code", mark: `"code": "70961-8"`},
		{rule: "term-unsafe", entry: bloodFlow, old: "\"system\": \"urn:oid:2.25.335990940244883323309943966314996822642\",\n       \"code\": \"blood-flow-rate\"", new: `"system": "http://loinc.org", "code": "99712-2"`,
			expression: "Bundle.entry[19].resource.code.coding[0].code", mark: `"code": "99712-2"`},
		{rule: "term-misused", entry: arterialPressure, old: "\"system\": \"urn:oid:2.25.335990940244883323309943966314996822642\",\n       \"code\": \"arterial-line-pressure\"", new: `"system": "http://snomed.info/sct", "code": "386534000"`,
			expression: "Bundle.entry[21].resource.code.coding[0].code", mark: `"code": "386534000"`},
		{rule: "term-unsafe", entry: procedure, old: `"code": "302497006"`, new: `"code": "34897002"`,
			expression: "Bundle.entry[4].resource.code.coding[0].code", mark: `"code": "34897002"`},
	})
}

func TestMisusedCodes(t *testing.T) {
	value := func(code, unit, text string) string {
		return `{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/1"},
 "code":{"coding":[{"system":"http://loinc.org","code":"` + code + `"}],"text":"` + text + `"},
 "valueQuantity":{"value":61,"unit":"` + unit + `","system":"http://unitsofmeasure.org","code":"` + unit + `"},"category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs"}]}],"effectiveDateTime":"2026-01-01"}`
	}
	documents(t, []small{
		{"term-misused", "Observation.code.coding[0].code", 1, value("93737-7", "min", "duration")},
		{"term-misused", "Observation.code.coding[0].code", 1, value("68489-4", "min", "duration")},
		{"term-unsafe", "Observation.code.coding[0].code", 1, value("71340-4", "min", "duration")},
		{"term-unsafe", "Observation.code.coding[0].code", 1, value("72073-0", "kg", "weight")},
		{"term-misused", "Observation.code.coding[0].code", 1, value("29463-7", "kg", "Dry weight")},
		{"term-unsafe", "Observation.code.coding[0].code", 1, value("17759-2", "mg/dL", "BUN")},
		{"term-unsafe", "Observation.code.coding[0].code", 1, value("3094-0", "mg/dL", "Urea")},
		{"term-misused", "Observation.code.coding[0].code", 1, value("101683-1", "L", "Body water")},
		{"term-misused", "Observation.code.coding[0].code", 1, value("2308-5", "1", "Buttonhole cannulation")},
		{"", "", 0, value("29463-7", "kg", "Body weight")},
		{"", "", 0, value("3094-0", "mg/dL", "Urea nitrogen")},
	})
}

func TestClinicalRules(t *testing.T) {
	const value, dose = "\"value\": ", "calc-value-differs"
	runAll(t, []broken{
		{rule: "clin-record-impossible", entry: pulseBefore, old: value + "71", new: value + "710",
			expression: "Bundle.entry[6].resource.value", mark: `"valueQuantity"`},
		{rule: "clin-record-unusual", entry: pulseBefore, old: value + "71", new: value + "41",
			expression: "Bundle.entry[6].resource.value", mark: `"valueQuantity"`},
		{rule: "clin-record-pressure-sign", entry: arterialPressure, old: value + "-137", new: value + "137",
			expression: "Bundle.entry[21].resource.value", mark: `"valueQuantity"`},
		{rule: "clin-record-pressure-order", entry: pressureBefore, old: value + "79", new: value + "179",
			expression: "Bundle.entry[17].resource", mark: `"resource"`, also: []string{"clin-record-unusual"}},
		{rule: "clin-record-uf-weights", entry: weightBefore, old: value + "70.9", new: value + "71.9",
			expression: "Bundle.entry[8].resource.value", mark: `"valueQuantity"`, markEntry: ufRemoved, also: []string{dose}},
		{rule: "clin-record-pounds", entry: weightBefore, old: value + "70.9", new: value + "156.3",
			expression: "Bundle.entry[5].resource.value", mark: `"valueQuantity"`, also: []string{"clin-record-uf-weights", dose}},
		{rule: "clin-record-uf-rate", entry: ufRemoved, old: value + "1.32", new: value + "3.32",
			expression: "Bundle.entry[8].resource.value", mark: `"valueQuantity"`, also: []string{"clin-record-uf-weights", dose}},
		{rule: "clin-record-dialysate-volume", entry: dialysateVolume, old: value + "24.9", new: value + "34.9",
			expression: "Bundle.entry[12].resource.value", mark: `"valueQuantity"`},
		{rule: "clin-record-blood-processed", entry: bloodProcessed, old: value + "56.4", new: value + "36.4",
			expression: "Bundle.entry[13].resource.value", mark: `"valueQuantity"`},
		{rule: "clin-record-treated-time", entry: treatedTime, old: value + "166", new: value + "216",
			expression: "Bundle.entry[14].resource.value", mark: `"valueQuantity"`,
			also: []string{dose, "clin-record-dialysate-volume", "clin-record-blood-processed"}},
		{rule: "clin-record-duration", entry: procedure, old: `"end": "2025-10-29T21:11:00Z"`, new: `"end": "2025-10-30T21:11:00Z"`,
			expression: "Bundle.entry[4].resource.performed", mark: `"performedPeriod"`, also: []string{"clin-record-clock"}},
		{rule: "clin-record-clock", entry: procedure, old: `"end": "2025-10-29T21:11:00Z"`, new: `"end": "2025-10-29T22:41:00Z"`,
			expression: "Bundle.entry[4].resource.performed", mark: `"performedPeriod"`},
		{rule: "clin-record-urea-ratio", entry: ureaAfter, old: value + "10.0", new: value + "17.5",
			expression: "Bundle.entry[27].resource.value", mark: `"valueQuantity"`, also: []string{dose, "calc-not-computable"}},
		{rule: "clin-record-urea-clearance", entry: ureaAfter, old: value + "10.0", new: value + "5.0",
			expression: "Bundle.entry[27].resource.value", mark: `"valueQuantity"`, also: []string{dose, "calc-not-computable"}},
		{rule: "clin-record-outside-session", entry: arterialPressure, old: `"effectiveDateTime": "2025-10-29`, new: `"effectiveDateTime": "2025-10-28`,
			expression: "Bundle.entry[21].resource.effective", mark: `"effectiveDateTime"`},
		{rule: "clin-record-urea-rise", entry: ureaAfter, old: value + "10.0", new: value + "17.8",
			expression: "Bundle.entry[27].resource.value", mark: `"valueQuantity"`, also: []string{dose, "calc-not-computable"}},
		{rule: "clin-record-urea-rise", entry: ureaAfter, old: value + "10.0", new: value + "18.0",
			expression: "Bundle.entry[27].resource.value", mark: `"valueQuantity"`, also: []string{dose, "calc-not-computable"}},
	})
}

func TestComputedRules(t *testing.T) {
	const value = "\"value\": "
	runAll(t, []broken{
		{rule: "calc-value-differs", entry: ufRatePerKg, old: value + "6.8", new: value + "6.9",
			expression: "Bundle.entry[28].resource.value", mark: `"valueQuantity"`},
		{rule: "calc-value-differs", entry: weightAfter, old: value + "69.9", new: value + "69.8",
			expression: "Bundle.entry[31].resource.value", mark: `"valueQuantity"`, markEntry: bodyWater},
		{rule: "calc-value-differs", entry: eKtV, old: value + "0.58", new: value + "0.57",
			expression: "Bundle.entry[34].resource.value", mark: `"valueQuantity"`},
		{rule: "calc-not-computable", entry: ureaAfter, old: value + "10.0", new: value + "0.0",
			expression: "Bundle.entry[33].resource.value", mark: `"valueQuantity"`, markEntry: spKtV,
			also: []string{"calc-value-differs", "clin-record-unusual"}},
		{rule: "calc-input-missing", entry: spKtV, old: `"code": "input-preceding-interval"`, new: `"code": "input-age"`,
			expression: "Bundle.entry[33].resource", mark: `"resource"`, also: []string{"term-display", "unit-other"}},
		{rule: "calc-input-elsewhere", entry: ufRatePerKg, old: `"reference": "urn:uuid:1af1f26c-66a3-5e7b-a948-04ca40ab1311"`, new: `"display": "fluid removed"`,
			expression: "Bundle.entry[28].resource.derivedFrom[0]", mark: `"derivedFrom"`},
		{rule: "calc-input-ambiguous", entry: saline, old: `"code": "saline-given"`, new: `"code": "oral-intake-during-dialysis"`,
			expression: "Bundle.entry[29].resource", mark: `"resource"`, markEntry: ufExpected,
			also: []string{"term-display", "month-record-value-twice"}},
		{rule: "calc-method-mismatch", entry: spKtV, old: `"code": "spktv-daugirdas2-gfac-1"`, new: `"code": "spktv-daugirdas2-1"`,
			expression: "Bundle.entry[33].resource.code", mark: "\"code\": {\n     \"coding\": [\n      {\n       \"system\": \"urn", also: []string{"calc-value-differs"}},
		{rule: "calc-method-unknown", entry: urr, old: `"code": "urr-1"`, new: `"code": "urr-9"`,
			expression: "Bundle.entry[32].resource.method", mark: `"method"`},
		{rule: "calc-method-mismatch", entry: eKtV, old: `"code": "ekt-v"`, new: `"code": "std-kt-v-weekly"`,
			expression: "Bundle.entry[34].resource.code", mark: `"code": {`, also: []string{"term-display", "clin-record-unusual"}},
		{rule: "calc-no-method", entry: urr, old: `"method"`, new: `"bodySite"`,
			expression: "Bundle.entry[32].resource", mark: `"resource"`},
		{rule: "calc-no-inputs", entry: urr, old: `"derivedFrom"`, new: `"focus"`,
			expression: "Bundle.entry[32].resource", mark: `"resource"`},
		{rule: "calc-no-reason", entry: urr, old: `"valueQuantity"`, new: `"contentQuantity"`,
			expression: "Bundle.entry[32].resource", mark: `"resource"`, also: []string{"r4-unknown-element"}},
		{rule: "calc-status", entry: urr, old: `"status": "final"`, new: `"status": "cancelled"`,
			expression: "Bundle.entry[32].resource.status", mark: `"status": "cancelled"`},
		{rule: "calc-unit", entry: ufDiscrepancy, old: `"code": "L"`, new: `"code": "kg"`,
			expression: "Bundle.entry[30].resource.value", mark: `"valueQuantity"`, also: []string{"unit-dimension", "unit-text"}},
	})
}

func TestProvenanceRules(t *testing.T) {
	runAll(t, []broken{
		{rule: "prov-missing", entry: provenanceEntry, old: `"urn:uuid:e818a038-c776-521b-b608-2d6b0a7dc5e6",
      "type": "Procedure"`, new: `"urn:uuid:5da03452-7a3a-5f8a-8e2b-861242ace02b",
      "type": "MedicationAdministration"`,
			expression: "Bundle.entry[4].resource", mark: `"resource"`, markEntry: procedure, also: []string{"prov-target-odd"}},
		{rule: "prov-target-odd", entry: provenanceEntry, old: `"target": [`, new: `"target": [{"reference": "urn:uuid:e818a038-c776-521b-b608-2d6b0a7dc5e6"},`,
			expression: "Bundle.entry[36].resource.target[1]", mark: "     {"},
		{rule: "prov-not-marked", entry: note, old: `"code": "PATAST"`, new: `"code": "PATASX"`,
			expression: "Bundle.entry[25].resource", mark: `"resource"`, also: []string{"term-unknown-code"}},
		{rule: "prov-recorded-time", entry: provenanceEntry, old: `"recorded": "20`, new: `"recorded": "19`,
			expression: "Bundle.entry[36].resource.recorded", mark: `"recorded"`},
		{rule: "prov-no-performer", entry: note, old: `"performer"`, new: `"focus"`,
			expression: "Bundle.entry[25].resource", mark: `"resource"`},
		{rule: "prov-no-patient", entry: provenanceEntry, old: "\"who\": {\n       \"reference\": \"" + patientReference + "\",\n       \"type\": \"Patient\",", new: "\"who\": {\n",
			expression: "Bundle.entry[36].resource", mark: `"resource"`},
	})
}

// Little urea removed after four days is reported; no single wrong value of the
// record leads to it without another finding first.
func TestUreaGeneration(t *testing.T) {
	for days, want := range map[string]bool{"1": false, "4": true, "5": false} {
		document := strings.Replace(strings.Replace(session(t), `"value": 10.0`, `"value": 14.5`, 1), `"value": 1,`, `"value": `+days+`,`, 1)
		findings := validate.New(validate.Options{}).Bytes([]byte(document), "session.json")
		found := slices.ContainsFunc(findings, func(f issue.Finding) bool {
			return f.Rule == "clin-record-urea-generation" && f.Expression == "Bundle.entry[26].resource.value"
		})
		if found != want {
			t.Errorf("%s days: %v", days, findings)
		}
	}
}

// Potassium that dialysis has raised.
func TestSoluteRises(t *testing.T) {
	text := session(t)
	for old, written := range map[string]string{
		`"39777-8"`: `"51618-7"`, `"39776-0"`: `"29349-8"`, `"value": 17.8`: `"value": 3.8`, `"value": 10.0`: `"value": 5.0`,
	} {
		text = strings.Replace(text, old, written, 1)
	}
	found := validate.New(validate.Options{}).Bytes([]byte(text), "session.json")
	if !slices.ContainsFunc(found, func(f issue.Finding) bool { return f.Rule == "clin-record-solute-rise" && f.Value == "5.0 mmol/L" }) {
		t.Errorf("found %v", found)
	}
}
