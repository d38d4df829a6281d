package invariant_test

import (
	"strings"
	"testing"
)

// One document that breaks each of the invariants named, for the types that
// stand around a treatment: questionnaires, lists, plans, terminology.
func TestOtherResources(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`{"resourceType":"MedicationAdministration","dosage":{"text":"x"}}`, "mad-1 MedicationAdministration.dosage"},
		{`{"resourceType":"MedicationAdministration","dosage":{"rateRatio":{"numerator":{"value":1},"denominator":{"value":2}}}}`, ""},
		{`{"resourceType":"MedicationDispense","whenPrepared":"2026-01-02","whenHandedOver":"2026-01-01"}`, "mdd-1 MedicationDispense"},
		{`{"resourceType":"Composition","section":[{"title":"a"},{"emptyReason":{"text":"x"},"entry":[{"display":"y"}]},{"section":[{"text":{"status":"generated","div":"<div/>"}}]}]}`,
			"cmp-1 Composition.section[0]; cmp-2 Composition.section[1]"},
		{`{"resourceType":"List","mode":"snapshot","emptyReason":{"text":"x"},"entry":[{"item":{"display":"x"}},{"item":{"display":"x"},"deleted":true,"date":"2026"}]}`,
			"lst-1 List; lst-2 List.entry[1].deleted; lst-3 List.entry[1].date"},
		{`{"resourceType":"List","mode":"changes","entry":[{"item":{"display":"x"},"deleted":true}]}`, ""},
		{`{"resourceType":"ServiceRequest","orderDetail":[{"text":"x"}]}`, "prr-1 ServiceRequest"},
		{`{"resourceType":"CarePlan","activity":[{"reference":{"display":"x"},"detail":{"status":"unknown"}}]}`, "cpl-3 CarePlan.activity[0]"},
		{`{"resourceType":"Organization","telecom":[{"system":"phone","value":"1","use":"home"}],"address":[{"use":"work"},{"use":"home"}]}`,
			"org-1 Organization; org-2 Organization.address[1]; org-3 Organization.telecom[0]"},
		{`{"resourceType":"Parameters","parameter":[{"name":"a"},{"name":"b","valueCode":"x","part":[{"name":"c","valueCode":"y"}]},{"name":"d","valueCode":"x","resource":{"resourceType":"Patient"}}]}`,
			"inv-1-parameters Parameters.parameter[0]; inv-1-parameters Parameters.parameter[1]; inv-1-parameters Parameters.parameter[2]"},
		{`{"resourceType":"Task","authoredOn":"2026-01-02","lastModified":"2026-01-01"}`, "inv-1-task Task"},
		{`{"resourceType":"Condition","clinicalStatus":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/condition-clinical","code":"active"}]},"abatementDateTime":"2026","stage":[{"type":{"text":"x"}}],"evidence":[{"id":"x","extension":[{"url":"http://x.org","valueCode":"y"}]}]}`,
			"con-4 Condition; con-1 Condition.stage[0]; con-2 Condition.evidence[0]"},
		{`{"resourceType":"Condition","category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/condition-category","code":"problem-list-item"}]}]}`, "con-3 Condition"},
		{`{"resourceType":"AllergyIntolerance"}`, "ait-1 AllergyIntolerance"},
		{`{"resourceType":"AllergyIntolerance","clinicalStatus":{"text":"x"},"verificationStatus":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/allergyintolerance-verification","code":"entered-in-error"}]}}`, "ait-2 AllergyIntolerance"},
		{`{"resourceType":"Appointment","status":"booked","start":"2026-01-01T10:00:00Z","cancelationReason":{"text":"x"},"participant":[{"status":"accepted"}]}`,
			"app-2 Appointment; app-3 Appointment; app-4 Appointment; app-1 Appointment.participant[0]"},
		{`{"resourceType":"Appointment","status":"noshow","start":"2026-01-01T10:00:00Z","end":"2026-01-01T11:00:00Z","cancelationReason":{"text":"x"}}`, ""},
		{`{"resourceType":"Consent"}`, "ppc-1 Consent"},
		{`{"resourceType":"RiskAssessment","prediction":[{"probabilityDecimal":100.1},{"probabilityDecimal":1e2},{"probabilityRange":{"low":{"value":1}}}]}`,
			"ras-2 RiskAssessment.prediction[0]; ras-1 RiskAssessment.prediction[2].probability"},
		{`{"resourceType":"Group","actual":false,"member":[{"entity":{"display":"x"}}]}`, "grp-1 Group"},
		{`{"resourceType":"Linkage","item":[{"type":"source","resource":{"display":"x"}}]}`, "lnk-1 Linkage"},
		{`{"resourceType":"ValueSet","name":"two words","compose":{"include":[{"concept":[{"code":"x"}],"filter":[{"property":"a","op":"=","value":"b"}]}]},"expansion":{"timestamp":"2026","contains":[{"code":"x"},{"display":"y"},{"abstract":true}]}}`,
			"vsd-0 ValueSet; vsd-1 ValueSet.compose.include[0]; vsd-2 ValueSet.compose.include[0]; vsd-3 ValueSet.compose.include[0]; vsd-10 ValueSet.expansion.contains[0]; vsd-9 ValueSet.expansion.contains[1]; vsd-6 ValueSet.expansion.contains[2]"},
		{`{"resourceType":"CodeSystem","name":"Name_1","concept":[{"code":"a","concept":[{"code":"b"}]},{"code":"b"}]}`, "csd-1 CodeSystem.concept[1].code"},
		{`{"resourceType":"TestScript","setup":{"action":[{"operation":{"encodeRequestUrl":true}}]},"test":[{"action":[{"assert":{"warningOnly":true,"direction":"request","responseCode":"1","response":"okay"}}]}],"teardown":{"action":[{"operation":{"encodeRequestUrl":true,"url":"x"}}]}}`,
			"tst-7 TestScript.setup.action[0].operation; tst-6 TestScript.test[0].action[0].`assert`; tst-13 TestScript.test[0].action[0].`assert`"},
	} {
		got := check(t, c.text)
		got = strings.ReplaceAll(got, ".assert", ".`assert`")
		if got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.text, got, c.want)
		}
	}
}

func TestQuestionnaires(t *testing.T) {
	for _, c := range []struct{ item, want string }{
		{`"type":"string"`, ""},
		{`"type":"group"`, "que-1 "},
		{`"type":"display","item":[{"linkId":"b","type":"string"}]`, "que-1 "},
		{`"type":"display","code":[{"code":"x"}],"required":true,"initial":[{"valueString":"x"}],"readOnly":true`, "que-3 que-6 que-8 que-9 "},
		{`"type":"choice","answerValueSet":"http://x.org","answerOption":[{"valueString":"x"}],"initial":[{"valueString":"x"}]`, "que-4 que-11 "},
		{`"type":"boolean","answerValueSet":"http://x.org"`, "que-5 "},
		{`"type":"date","maxLength":5`, "que-10 "},
		{`"type":"string","enableWhen":[{"question":"b","operator":"exists","answerBoolean":true},{"question":"b","operator":"=","answerString":"x"},{"question":"b","operator":"exists","answerString":"x"}]`, "que-12 que-7 "},
		{`"type":"string","initial":[{"valueString":"x"},{"valueString":"y"}]`, "que-13 "},
		{`"type":"string","repeats":true,"initial":[{"valueString":"x"},{"valueString":"y"}]`, ""},
		{`"type":"group","item":[{"linkId":"a","type":"string"}]`, "que-2 "},
	} {
		got := ""
		for _, f := range strings.Split(check(t, `{"resourceType":"Questionnaire","item":[{"linkId":"a",`+c.item+`}]}`), "; ") {
			if rule, _, ok := strings.Cut(f, " "); ok {
				got += rule + " "
			}
		}
		if got != c.want {
			t.Errorf("%s: got %q, want %q", c.item, got, c.want)
		}
	}
	if got := check(t, `{"resourceType":"QuestionnaireResponse","item":[{"linkId":"a","answer":[{"valueString":"x"}],"item":[{"linkId":"b"}]}]}`); got != "qrs-1 QuestionnaireResponse.item[0]" {
		t.Errorf("got %s", got)
	}
}

func TestStructureDefinitions(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`{"resourceType":"StructureDefinition","url":"http://x.org/s","name":"X","kind":"resource","abstract":false,"type":"Patient","baseDefinition":"http://x.org","derivation":"constraint",
		 "snapshot":{"element":[{"id":"Patient","path":"Patient","definition":"x","min":0,"max":"*","base":{"path":"Patient","min":0,"max":"*"}},
		 {"id":"Patient.name","path":"Patient.name","definition":"x","min":2,"max":"1","base":{"path":"Patient.name","min":0,"max":"*"}}]}}`, "eld-2 StructureDefinition.snapshot.element[1]"},
		{`{"resourceType":"StructureDefinition","url":"http://x.org/s","name":"X","kind":"resource","abstract":false,"type":"Patient","derivation":"specialization",
		 "differential":{"element":[{"id":"Patient","path":"Patient","sliceName":"a b","slicing":{"rules":"open"},"label":"x","type":[{"code":"x"}]},{"path":"Person.name","max":"none"}]}}`,
			"sdf-4 StructureDefinition; sdf-9 StructureDefinition.differential.element[0].label; sdf-14 StructureDefinition.differential.element[1]; " +
				"sdf-23 StructureDefinition.differential.element[0]; sdf-15a StructureDefinition.differential.element[0].type[0]; sdf-20 StructureDefinition.differential.element[0].slicing; sdf-8a StructureDefinition.differential.element[1]; " +
				"eld-16 StructureDefinition.differential.element[0]; eld-1 StructureDefinition.differential.element[0].slicing; eld-3 StructureDefinition.differential.element[1].max"},
	} {
		if got := check(t, c.text); got != c.want {
			t.Errorf("got %s\nwant %s", got, c.want)
		}
	}
}
