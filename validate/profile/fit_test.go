package profile

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"fmt"
	"strings"
	"testing"

	"runsheet.example/profiles"
)

// made is a package of made-up profiles, as a unit would give it.
func made(t *testing.T, definitions ...string) *Package {
	t.Helper()
	var out bytes.Buffer
	zip := gzip.NewWriter(&out)
	archive := tar.NewWriter(zip)
	for i, text := range definitions {
		if err := archive.WriteHeader(&tar.Header{Name: fmt.Sprintf("package/%d.json", i), Mode: 0o600, Size: int64(len(text))}); err != nil {
			t.Fatal(err)
		}
		if _, err := archive.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := archive.Close(); err != nil {
		t.Fatal(err)
	}
	if err := zip.Close(); err != nil {
		t.Fatal(err)
	}
	p, err := ReadPackage(&out)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// constrained is a profile with only a differential.
func constrained(name, typ string, elements ...string) string {
	return fmt.Sprintf(`{"resourceType":"StructureDefinition","url":"https://base.example/%s","status":"active","kind":"resource","abstract":false,"type":%q,"baseDefinition":"http://hl7.org/fhir/StructureDefinition/%s","derivation":"constraint","differential":{"element":[{"id":%[2]q,"path":%[2]q}%[4]s]}}`,
		name, typ, typ, strings.Join(append([]string{""}, elements...), ","))
}

func samples(t *testing.T, names ...string) (out []Sample) {
	t.Helper()
	for _, name := range names {
		_, text, err := profiles.Find(name)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, Sample{name, text})
	}
	return out
}

// National base profiles slice code.coding in three ways: by a pattern, by the
// system with one LOINC code, and by the code, of which two are asked for.
func TestFitAll(t *testing.T) {
	slicing := func(by string) string {
		return `{"id":"Observation.code.coding","path":"Observation.code.coding","slicing":{"discriminator":[{"type":"` + by + `"}],"rules":"open"}}`
	}
	slice := func(name, more string) string {
		return fmt.Sprintf(`{"id":"Observation.code.coding:%[1]s","path":"Observation.code.coding","sliceName":%[1]q,"min":1,"max":"1"%s}`, name, more)
	}
	part := func(slice, name, more string) string {
		return fmt.Sprintf(`{"id":"Observation.code.coding:%s.%[2]s","path":"Observation.code.coding.%[2]s","min":1,%[3]s}`, slice, name, more)
	}
	const loinc = `"fixedUri":"http://loinc.org"`
	p := made(t,
		constrained("by-pattern", "Observation", slicing(`pattern","path":"$this`), slice("loinc", `,"patternCoding":{"system":"http://loinc.org","code":"8310-5"}`)),
		constrained("by-system", "Observation", slicing(`value","path":"system`), slice("loinc", ""), part("loinc", "system", loinc), part("loinc", "code", `"fixedCode":"29463-7"`)),
		constrained("two-codes", "Observation", slicing(`value","path":"code`), slice("body", ""), part("body", "system", loinc), part("body", "code", `"fixedCode":"8310-5"`), slice("core", ""), part("core", "system", loinc), part("core", "code", `"fixedCode":"8329-5"`)),
		constrained("device", "Observation", `{"id":"Observation.code","path":"Observation.code","patternCodeableConcept":{"coding":[{"system":"http://loinc.org","code":"29463-7"}]}}`, `{"id":"Observation.device","path":"Observation.device","min":1}`, `{"id":"Observation.bodySite","path":"Observation.bodySite","min":1}`),
		constrained("any", "Observation"),
		constrained("patient", "Patient"),
		constrained("glucose", "Observation", `{"id":"Observation.code","path":"Observation.code","patternCodeableConcept":{"coding":[{"system":"http://loinc.org","code":"2339-0"}]}}`),
		strings.Replace(constrained("baseless", "Observation"), "http://hl7.org/fhir/StructureDefinition/Observation", "https://base.example/missing", 1),
	)
	fits, others := FitAll([]*Package{p}, samples(t, "example-temperature", "example-weight-before", "example-pulse"))
	if others != 1 {
		t.Errorf("%d profiles of other types", others)
	}
	want := map[string]struct {
		verdict Verdict
		fit     string
		errors  int
	}{
		"any":        {FitsAll, "example-temperature example-weight-before example-pulse", 0},
		"baseless":   {CannotCheck, "", 0},
		"by-pattern": {FitsAll, "example-temperature", 0},
		"by-system":  {FitsNone, "", 2}, // we write a second LOINC code
		"device":     {FitsNone, "", 2},
		"glucose":    {OtherKind, "", 1},
		"two-codes":  {FitsNone, "", 1},
	}
	if len(fits) != len(want) {
		t.Errorf("%d profiles", len(fits))
	}
	for _, f := range fits {
		name := strings.TrimPrefix(f.URL, "https://base.example/")
		if w := want[name]; f.Verdict != w.verdict || strings.Join(f.Fits, " ") != w.fit || len(f.Errors) != w.errors {
			t.Errorf("%s: %+v", name, f)
		}
		if f.Verdict == CannotCheck && len(f.NotChecked) != 1 {
			t.Errorf("%s: no reason", name)
		}
	}
}
