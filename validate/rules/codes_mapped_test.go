package rules

import (
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// Each mapped code stands beside its source, or in the place of a local one.
func TestMappedCodes(t *testing.T) {
	codes, err := profiles.ReadCodeMap([]byte("code,target,display\n"+
		"29463-7,urn:a|W,Gewicht\nblood-flow-rate,urn:a|Q,Fluss\n8480-6,urn:a|S,\n"), "codes.csv")
	if err != nil {
		t.Fatal(err)
	}
	coding := func(system, code string) string { return `{"system":"` + system + `","code":"` + code + `"}` }
	weight, flow, total := coding(profiles.LOINC, "29463-7"), coding(profiles.Local, "blood-flow-rate"), coding(profiles.Local, "dialysate-flow-rate")
	observation := func(codings string) string {
		return `{"resourceType":"Observation","status":"final","code":{"coding":[` + codings + `]}}`
	}
	for name, c := range map[string]struct{ text, rule string }{
		"beside":             {observation(weight + "," + coding("urn:a", "W")), ""},
		"beside, with text":  {observation(flow + `,{"system":"urn:a","code":"Q","display":"Fluss"}`), ""},
		"not mapped":         {observation(total), ""},
		"in its place":       {observation(coding("urn:a", "Q")), ""},
		"missing":            {observation(weight), "term-map-missing"},
		"missing, local":     {observation(flow), "term-map-missing"},
		"of another":         {observation(weight + "," + coding("urn:a", "W") + "," + coding("urn:a", "Q")), "term-map-other"},
		"of another local":   {observation(total + "," + coding("urn:a", "Q")), "term-map-other"},
		"LOINC replaced":     {observation(coding("urn:a", "W")), "term-map-other"},
		"another display":    {observation(flow + `,{"system":"urn:a","code":"Q","display":"Dialysat"}`), "term-display"},
		"component, missing": {`{"resourceType":"Observation","status":"final","code":{"text":"x"},"component":[{"code":{"coding":[` + coding(profiles.LOINC, "8480-6") + `]}}]}`, "term-map-missing"},
		"report":             {`{"resourceType":"DiagnosticReport","status":"final","code":{"coding":[` + flow + `]}}`, "term-map-missing"},
		"another type":       {`{"resourceType":"Procedure","status":"completed","subject":{"display":"x"},"code":{"coding":[` + flow + `]}}`, ""},
	} {
		var d doc.Doc
		d.Parse([]byte(c.text), name)
		var types structure.Checker
		types.Check(&d, func(issue.Finding) {})
		var rec resources.Index
		rec.Read(&d)
		checker := Checker{Codes: codes}
		var found []string
		checker.Check(&rec, &types, profile.NewLibrary(), false, func(f issue.Finding) {
			if f.Rule == "term-map-missing" || f.Rule == "term-map-other" || f.Rule == "term-display" {
				found = append(found, f.Rule)
			}
		})
		if len(found) > 1 || len(found) == 1 != (c.rule != "") || len(found) == 1 && found[0] != c.rule {
			t.Errorf("%s: %v, want %q", name, found, c.rule)
		}
	}
}
