package profile_test

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/validate/profile"
)

// withoutSnapshots is our own package as one that ships differentials only.
func withoutSnapshots(t *testing.T) *profile.Library {
	t.Helper()
	names, err := fs.Glob(profiles.Package(), "StructureDefinition-*.json")
	if err != nil || len(names) < 10 {
		t.Fatal(names, err)
	}
	var files []string
	for _, name := range names {
		text, err := fs.ReadFile(profiles.Package(), name)
		if err != nil {
			t.Fatal(err)
		}
		var sd map[string]json.RawMessage
		if err := json.Unmarshal(text, &sd); err != nil {
			t.Fatal(err)
		}
		delete(sd, "snapshot")
		if text, err = json.Marshal(sd); err != nil {
			t.Fatal(err)
		}
		files = append(files, string(text))
	}
	return library(t, files...)
}

// What our profiles say is found from their differentials alone: the examples
// conform, and each invalid one is rejected with the same findings.
func TestDifferentialsOnly(t *testing.T) {
	c := profile.New(withoutSnapshots(t), profile.Options{})
	shipped := profile.New(profile.NewLibrary(), profile.Options{})
	rejected := 0
	for _, kind := range []string{profiles.Example, profiles.Invalid} {
		for name, text := range artifacts(t, kind) {
			got, want := fmt.Sprint(checked(text, c)), fmt.Sprint(checked(text, shipped))
			if got != want {
				t.Errorf("%s: %s\nwith snapshots: %s", name, got, want)
			}
			if want != "[]" {
				rejected++
			}
		}
	}
	if rejected < 30 {
		t.Errorf("only %d are rejected", rejected)
	}
}

// differential is a profile "p" with a differential only.
func differential(name, typ, base string, elements ...string) string {
	return fmt.Sprintf(`{"resourceType":"StructureDefinition","url":"%s%s","type":"%s","derivation":"constraint","baseDefinition":"%s",
"differential":{"element":[%s]}}`, guide, name, typ, base, strings.Join(elements, ","))
}

var anyNumber = regexp.MustCompile(`"(min|max)":("many"|-1),?`)

// de is an element of a differential: what is -1 or "many" is not said.
func de(path, slice string, minimum int, maximum, more string) string {
	if more != "" && !strings.HasSuffix(more, ",") {
		more += ","
	}
	text := anyNumber.ReplaceAllString(el(path, slice, minimum, maximum, more), "")
	return strings.ReplaceAll(text, ",}", "}")
}

const inR4 = "http://hl7.org/fhir/StructureDefinition/"

func TestDifferential(t *testing.T) {
	loincOnly := de("Observation.code.coding.system", "", 1, "many", `"fixedUri":"http://loinc.org"`)
	for _, tc := range []ruleCase{
		{"into a type", []string{differential("p", "Observation", inR4+"Observation", loincOnly)}, observation(`"code":{"coding":[{"system":"urn:x","code":"1"}]}`), []string{"profile-fixed Observation.code.coding[0].system"}},
		{"on a profile without snapshot", []string{differential("p", "Observation", guide+"q", de("Observation.note", "", -1, "0", "")), differential("q", "Observation", inR4+"Observation", loincOnly)}, observation(`"code":{"coding":[{"code":"1"}]},"note":[{"text":"x"}]`), []string{"profile-cardinality Observation.code.coding[0]", "profile-cardinality Observation.note"}},
		{"on a profile of R4", []string{differential("p", "Observation", inR4+"bodyweight", de("Observation.method", "", 1, "many", ""))}, observation(`"category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs"}]}],"code":{"coding":[{"system":"http://loinc.org","code":"29463-7"}]},"subject":{"reference":"Patient/1"},"effectiveDateTime":"2026-01-01","valueQuantity":{"value":1,"unit":"kg","system":"http://unitsofmeasure.org","code":"t"}`), []string{"profile-binding Observation.value.code", "profile-cardinality Observation|missing: method"}},
		{"a slice", []string{differential("p", "Observation", inR4+"Observation", de("Observation.component", "", -1, "many", slicing("pattern", "code", "open")), de("Observation.component", "a", 1, "many", ""), strings.Replace(de("Observation.component.code", "", -1, "many", `"patternCodeableConcept":{"coding":[`+loinc("1-8")+`]}`), `{`, `{"id":"Observation.component:a.code",`, 1))}, observation(codeText + `,"component":[` + component("2-6", `"valueString":"x"`) + `]`), []string{"profile-slice Observation.component[0]|missing: component:a"}},
		{"the short form", []string{differential("p", "Observation", inR4+"Observation", de("Observation.valueQuantity", "", -1, "many", ""), de("Observation.valueQuantity.code", "", 1, "many", ""))}, observation(codeText + `,"valueString":"x"`), []string{"profile-type Observation.value", "profile-slice Observation.value"}},
		{"the short form, below", []string{differential("p", "Observation", inR4+"Observation", de("Observation.valueQuantity.code", "", 1, "many", ""))}, observation(codeText + `,"valueQuantity":{"value":1}`), []string{"profile-cardinality Observation.value|missing: value:valueQuantity.code"}},
		{"an extension", []string{differential("p", "Observation", inR4+"Observation", de("Observation.extension", "x", 1, "many", `"type":[{"code":"Extension","profile":["`+guide+`x"]}]`)), differential("x", "Extension", inR4+"Extension", de("Extension.url", "", -1, "many", `"fixedUri":"`+guide+`x"`), de("Extension.value[x]", "", 1, "many", `"type":[{"code":"string"}]`))}, observation(codeText + `,"extension":[{"url":"` + guide + `x","valueInteger":1}]`), []string{"profile-type Observation.extension[0].value"}},
		{"into an extension's profile", []string{differential("p", "Observation", inR4+"Observation", de("Observation.extension", "x", -1, "many", `"type":[{"code":"Extension","profile":["`+guide+`x"]}]`), strings.Replace(de("Observation.extension.value[x]", "", -1, "many", `"fixedString":"a"`), `{`, `{"id":"Observation.extension:x.value[x]",`, 1)), differential("x", "Extension", inR4+"Extension", de("Extension.url", "", -1, "many", `"fixedUri":"`+guide+`x"`))}, observation(codeText + `,"extension":[{"url":"` + guide + `x","valueString":"b"}]`), []string{"profile-fixed Observation.extension[0].value"}},
		{"a content reference", []string{differential("p", "Observation", inR4+"Observation", de("Observation.component.referenceRange.text", "", 1, "many", ""))}, observation(codeText + `,"referenceRange":[{"low":{"value":1}}],"component":[{"code":{"text":"x"},"referenceRange":[{"low":{"value":1}}]}]`), []string{"profile-cardinality Observation.component[0].referenceRange[0]|missing: component.referenceRange.text"}},
		{"an invariant", []string{differential("p", "Observation", inR4+"Observation", de("Observation", "", -1, "many", `"constraint":[{"key":"obs-6","severity":"error","human":"coded","expression":"code.coding.exists()"}]`))}, observation(codeText), []string{"profile-invariant Observation|obs-6 of p: coded"}},
	} {
		t.Run(tc.name, func(t *testing.T) { tc.run(t) })
	}
}

// A profile that goes into itself by the type of an element is held against
// that type there.
func TestDifferentialIntoItself(t *testing.T) {
	self := differential("p", "Extension", inR4+"Extension", de("Extension.url", "", -1, "many", `"fixedUri":"`+guide+`p"`),
		de("Extension.extension", "x", -1, "many", `"type":[{"code":"Extension","profile":["`+guide+`p"]}]`),
		strings.Replace(de("Extension.extension.value[x]", "", 1, "many", ""), "{", `{"id":"Extension.extension:x.value[x]",`, 1))
	outer := differential("q", "Observation", inR4+"Observation", de("Observation.extension", "x", -1, "many", `"type":[{"code":"Extension","profile":["`+guide+`p"]}]`))
	c := profile.New(library(t, self, outer), profile.Options{Profiles: []string{guide + "q"}})
	inner := `{"url":"` + guide + `p","extension":[{"url":"urn:y","valueString":"y"}]}`
	found := checked([]byte(observation(codeText+`,"extension":[{"url":"`+guide+`p","extension":[`+inner+`]}]`)), c)
	if len(found) != 1 || found[0].Rule != "profile-cardinality" || found[0].Expression != "Observation.extension[0].extension[0]" {
		t.Errorf("%+v", found)
	}
}

// A snapshot that cannot be made is an error that says why, whatever the
// definitions are.
func TestNoSnapshot(t *testing.T) {
	obs := inR4 + "Observation"
	status := de("Observation.status", "", 1, "1", "")
	long := []string{differential("p", "Observation", guide+"p0", status)}
	for i := range 80 {
		long = append(long, differential(fmt.Sprint("p", i), "Observation", fmt.Sprint(guide, "p", i+1), status))
	}
	many := strings.Repeat(status+",", 20_000) + status
	deep := de("Questionnaire"+strings.Repeat(".item", 70)+".linkId", "", 1, "1", "")
	var wide []string
	for i := range 1200 {
		wide = append(wide, strings.Replace(de("Observation.component.code.coding.system", "", 1, "1", ""), "{", fmt.Sprintf(`{"id":"Observation.component:s%d.code.coding.system",`, i), 1))
	}
	for name, tc := range map[string]struct {
		files []string
		want  string
	}{
		"no differential":    {[]string{differential("p", "Observation", obs)}, "no differential"},
		"no base":            {[]string{differential("p", "Observation", "", status)}, "names no base"},
		"a base nobody has":  {[]string{differential("p", "Observation", "urn:none", status)}, "its base: StructureDefinition urn:none: is not in the packages given"},
		"base of R5":         {[]string{differential("p", "Observation", obs+"|5.0.0", status)}, "is not in the packages given"},
		"itself":             {[]string{differential("p", "Observation", guide+"p", status)}, "based on itself"},
		"each other":         {[]string{differential("p", "Observation", guide+"q", status), differential("q", "Observation", guide+"p", status)}, "based on itself"},
		"too long a chain":   {long, "are based on each other"},
		"of another type":    {[]string{differential("p", "Patient", obs, de("Patient.active", "", 1, "1", ""))}, "of Patient and its base of Observation"},
		"another root":       {[]string{differential("p", "Observation", obs, de("Patient.active", "", 1, "1", ""))}, "is no element of Observation"},
		"no such element":    {[]string{differential("p", "Observation", obs, de("Observation.colour", "", 1, "1", ""))}, "there is no element colour"},
		"no such type":       {[]string{differential("p", "Observation", obs, de("Observation.valueColour", "", 1, "1", ""))}, "there is no element valueColour"},
		"below a value":      {[]string{differential("p", "Observation", obs, de("Observation.status.value.x", "", 1, "1", ""))}, "there is no element x"},
		"too many elements":  {[]string{differential("p", "Observation", obs, many)}, "more than 20000 elements"},
		"grows too large":    {[]string{differential("p", "Observation", obs, wide...)}, "more than 20000 elements"},
		"too deep":           {[]string{differential("p", "Questionnaire", inR4+"Questionnaire", deep)}, "is no element of Questionnaire"},
		"a base without any": {[]string{differential("p", "Observation", guide+"q", status), strings.Replace(differential("q", "Observation", obs, status), "constraint", "specialization", 1)}, "has no elements"},
		"an empty path":      {[]string{differential("p", "Observation", obs, `{"path":""}`)}, "is no element"},
	} {
		err := library(t, tc.files...).Check(guide + "p")
		if err == nil || !strings.Contains(err.Error(), tc.want) || !strings.Contains(err.Error(), "has no snapshot") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
