package profile_test

import (
	"strings"
	"testing"

	"runsheet.example/validate/profile"
)

const animals = `{"resourceType":"CodeSystem","url":"urn:animals","content":"complete","concept":[
{"code":"animal","concept":[{"code":"dog","property":[{"code":"status","valueCode":"kept"}],"concept":[{"code":"poodle"}]},{"code":"cat"}]},
{"code":"plant"},{"code":"egg","property":[{"code":"parent","valueCode":"hen"}]},{"code":"hen","property":[{"code":"parent","valueCode":"egg"}]},{"code":"puppy","property":[{"code":"parent","valueCode":"dog"}]}]}`

// Value sets are expanded as far as that is possible without a server; where
// it is not, nothing is said of a code.
func TestExpansion(t *testing.T) {
	const all = `{"system":"urn:animals"}`
	filter := func(property, op, value string) string {
		return `{"system":"urn:animals","filter":[{"property":"` + property + `","op":"` + op + `","value":"` + value + `"}]}`
	}
	for name, tc := range map[string]struct {
		valueSet         string
		in, out, unknown string // codes of the system
	}{
		"concepts":       {valueSet("urn:vs", `{"system":"urn:animals","concept":[{"code":"dog"}]}`), "dog", "cat poodle", ""},
		"whole system":   {valueSet("urn:vs", all), "animal poodle plant", "fish", ""},
		"is-a":           {valueSet("urn:vs", filter("concept", "is-a", "dog")), "dog poodle puppy", "cat animal egg", ""},
		"descendent-of":  {valueSet("urn:vs", filter("concept", "descendent-of", "dog")), "poodle puppy", "dog cat", ""},
		"is-not-a":       {valueSet("urn:vs", filter("concept", "is-not-a", "dog")), "cat plant", "dog poodle", ""},
		"in":             {valueSet("urn:vs", filter("code", "in", "dog,cat")), "dog cat", "plant", ""},
		"a property":     {valueSet("urn:vs", filter("status", "=", "kept")), "dog", "cat", ""},
		"regex":          {valueSet("urn:vs", filter("code", "regex", "d.g")), "", "", "dog cat"},
		"unknown system": {valueSet("urn:vs", `{"system":"urn:other"}`), "", "dog", ""},
		"import":         {valueSet("urn:vs", `{"valueSet":["urn:mammals"]}`), "dog", "cat", ""},
		"import of none": {valueSet("urn:vs", `{"valueSet":["urn:none"]}`), "", "", "dog"},
		"both":           {valueSet("urn:vs", `{"system":"urn:animals","valueSet":["urn:mammals"]}`), "dog", "cat plant", ""},
		"of itself":      {valueSet("urn:vs", `{"valueSet":["urn:vs"]}`), "", "", "dog"},
		"exclude":        {strings.Replace(valueSet("urn:vs", all), `]}}`, `],"exclude":[{"system":"urn:animals","concept":[{"code":"dog"}]}]}}`, 1), "cat", "dog", ""},
		"exclude unsure": {strings.Replace(valueSet("urn:vs", all), `]}}`, `],"exclude":[`+filter("code", "regex", "d.g")+`]}}`, 1), "", "", "dog cat"},
		"expansion":      {`{"resourceType":"ValueSet","url":"urn:vs","expansion":{"contains":[{"system":"urn:animals","code":"cat","contains":[{"system":"urn:animals","code":"dog"}]},{"system":"urn:animals","code":"plant","abstract":true}]}}`, "cat dog", "plant", ""},
		"empty":          {`{"resourceType":"ValueSet","url":"urn:vs"}`, "", "", "dog"},
	} {
		lib := library(t, tc.valueSet, animals, valueSet("urn:mammals", `{"system":"urn:animals","concept":[{"code":"dog"}]}`),
			definition("p", "Observation", el("Observation.code", "", 1, "1", `"binding":{"strength":"required","valueSet":"urn:vs"},`)))
		c := profile.New(lib, profile.Options{Profiles: []string{guide + "p"}})
		for rule, codes := range map[string]string{"": tc.in, "profile-binding": tc.out, "profile-value-set": tc.unknown} {
			for _, code := range strings.Fields(codes) {
				got := ""
				for _, f := range checked([]byte(observation(`"code":{"coding":[{"system":"urn:animals","code":"`+code+`"}]}`)), c) {
					got = f.Rule
				}
				if got != rule {
					t.Errorf("%s: %s gives %q, want %q", name, code, got, rule)
				}
			}
		}
	}
}

// Value sets of R4 need no package.
func TestExpansionOfR4(t *testing.T) {
	for url, codes := range map[string][2]string{
		"http://hl7.org/fhir/ValueSet/administrative-gender|4.0.1": {`{"system":"http://hl7.org/fhir/administrative-gender","code":"other"}`, `{"system":"http://hl7.org/fhir/administrative-gender","code":"o"}`},
		"http://hl7.org/fhir/ValueSet/ucum-bodyweight":             {`{"system":"http://unitsofmeasure.org","code":"kg"}`, `{"system":"http://unitsofmeasure.org","code":"[stone_av]"}`},
		"http://hl7.org/fhir/ValueSet/ucum-units":                  {`{"system":"http://unitsofmeasure.org","code":"kg"}`, `{"system":"urn:x","code":"kg"}`},
		"http://terminology.hl7.org/ValueSet/v3-RouteOfAdministration": {`{"system":"http://terminology.hl7.org/CodeSystem/v3-RouteOfAdministration","code":"IVINJ"}`,
			`{"system":"http://terminology.hl7.org/CodeSystem/v3-RouteOfAdministration","code":"ivinj"}`},
	} {
		lib := library(t, definition("p", "Observation", el("Observation.code", "", 1, "1", `"binding":{"strength":"required","valueSet":"`+url+`"},`)))
		c := profile.New(lib, profile.Options{Profiles: []string{guide + "p"}})
		for i, coding := range codes {
			found := checked([]byte(observation(`"code":{"coding":[`+coding+`]}`)), c)
			if len(found) != i || i == 1 && found[0].Rule != "profile-binding" {
				t.Errorf("%s %s: %+v", url, coding, found)
			}
		}
	}
}
