package validate_test

import (
	"strings"
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/validate"
)

// With a map of a receiver's codes, each stands beside its source; a code in
// the place of a local one is checked as that one.
func TestReceiverCodes(t *testing.T) {
	codes, err := profiles.ReadCodeMap([]byte("code,target\n29463-7,urn:oid:2.25.99|W\nblood-flow-rate,urn:oid:2.25.99|Q\n"), "codes.csv")
	if err != nil {
		t.Fatal(err)
	}
	weight, flow := `{"system":"http://loinc.org","code":"29463-7"}`, `{"system":"`+profiles.Local+`","code":"blood-flow-rate"}`
	theirWeight, theirFlow := `{"system":"urn:oid:2.25.99","code":"W"}`, `{"system":"urn:oid:2.25.99","code":"Q"}`
	for name, c := range map[string]struct {
		codings []string
		unit    string
		rule    string // of terms and units
	}{
		"beside":                          {[]string{weight, theirWeight}, "kg", ""},
		"missing":                         {[]string{weight}, "kg", "term-map-missing"},
		"of another":                      {[]string{weight, theirWeight, theirFlow}, "kg", "term-map-other unit-dimension"},
		"in its place":                    {[]string{theirFlow}, "mL/min", ""},
		"beside, in another dimension":    {[]string{flow, theirFlow}, "kg", "unit-dimension"},
		"in its place, another dimension": {[]string{theirFlow}, "kg", "unit-dimension"},
	} {
		text := `{"resourceType":"Observation","status":"final","code":{"coding":[` + strings.Join(c.codings, ",") + `]},` +
			`"valueQuantity":{"value":80,"unit":"` + c.unit + `","system":"http://unitsofmeasure.org","code":"` + c.unit + `"}}`
		var found []string
		for _, f := range validate.New(validate.Options{Codes: codes}).Bytes([]byte(text), name) {
			if strings.HasPrefix(f.Rule, "term-") || strings.HasPrefix(f.Rule, "unit-") {
				found = append(found, f.Rule)
			}
		}
		if got := strings.Join(found, " "); got != c.rule {
			t.Errorf("%s: %s, want %s", name, got, c.rule)
		}
	}
}
