package recompute

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

func parse(t testing.TB, text string) *doc.Doc {
	t.Helper()
	d := new(doc.Doc)
	if findings := d.Parse([]byte(text), "x.json"); len(findings) > 0 {
		t.Fatal(findings)
	}
	return d
}

func TestTable(t *testing.T) {
	data, err := os.ReadFile("../testdata/session.json")
	if err != nil {
		t.Fatal(err)
	}
	rows := Table(parse(t, string(data)))
	var got []string
	for _, r := range rows {
		if r.Comparison != Same || r.Recomputed != r.Value || r.Session != "urn:uuid:e818a038-c776-521b-b608-2d6b0a7dc5e6" || r.Start == "" || r.Source == "" || len(r.Inputs) == 0 {
			t.Errorf("row %+v", r)
		}
		got = append(got, r.Key+" "+r.Value+" "+r.Unit)
	}
	want := "uf_rate_per_kg 6.8 mL/kg/h; uf_expected 1.45 L; uf_discrepancy -0.13 L; total_body_water 39.02 L; urea_reduction_ratio 43.8 %; sp_kt_v 0.70 1; e_kt_v 0.58 1"
	if text := strings.Join(got, "; "); text != want {
		t.Errorf("got %s", text)
	}
}

// statable are the methods all of whose inputs can be stated as components, so
// that one Observation holds the whole computation.
func statable() []calc.Method {
	var out []calc.Method
	for _, m := range calc.Methods() {
		ok := true
		for _, spec := range m.Inputs {
			in, known := profiles.InputOf(spec.Key)
			ok = ok && known && in.Unit != ""
		}
		if ok {
			out = append(out, m)
		}
	}
	return out
}

// observation writes a computed value with all inputs as components.
func observation(m calc.Method, inputs map[string]string, value string) string {
	var parts []string
	for _, spec := range m.Inputs {
		if text, ok := inputs[spec.Key]; ok {
			in, _ := profiles.InputOf(spec.Key)
			parts = append(parts, fmt.Sprintf(`{"code":{"coding":[{"system":%q,"code":%q}]},"valueQuantity":{"value":%s,"system":"http://unitsofmeasure.org","code":%q}}`,
				in.Coding.System, in.Coding.Code, text, in.Unit))
		}
	}
	return fmt.Sprintf(`{"resourceType":"Observation","status":"final","code":{"text":"x"},"method":{"coding":[{"system":%q,"code":%q}]},
"valueQuantity":{"value":%s,"system":"http://unitsofmeasure.org","code":%q},"component":[%s]}`, profiles.Algorithm, m.Code(), value, m.Unit, strings.Join(parts, ","))
}

// TestAnyMethodAgreesWithItself holds, for methods and inputs drawn at random,
// that the value a method gives is found right at every number of decimals it
// may be rounded to, and that a value off by two of its last digits is not.
func TestAnyMethodAgreesWithItself(t *testing.T) {
	methods := statable()
	if len(methods) < 3 {
		t.Fatalf("only %d methods can be stated by components", len(methods))
	}
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(methods).Draw(t, "method")
		texts, numbers := map[string]string{}, calc.Inputs{}
		for _, spec := range m.Inputs {
			tenths := rapid.IntRange(10, 9999).Draw(t, spec.Key)
			texts[spec.Key] = fmt.Sprintf("%d.%d", tenths/10, tenths%10)
			numbers[spec.Key] = float64(tenths) / 10
		}
		result := m.Compute(numbers)
		if !result.OK() {
			t.Skip(result.WhyNot)
		}
		decimals := rapid.IntRange(0, 4).Draw(t, "decimals")
		value := fmt.Sprintf("%.*f", decimals, result.Value)
		if row := only(t, observation(m, texts, value)); row.Comparison != Same {
			t.Fatalf("%s does not agree with %v: %+v", value, result.Value, row)
		}
		off := 2.0
		for range decimals {
			off /= 10
		}
		if row := only(t, observation(m, texts, fmt.Sprintf("%.*f", decimals, result.Value+off))); row.Comparison == Same {
			t.Fatalf("%v off by %v agrees: %+v", result.Value, off, row)
		}
	})
}

func only(t *rapid.T, text string) Row {
	var d doc.Doc
	if findings := d.Parse([]byte(text), "x.json"); len(findings) > 0 {
		t.Fatal(findings, text)
	}
	rows := Table(&d)
	if len(rows) != 1 {
		t.Fatalf("%d rows", len(rows))
	}
	return rows[0]
}

func TestDecimals(t *testing.T) {
	for text, want := range map[string]int{"1": 0, "1.0": 1, "-0.25": 2, "1e2": -2, "1.5e-3": 4, "1.5E+1": 0, "1e12": -12, "185e-11": 11, "1.5e-2000": 1001} {
		if got := decimals([]byte(text)); got != want {
			t.Errorf("%s has %d decimals, want %d", text, got, want)
		}
	}
}

// TestDerivedFromItself holds that a circle of computed values ends and is not
// taken for an input.
func TestDerivedFromItself(t *testing.T) {
	const text = `{"resourceType":"Bundle","type":"collection","entry":[
{"fullUrl":"urn:uuid:a","resource":{"resourceType":"Observation","status":"final","code":{"text":"x"},
 "method":{"coding":[{"system":"urn:oid:2.25.126534698663615512692703441983600176732","code":"ektv-rate-av-1"}]},
 "valueQuantity":{"value":1,"system":"http://unitsofmeasure.org","code":"1"},"derivedFrom":[{"reference":"urn:uuid:a"}]}}]}`
	var rec resources.Index
	rec.Read(parse(t, text))
	var rules []string
	Check(&rec, 0, nil, func(f issue.Finding) { rules = append(rules, f.Rule) })
	if len(rules) != 1 || rules[0] != "calc-input-missing" {
		t.Errorf("findings %v", rules)
	}
}

// TestInputsOfEveryKind takes inputs as they stand in records: urea nitrogen by
// mass for urea, a blood pressure panel for its two halves, a volume in
// millilitres, and sex as a code.
func TestInputsOfEveryKind(t *testing.T) {
	coded := func(system, code string) string {
		return fmt.Sprintf(`{"coding":[{"system":%q,"code":%q}]}`, system, code)
	}
	quantity := func(value, unit string) string {
		return fmt.Sprintf(`{"value":%s,"system":"http://unitsofmeasure.org","code":%q}`, value, unit)
	}
	inputs := map[string]string{
		"before":   `"code":` + coded(profiles.LOINC, "11065-0") + `,"valueQuantity":` + quantity("60", "mg/dL"),
		"after":    `"code":` + coded(profiles.LOINC, "11064-3") + `,"valueQuantity":` + quantity("18", "mg/dL"),
		"pressure": `"code":` + coded(profiles.LOINC, "85354-9") + `,"component":[{"code":` + coded(profiles.LOINC, "8480-6") + `,"valueQuantity":` + quantity("120", "mm[Hg]") + `},{"code":` + coded(profiles.LOINC, "8462-4") + `,"valueQuantity":` + quantity("75", "mm[Hg]") + `}]`,
		"removed":  `"code":` + coded(profiles.LOINC, "99741-1") + `,"valueQuantity":` + quantity("2100", "mL"),
		"weight":   `"code":` + "{\"coding\":[{\"system\":\"http://loinc.org\",\"code\":\"29463-7\"},{\"system\":\"http://loinc.org\",\"code\":\"8344-4\"}]}" + `,"valueQuantity":` + quantity("70", "kg"),
	}
	time, _ := profiles.InputOf("treated_time")
	cases := []struct{ method, value, unit, from, component string }{
		{"urr-1", "70.0", "%", "before after", ""}, // 100*(1 - 18/60)
		{"map-third-1", "90", "mm[Hg]", "pressure", ""},
		{"pulse-pressure-1", "45", "mm[Hg]", "pressure", ""},
		{"uf-rate-per-kg-1", "10.0", "mL/kg/h", "removed weight", `,"component":[{"code":` + coded(time.Coding.System, time.Coding.Code) + `,"valueQuantity":` + quantity("3", "h") + `},{"code":` + coded(profiles.Local, "input-sex") + `,"valueCodeableConcept":` + coded(profiles.AdministrativeSex, "female") + `}]`},
	}
	for _, c := range cases {
		entries, refs := "", ""
		for name := range strings.FieldsSeq(c.from) {
			entries += `{"fullUrl":"urn:uuid:` + name + `","resource":{"resourceType":"Observation","status":"final",` + inputs[name] + `}},`
			refs += `,{"reference":"urn:uuid:` + name + `"}`
		}
		rows := Table(parse(t, `{"resourceType":"Bundle","type":"collection","entry":[`+entries+`{"fullUrl":"urn:uuid:x","resource":{"resourceType":"Observation","status":"final","code":{"text":"x"},
"method":`+coded(profiles.Algorithm, c.method)+`,"valueQuantity":`+quantity(c.value, c.unit)+`,"derivedFrom":[`+refs[1:]+`]`+c.component+`}}]}`))
		if len(rows) != 1 || rows[0].Comparison != Same || rows[0].Recomputed != c.value {
			t.Errorf("%s: %+v", c.method, rows)
		}
	}
}
