package profile_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"fmt"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
)

// packed makes a package archive of files.
func packed(tb testing.TB, files ...string) []byte {
	tb.Helper()
	var out bytes.Buffer
	zipped := gzip.NewWriter(&out)
	archive := tar.NewWriter(zipped)
	for i, text := range files {
		name, body, named := strings.Cut(text, "\x00")
		if !named {
			name, body = fmt.Sprintf("package/%d.json", i), text
		}
		if err := archive.WriteHeader(&tar.Header{Name: name, Mode: 0o644, Size: int64(len(body))}); err != nil {
			tb.Fatal(err)
		}
		if _, err := archive.Write([]byte(body)); err != nil {
			tb.Fatal(err)
		}
	}
	if err := archive.Close(); err != nil {
		tb.Fatal(err)
	}
	if err := zipped.Close(); err != nil {
		tb.Fatal(err)
	}
	return out.Bytes()
}

func library(tb testing.TB, files ...string) *profile.Library {
	tb.Helper()
	p, err := profile.ReadPackage(bytes.NewReader(packed(tb, files...)))
	if err != nil {
		tb.Fatal(err)
	}
	return profile.NewLibrary(p)
}

const guide = "https://guide.example/StructureDefinition/"

// definition is a profile "p" of a type with the elements of its snapshot.
func definition(name, typ string, elements ...string) string {
	return fmt.Sprintf(`{"resourceType":"StructureDefinition","url":"%s%s","version":"1.2.0","type":"%s","derivation":"constraint",
"snapshot":{"element":[%s]}}`, guide, name, typ, strings.Join(append([]string{`{"id":"` + typ + `","path":"` + typ + `","min":0,"max":"*"}`}, elements...), ","))
}

// el is an element of a snapshot; more is further members.
func el(path, slice string, minimum int, maximum, more string) string {
	if slice != "" {
		more = `"sliceName":"` + slice + `",` + more
	}
	return fmt.Sprintf(`{"path":"%s",%s"min":%d,"max":"%s"}`, path, more, minimum, maximum)
}

func slicing(kind, path, rules string) string {
	return fmt.Sprintf(`"slicing":{"discriminator":[{"type":"%s","path":"%s"}],"rules":"%s"},`, kind, path, rules)
}

func observation(members string) string {
	return `{"resourceType":"Observation","status":"final",` + members + `}`
}

func loinc(code string) string {
	return `{"system":"http://loinc.org","code":"` + code + `"}`
}

func component(code, value string) string {
	return `{"code":{"coding":[` + loinc(code) + `]},` + value + `}`
}

const (
	codeText = `"code":{"text":"x"}`
	quantity = `"valueQuantity":{"value":1,"unit":"kg"}`
)

type ruleCase struct {
	name     string
	profiles []string // definition "p" among them
	resource string
	want     []string // rule, expression and, after a bar, part of the details
}

func componentSlices(kind, path, rules string, slices ...string) []string {
	return append([]string{el("Observation.component", "", 0, "*", slicing(kind, path, rules))}, slices...)
}

func ruleCases() []ruleCase {
	byPattern := func(rules string, minimum int) string {
		return definition("p", "Observation", componentSlices("pattern", "code", rules,
			el("Observation.component", "a", minimum, "1", ""),
			el("Observation.component.code", "", 1, "1", `"patternCodeableConcept":{"coding":[`+loinc("1-8")+`]},`),
			el("Observation.component", "b", 0, "1", ""),
			el("Observation.component.code", "", 1, "1", `"patternCodeableConcept":{"coding":[`+loinc("2-6")+`]},`))...)
	}
	components := func(all ...string) string {
		return observation(codeText + `,"component":[` + strings.Join(all, ",") + `]`)
	}
	value := `"valueString":"v"`
	p := func(elements ...string) []string { return []string{definition("p", "Observation", elements...)} }
	const core = "http://hl7.org/fhir/StructureDefinition/"
	oneCode := valueSet("urn:vs", `{"system":"http://loinc.org","concept":[{"code":"1-8"}]}`)
	language := p(el("Observation.code", "", 0, "1", `"binding":{"strength":"required","valueSet":"http://hl7.org/fhir/ValueSet/all-languages"},`))
	quantityValue := func(more string) []string {
		return p(el("Observation.value[x]", "", 0, "1", ""), el("Observation.value[x].value", "", 0, "1", more+","))
	}
	amount := func(more string) []string {
		return p(el("Observation.value[x]", "", 0, "1", `"type":[{"code":"Quantity"}],`+more+","))
	}
	subject := func(more string) []string {
		return p(el("Observation.subject", "", 0, "1", `"type":[{"code":"Reference",`+more+`}],`))
	}
	extension := definition("x", "Extension", el("Extension.url", "", 1, "1", `"fixedUri":"`+guide+`x",`), el("Extension.value[x]", "", 1, "1", `"type":[{"code":"string"}],`))
	withX := func(url, member string) string {
		return observation(codeText + `,"extension":[{"url":"` + url + `",` + member + `}]`)
	}
	return []ruleCase{
		{"minimum", p(el("Observation.method", "", 1, "1", "")), observation(codeText), []string{"profile-cardinality Observation|missing: method"}},
		{"maximum", p(el("Observation.note", "", 0, "1", "")), observation(codeText + `,"note":[{"text":"a"},{"text":"b"}]`), []string{"profile-cardinality Observation.note[1]|too many"}},
		{"prohibited", p(el("Observation.method", "", 0, "0", "")), observation(codeText + `,"method":{"text":"m"}`), []string{"profile-cardinality Observation.method|does not allow"}},
		{"as in R4", p(el("Observation.code", "", 1, "1", `"base":{"min":1,"max":"1"},`)), observation(`"subject":{"display":"x"}`), nil},
		{"only in a primitive's extension", p(el("Observation.issued", "", 1, "1", "")), observation(codeText + `,"_issued":{"extension":[{"url":"u","valueString":"x"}]}`), nil},
		{"fixed", p(el("Observation.code", "", 1, "1", ""), el("Observation.code.text", "", 0, "1", `"fixedString":"y",`)), observation(codeText), []string{"profile-fixed Observation.code.text"}},
		{"fixed, with more", p(el("Observation.code", "", 1, "1", `"fixedCodeableConcept":{"text":"x"},`)), observation(`"code":{"text":"x","coding":[` + loinc("1-8") + `]}`), []string{"profile-fixed Observation.code.coding|differs in coding"}},
		{"fixed number", p(el("Observation.value[x]", "", 0, "1", ""), el("Observation.value[x].value", "", 0, "1", `"fixedDecimal":1.0,`)), observation(codeText + `,` + quantity), nil},
		{"pattern, with more", p(el("Observation.code", "", 1, "1", `"patternCodeableConcept":{"coding":[`+loinc("1-8")+`]},`)), observation(`"code":{"text":"x","coding":[` + loinc("2-6") + `,` + loinc("1-8") + `]}`), nil},
		{"pattern", p(el("Observation.code", "", 1, "1", `"patternCodeableConcept":{"coding":[`+loinc("1-8")+`]},`)), observation(`"code":{"coding":[{"system":"urn:x","code":"1"},` + loinc("2-6") + `]}`), []string{"profile-pattern Observation.code.coding[1].code|differs in coding[1].code"}},
		{"type", p(el("Observation.value[x]", "", 0, "1", `"type":[{"code":"Quantity"}],`)), observation(codeText + `,"valueString":"v"`), []string{"profile-type Observation.value"}},
		{"type, only an extension", p(el("Observation.value[x]", "", 0, "1", `"type":[{"code":"Quantity"}],`)), observation(codeText + `,"_valueString":{"extension":[{"url":"u","valueString":"x"}]}`), []string{"profile-type Observation.value"}},
		{"type taken", p(el("Observation.value[x]", "", 0, "1", `"type":[{"code":"Quantity"},{"code":"string"}],`)), observation(codeText + `,"valueString":"v"`), nil},
		{"binding", append(p(el("Observation.code", "", 1, "1", `"binding":{"strength":"required","valueSet":"urn:vs"},`)), valueSet("urn:vs", `{"system":"http://loinc.org","concept":[{"code":"1-8"}]}`)), observation(`"code":{"coding":[` + loinc("2-6") + `]}`), []string{"profile-binding Observation.code"}},
		{"binding met", append(p(el("Observation.code", "", 1, "1", `"binding":{"strength":"required","valueSet":"urn:vs"},`)), valueSet("urn:vs", `{"system":"http://loinc.org","concept":[{"code":"1-8"}]}`)), observation(`"code":{"coding":[` + loinc("2-6") + `,` + loinc("1-8") + `]}`), nil},
		{"binding to all of LOINC", append(p(el("Observation.code", "", 1, "1", `"binding":{"strength":"required","valueSet":"urn:vs"},`)), valueSet("urn:vs", `{"system":"http://loinc.org"}`)), observation(`"code":{"coding":[` + loinc("2-6") + `]}`), []string{"profile-value-set Observation.code"}},
		{"binding to a value set nobody knows", p(el("Observation.code", "", 1, "1", `"binding":{"strength":"required","valueSet":"urn:none"},`)), observation(codeText), []string{"profile-value-set Observation.code"}},
		{"preferred binding", p(el("Observation.code", "", 1, "1", `"binding":{"strength":"preferred","valueSet":"urn:none"},`)), observation(codeText), nil},
		{"invariant", p(el("Observation.code", "", 1, "1", `"constraint":[{"key":"g-1","severity":"error","human":"coded","expression":"coding.exists()"}],`)), observation(codeText), []string{"profile-invariant Observation.code|g-1 of p: coded"}},
		{"invariant, warning", p(el("Observation.code", "", 1, "1", `"constraint":[{"key":"g-1","severity":"warning","human":"coded","expression":"coding.exists()"}],`)), observation(codeText), []string{"profile-invariant Observation.code|g-1"}},
		{"invariant beyond us", p(el("Observation.code", "", 1, "1", `"constraint":[{"key":"g-2","severity":"error","human":"h","expression":"now() > today()"}],`)), observation(codeText), []string{"profile-not-evaluated Observation|g-2"}},
		{"reference to another type", p(el("Observation.subject", "", 0, "1", `"type":[{"code":"Reference","targetProfile":["http://hl7.org/fhir/StructureDefinition/Patient"]}],`)), observation(codeText + `,"subject":{"reference":"Group/1"}`), []string{"profile-reference Observation.subject"}},
		{"reference out of the document", p(el("Observation.subject", "", 0, "1", `"type":[{"code":"Reference","targetProfile":["http://hl7.org/fhir/StructureDefinition/Patient"]}],`)), observation(codeText + `,"subject":{"reference":"Patient/1"}`), nil},
		{"reference to what does not conform", append(p(el("Observation.subject", "", 0, "1", `"type":[{"code":"Reference","targetProfile":["`+guide+`q"]}],`)), definition("q", "Patient", el("Patient.name", "", 1, "*", ""))), observation(codeText + `,"contained":[{"resourceType":"Patient","id":"a","active":true}],"subject":{"reference":"#a"}`), []string{"profile-reference Observation.subject.reference|missing: name in q"}},
		{"extension of a profile", append(p(el("Observation.extension", "", 0, "*", slicing("value", "url", "open")), el("Observation.extension", "x", 0, "1", `"type":[{"code":"Extension","profile":["`+guide+`x"]}],`)), extension), withX(guide+"x", `"valueInteger":1`), []string{"profile-type Observation.extension[0].value"}},
		{"extension missing", append(p(el("Observation.extension", "", 0, "*", slicing("value", "url", "open")), el("Observation.extension", "x", 1, "1", `"type":[{"code":"Extension","profile":["`+guide+`x"]}],`)), extension), withX("urn:y", `"valueInteger":1`), []string{"profile-slice Observation.extension[0]|differs in url"}},
		{"extension of R4 in its place", p(), withX(core+"data-absent-reason", `"valueCode":"unknown"`), nil},
		{"extension of R4 elsewhere", p(), withX(core+"patient-animal", `"extension":[{"url":"species","valueCodeableConcept":{"text":"x"}}]`), []string{"ext-context Observation.extension[0]|may not stand in Observation"}},
		{"extension of R4 of another type", p(), withX(core+"observation-delta", `"valueString":"x"`), []string{"profile-type Observation.extension[0].value"}},
		{"extension that is no modifier", p(), observation(codeText + `,"modifierExtension":[{"url":"` + core + `observation-delta","valueCodeableConcept":{"text":"x"}}]`), []string{"ext-modifier Observation.modifierExtension[0]"}},
		{"extension whose profile nobody knows", p(el("Observation.extension", "", 0, "*", slicing("value", "url", "open")), el("Observation.extension", "x", 0, "1", `"type":[{"code":"Extension","profile":["`+guide+`none"]}],`)), withX(guide+"none", `"valueInteger":1`), []string{"profile-unknown Observation.extension[0]"}},

		{"extensible binding", append(p(el("Observation.code", "", 1, "1", `"binding":{"strength":"extensible","valueSet":"urn:vs"},`)), oneCode), observation(`"code":{"coding":[` + loinc("2-6") + `]}`), []string{"profile-extensible Observation.code|should be from"}},
		{"extensible binding met", append(p(el("Observation.code", "", 1, "1", `"binding":{"strength":"extensible","valueSet":"urn:vs"},`)), oneCode), observation(`"code":{"coding":[` + loinc("2-6") + `,` + loinc("1-8") + `]}`), nil},
		{"extensible binding, text", append(p(el("Observation.code", "", 1, "1", `"binding":{"strength":"extensible","valueSet":"urn:vs"},`)), oneCode), observation(codeText), nil},
		{"extensible binding to a value set nobody knows", p(el("Observation.code", "", 1, "1", `"binding":{"strength":"extensible","valueSet":"urn:none"},`)), observation(`"code":{"coding":[` + loinc("2-6") + `]}`), nil},
		{"extensible binding with a maximum", append(p(el("Observation.code", "", 1, "1", `"binding":{"strength":"extensible","valueSet":"urn:vs","extension":[{"url":"`+core+`elementdefinition-maxValueSet","valueCanonical":"urn:most"}]},`)), oneCode, valueSet("urn:most", `{"system":"http://loinc.org","concept":[{"code":"1-8"},{"code":"3-4"}]}`)), observation(`"code":{"coding":[` + loinc("2-6") + `]}`), []string{"profile-binding Observation.code|must be from", "profile-extensible Observation.code"}},
		{"language", language, observation(`"code":{"coding":[{"system":"urn:ietf:bcp:47","code":"deutsch"}]}`), []string{"profile-binding Observation.code"}},
		{"language met", language, observation(`"code":{"coding":[{"system":"urn:ietf:bcp:47","code":"de-1996"}]}`), nil},
		{"language not registered", language, observation(`"code":{"coding":[{"system":"urn:ietf:bcp:47","code":"zz"}]}`), []string{"profile-value-set Observation.code"}},

		{"least number", quantityValue(`"minValueDecimal":1.5`), observation(codeText + `,"valueQuantity":{"value":1.49}`), []string{"profile-limit Observation.value.value|outside the limits of value.value"}},
		{"least number met", quantityValue(`"minValueDecimal":1.5`), observation(codeText + `,"valueQuantity":{"value":1.50}`), nil},
		{"most", p(el("Observation.value[x]", "", 0, "1", `"maxValueInteger":3,`)), observation(codeText + `,"valueInteger":4`), []string{"profile-limit Observation.value"}},
		{"least amount", amount(`"minValueQuantity":{"value":1,"system":"http://unitsofmeasure.org","code":"kg"}`), observation(codeText + `,"valueQuantity":{"value":999,"system":"http://unitsofmeasure.org","code":"g"}`), []string{"profile-limit Observation.value"}},
		{"least amount met", amount(`"minValueQuantity":{"value":1,"system":"http://unitsofmeasure.org","code":"kg"}`), observation(codeText + `,"valueQuantity":{"value":1000,"system":"http://unitsofmeasure.org","code":"g"}`), nil},
		{"amounts of different dimension", amount(`"maxValueQuantity":{"value":1,"system":"http://unitsofmeasure.org","code":"kg"}`), observation(codeText + `,"valueQuantity":{"value":5,"system":"http://unitsofmeasure.org","code":"L"}`), nil},
		{"an amount of another system", amount(`"maxValueQuantity":{"value":1,"system":"http://unitsofmeasure.org","code":"kg"}`), observation(codeText + `,"valueQuantity":{"value":5,"system":"urn:x","code":"kg"}`), nil},
		{"an amount without value", amount(`"maxValueQuantity":{"value":1,"system":"http://unitsofmeasure.org","code":"kg"}`), observation(codeText + `,"valueQuantity":{"system":"http://unitsofmeasure.org","code":"kg"}`), nil},
		{"limit of no UCUM unit", amount(`"maxValueQuantity":{"value":1,"unit":"stone"}`), observation(codeText + `,"valueQuantity":{"value":5,"unit":"stone"}`), []string{"profile-not-evaluated Observation|the limit of Observation.value[x]"}},
		{"limit relative to now", p(el("Observation.issued", "", 0, "1", `"type":[{"code":"instant"}],"maxValueQuantity":{"value":1,"system":"http://unitsofmeasure.org","code":"d"},`)), observation(codeText + `,"issued":"2026-01-01T00:00:00Z"`), []string{"profile-not-evaluated Observation|the limit of Observation.issued"}},
		{"earliest", p(el("Observation.effective[x]", "", 0, "1", `"minValueDate":"2020-02",`)), observation(codeText + `,"effectiveDateTime":"2020-01-31T23:59:59Z"`), []string{"profile-limit Observation.effective"}},
		{"earliest, left open", p(el("Observation.effective[x]", "", 0, "1", `"minValueDate":"2020-02-15",`)), observation(codeText + `,"effectiveDateTime":"2020-02"`), nil},
		{"latest", p(el("Observation.issued", "", 0, "1", `"maxValueInstant":"2020-01-01T00:00:00Z",`)), observation(codeText + `,"issued":"2020-01-01T00:59:59+00:30"`), []string{"profile-limit Observation.issued"}},
		{"latest of the day", p(el("Observation.value[x]", "", 0, "1", `"maxValueTime":"12:00:00",`)), observation(codeText + `,"valueTime":"12:00:01"`), []string{"profile-limit Observation.value"}},
		{"longest", p(el("Observation.value[x]", "", 0, "1", `"maxLength":3,`)), observation(codeText + `,"valueString":"äöüß"`), []string{"profile-limit Observation.value"}},
		{"longest met", p(el("Observation.value[x]", "", 0, "1", `"maxLength":4,`)), observation(codeText + `,"valueString":"äöüß"`), nil},
		{"shortest", p(el("Observation.value[x]", "", 0, "1", `"extension":[{"url":"`+core+`minLength","valueInteger":5}],`)), observation(codeText + `,"valueString":"äöüß"`), []string{"profile-limit Observation.value"}},
		{"places", quantityValue(`"extension":[{"url":"` + core + `maxDecimalPlaces","valueInteger":1}]`), observation(codeText + `,"valueQuantity":{"value":1.25}`), []string{"profile-limit Observation.value.value"}},
		{"form", p(el("Observation.value[x]", "", 0, "1", `"type":[{"code":"string","extension":[{"url":"`+core+`regex","valueString":"[a-z]+"}]}],`)), observation(codeText + `,"valueString":"a1"`), []string{"profile-limit Observation.value"}},
		{"form met", p(el("Observation.value[x]", "", 0, "1", `"extension":[{"url":"`+core+`regex","valueString":"a|ab"}],`)), observation(codeText + `,"valueString":"ab"`), nil},
		{"form nobody understands", p(el("Observation.value[x]", "", 0, "1", `"extension":[{"url":"`+core+`regex","valueString":"(?=a)"}],`)), observation(codeText + `,"valueString":"ab"`), []string{"profile-not-evaluated Observation|the regular expression of Observation.value[x]"}},
		{"value of a primitive", p(el("Observation.value[x]", "", 0, "1", ""), el("Observation.value[x].value", "", 1, "1", `"fixedString":"y",`)), observation(codeText + `,"valueString":"x"`), []string{"profile-fixed Observation.value"}},
		{"value of a primitive, not there", p(el("Observation.value[x]", "", 0, "1", ""), el("Observation.value[x].value", "", 1, "1", "")), observation(codeText + `,"_valueString":{"extension":[{"url":"u","valueString":"x"}]}`), []string{"profile-cardinality Observation.value"}},

		{"contained only", subject(`"aggregation":["contained"]`), observation(codeText + `,"subject":{"reference":"Patient/1"}`), []string{"profile-reference Observation.subject.reference|is referenced"}},
		{"not contained", subject(`"aggregation":["referenced","bundled"]`), observation(codeText + `,"contained":[{"resourceType":"Patient","id":"a"}],"subject":{"reference":"#a"}`), []string{"profile-reference Observation.subject.reference|is contained"}},
		{"bundled", subject(`"aggregation":["bundled"]`), observation(codeText + `,"subject":{"reference":"Patient/1"}`), nil},
		{"not bundled", subject(`"aggregation":["bundled"]`), `{"resourceType":"Bundle","type":"collection","entry":[{"fullUrl":"http://x.example/Observation/1","resource":` + observation(codeText+`,"subject":{"reference":"Patient/1"}`) + `}]}`, []string{"profile-reference Bundle.entry[0].resource.subject.reference|is referenced"}},
		{"of a version", subject(`"versioning":"specific"`), observation(codeText + `,"subject":{"reference":"Patient/1"}`), []string{"profile-reference Observation.subject.reference|names no version"}},
		{"of no version", subject(`"versioning":"independent"`), observation(codeText + `,"subject":{"reference":"Patient/1/_history/2"}`), []string{"profile-reference Observation.subject.reference|names a version"}},
		{"of either", subject(`"versioning":"either"`), observation(codeText + `,"subject":{"reference":"Patient/1/_history/2"}`), nil},

		{"slice by pattern", []string{byPattern("open", 1)}, components(component("1-8", value), component("3-4", value)), nil},
		{"slice missing", []string{byPattern("open", 1)}, components(component("3-4", value)), []string{"profile-slice Observation.component[0]|nearest is component[0], which differs in code.coding[0].code"}},
		{"slice missing, nothing there", []string{byPattern("open", 1)}, observation(codeText), []string{"profile-slice Observation|missing: component:a"}},
		{"slice twice", []string{byPattern("open", 0)}, components(component("1-8", value), component("1-8", value)), []string{"profile-slice Observation.component[1]|too many"}},
		{"slice prohibited", p(componentSlices("pattern", "code", "open", el("Observation.component", "a", 0, "0", ""), el("Observation.component.code", "", 1, "1", `"patternCodeableConcept":{"coding":[`+loinc("1-8")+`]},`))...), components(component("1-8", value)), []string{"profile-slice Observation.component[0]|does not allow"}},
		{"closed", []string{byPattern("closed", 0)}, components(component("2-6", value), component("3-4", value)), []string{"profile-slice Observation.component[1]|nearest slice is a, which differs in code.coding[0].code"}},
		{"open at the end", []string{byPattern("openAtEnd", 0)}, components(component("3-4", value), component("1-8", value)), []string{"profile-slice Observation.component[0]|after the slices"}},
		{"open at the end, met", []string{byPattern("openAtEnd", 0)}, components(component("1-8", value), component("3-4", value)), nil},
		{"ordered", []string{strings.Replace(byPattern("open", 0), `"rules":"open"`, `"rules":"open","ordered":true`, 1)}, components(component("2-6", value), component("1-8", value)), []string{"profile-slice Observation.component[1]|before slice b"}},
		{"slice by value", p(el("Observation.identifier", "", 0, "*", slicing("value", "system", "open")), el("Observation.identifier", "a", 1, "1", ""), el("Observation.identifier.system", "", 1, "1", `"fixedUri":"urn:a",`), el("Observation.identifier.value", "", 1, "1", "")), observation(codeText + `,"identifier":[{"system":"urn:a"}]`), []string{"profile-cardinality Observation.identifier[0]|missing: identifier:a.value"}},
		{"slice by value set", append(p(el("Observation.category", "", 0, "*", slicing("value", "$this", "open")), el("Observation.category", "a", 1, "1", `"binding":{"strength":"required","valueSet":"urn:vs"},`)), valueSet("urn:vs", `{"system":"urn:s","concept":[{"code":"1"}]}`)), observation(codeText + `,"category":[{"coding":[{"system":"urn:s","code":"1"}]},{"text":"other"}]`), nil},
		{"slice by a value set nobody knows", p(el("Observation.category", "", 0, "*", slicing("value", "$this", "closed")), el("Observation.category", "a", 1, "1", `"binding":{"strength":"required","valueSet":"urn:none"},`)), observation(codeText + `,"category":[{"coding":[{"system":"urn:s","code":"1"}]}]`), []string{"profile-value-set Observation.category[0]"}},
		{"slice by a value set nobody knows, nothing there", p(el("Observation.category", "", 0, "*", slicing("value", "$this", "open")), el("Observation.category", "a", 1, "1", `"binding":{"strength":"required","valueSet":"urn:none"},`)), observation(codeText), []string{"profile-slice Observation|missing: category:a"}},
		{"slice by a profile nobody knows", []string{definition("p", "Bundle", el("Bundle.entry", "", 0, "*", slicing("profile", "resource", "closed")), el("Bundle.entry", "a", 1, "1", ""), el("Bundle.entry.resource", "", 1, "1", `"type":[{"code":"Observation","profile":["`+guide+`none"]}],`))}, `{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + observation(codeText) + `}]}`, []string{"profile-unknown Bundle.entry[0].resource"}},
		{"slice by existence", p(componentSlices("exists", "value", "closed", el("Observation.component", "a", 0, "*", ""), el("Observation.component.value[x]", "", 1, "1", ""), el("Observation.component", "b", 0, "0", ""), el("Observation.component.value[x]", "", 0, "0", ""))...), components(component("1-8", value), component("1-8", `"dataAbsentReason":{"text":"x"}`)), []string{"profile-slice Observation.component[1]|does not allow component:b"}},
		{"slice by type", p(el("Observation.value[x]", "", 0, "1", slicing("type", "$this", "closed")), el("Observation.value[x]", "valueQuantity", 0, "1", `"type":[{"code":"Quantity"}],`), el("Observation.value[x].code", "", 1, "1", "")), observation(codeText + `,` + quantity), []string{"profile-cardinality Observation.value|missing: value:valueQuantity.code"}},
		{"slice by type, closed", p(el("Observation.value[x]", "", 0, "1", slicing("type", "$this", "closed")), el("Observation.value[x]", "valueQuantity", 0, "1", `"type":[{"code":"Quantity"}],`)), observation(codeText + `,"valueString":"v"`), []string{"profile-slice Observation.value|in no slice"}},
		{"slice by type of a reference", p(el("Observation.performer", "", 0, "*", slicing("type", "resolve()", "open")), el("Observation.performer", "a", 1, "1", `"type":[{"code":"Reference","targetProfile":["http://hl7.org/fhir/StructureDefinition/Patient"]}],`)), observation(codeText + `,"performer":[{"reference":"Organization/1"}]`), []string{"profile-slice Observation.performer[0]|missing: performer:a"}},
		{"slice by profile", append([]string{definition("p", "Bundle", el("Bundle.entry", "", 0, "*", slicing("profile", "resource", "closed")), el("Bundle.entry", "a", 1, "1", ""), el("Bundle.entry.resource", "", 1, "1", `"type":[{"code":"Observation","profile":["`+guide+`q"]}],`))}, definition("q", "Observation", el("Observation.method", "", 1, "1", ""))), `{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + observation(codeText+`,"method":{"text":"m"}`) + `}]}`, nil},
		{"slice by profile, not met", append([]string{definition("p", "Bundle", el("Bundle.entry", "", 0, "*", slicing("profile", "resource", "open")), el("Bundle.entry", "a", 1, "1", ""), el("Bundle.entry.resource", "", 1, "1", `"type":[{"code":"Observation","profile":["`+guide+`q"]}],`))}, definition("q", "Observation", el("Observation.method", "", 1, "1", ""))), `{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + observation(codeText) + `}]}`, []string{"profile-slice Bundle.entry[0]|missing: method in q"}},
		{"slice of a slice", p(el("Observation.identifier", "", 0, "*", slicing("value", "system", "open")), el("Observation.identifier", "a", 0, "*", slicing("value", "use", "open")), el("Observation.identifier.system", "", 1, "1", `"fixedUri":"urn:a",`), el("Observation.identifier", "a/old", 1, "1", ""), el("Observation.identifier.use", "", 1, "1", `"fixedCode":"old",`)), observation(codeText + `,"identifier":[{"system":"urn:a","use":"usual"}]`), []string{"profile-slice Observation.identifier[0]|missing: identifier:a/old"}},
		{"slices nobody can tell apart", p(componentSlices("value", "interpretation", "open", el("Observation.component", "a", 0, "1", ""))...), components(component("1-8", value)), []string{"profile-not-evaluated Observation.component[0]|nothing is asked"}},
		{"discriminator nobody understands", p(componentSlices("value", "code.where(true)", "open", el("Observation.component", "a", 0, "1", ""))...), components(component("1-8", value)), []string{"profile-not-evaluated Observation.component[0]|not understood"}},
		{"content reference", p(el("Observation.referenceRange", "", 0, "*", ""), el("Observation.referenceRange.text", "", 1, "1", ""), el("Observation.component", "", 0, "*", ""), `{"path":"Observation.component.referenceRange","min":0,"max":"*","contentReference":"#Observation.referenceRange"}`), observation(codeText + `,"component":[{"code":{"text":"x"},"referenceRange":[{"low":{"value":1}}]}]`), []string{"profile-cardinality Observation.component[0].referenceRange[0]|missing: referenceRange.text"}},
	}
}

func valueSet(url, include string) string {
	return `{"resourceType":"ValueSet","url":"` + url + `","compose":{"include":[` + include + `]}}`
}

// withIDs gives elements the ids that content references name.
func withIDs(text string) string {
	return strings.ReplaceAll(text, `{"path":"Observation.referenceRange",`, `{"id":"Observation.referenceRange","path":"Observation.referenceRange",`)
}

func TestRules(t *testing.T) {
	for _, tc := range ruleCases() {
		t.Run(tc.name, func(t *testing.T) {
			for i := range tc.profiles {
				tc.profiles[i] = withIDs(tc.profiles[i])
			}
			tc.run(t)
		})
	}
}

func (tc *ruleCase) run(t *testing.T) {
	c := profile.New(library(t, tc.profiles...), profile.Options{Profiles: []string{guide + "p"}})
	found := checked([]byte(tc.resource), c)
	if len(found) != len(tc.want) {
		t.Fatalf("found %d, want %d: %+v", len(found), len(tc.want), found)
	}
	for i, want := range tc.want {
		where, details, _ := strings.Cut(want, "|")
		if got := found[i].Rule + " " + found[i].Expression; got != where && got != where+"[0]" && !strings.HasPrefix(got, where+".") || !strings.Contains(found[i].Details.String(), details) {
			t.Errorf("got %s: %s\nwant %s", got, found[i].Details, want)
		}
	}
}

// Each rule of the layer is raised by one of the cases above or below.
func TestEveryProfileRuleIsRaised(t *testing.T) {
	raised := map[string]bool{"profile-must-support": true} // TestMustSupport
	for _, tc := range ruleCases() {
		for _, want := range tc.want {
			rule, _, _ := strings.Cut(want, " ")
			raised[rule] = true
		}
	}
	for _, r := range issue.Rules() {
		if r.Layer == issue.LayerProfile && !raised[r.ID] {
			t.Errorf("no case raises %s", r.ID)
		}
	}
}

func TestMustSupport(t *testing.T) {
	lib := library(t, definition("p", "Observation", el("Observation.method", "", 0, "1", `"mustSupport":true,`)))
	for asked, want := range map[bool]int{false: 0, true: 1} {
		c := profile.New(lib, profile.Options{Profiles: []string{guide + "p"}, MustSupport: asked})
		if found := checked([]byte(observation(codeText)), c); len(found) != want || want == 1 && found[0].Rule != "profile-must-support" {
			t.Errorf("asked %v: %+v", asked, found)
		}
	}
}

// A claim is followed when the profile is known and told once when it is not;
// a version that is not there is as good as unknown.
func TestClaims(t *testing.T) {
	lib := library(t, definition("p", "Observation", el("Observation.method", "", 1, "1", "")))
	for claim, want := range map[string][]string{
		guide + "p":       {"profile-cardinality"},
		guide + "p|1.2.0": {"profile-cardinality"},
		guide + "p|1.2":   {"profile-cardinality"},
		guide + "p|2.0.0": {"profile-unknown"},
		guide + "none":    {"profile-unknown"},
		"http://hl7.org/fhir/StructureDefinition/Observation": nil,
		"http://hl7.org/fhir/StructureDefinition/Patient":     {"profile-type"},
		"http://hl7.org/fhir/StructureDefinition/bodyweight":  nil, // left to the vital signs
	} {
		one := observation(codeText + `,"meta":{"profile":["` + claim + `"]}`)
		c := profile.New(lib, profile.Options{})
		var got []string
		for _, f := range checked([]byte(one), c) {
			got = append(got, f.Rule)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: got %v, want %v", claim, got, want)
		}
		if want != nil && profile.IsNote(issue.At(want[0])) {
			twice := `{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + one + `},{"resource":` + one + `}]}`
			if found := checked([]byte(twice), c); len(found) != 1 || !slices.Equal(c.Notes(), []string{found[0].Details.String()}) {
				t.Errorf("%s: told %d times, notes %q", claim, len(found), c.Notes())
			}
		}
	}
}

func TestLibraryCheck(t *testing.T) {
	lib := library(t, definition("p", "Observation"), strings.Replace(definition("d", "Observation"), `"snapshot"`, `"differential"`, 1),
		definition("max", "Observation", el("Observation.note", "", 0, "many", "")))
	for url, part := range map[string]string{
		guide + "p": "", guide + "none": "does not exist", guide + "d": "names no base", guide + "max": "no number",
		"http://hl7.org/fhir/StructureDefinition/bp": "", "http://hl7.org/fhir/StructureDefinition/bp|3.0.2": "does not exist",
		"https://runsheet.example/fhir/StructureDefinition/runsheet-weight": "", "https://runsheet.example/fhir/StructureDefinition/*": "does not exist",
		"http://hl7.org/fhir/StructureDefinition/../bp": "does not exist", "": "does not exist",
	} {
		err := lib.Check(url)
		if (err == nil) != (part == "") || err != nil && !strings.Contains(err.Error(), part) {
			t.Errorf("%q: %v, want %q", url, err, part)
		}
	}
}
