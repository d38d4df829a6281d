package resources_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

func read(t *testing.T, text string) *resources.Index {
	t.Helper()
	var d doc.Doc
	if findings := d.Parse([]byte(text), "x.json"); len(findings) > 0 {
		t.Fatal(findings)
	}
	var r resources.Index
	r.Read(&d)
	return &r
}

const bundle = `{"resourceType":"Bundle","type":"collection","entry":[
{"fullUrl":"urn:uuid:a","resource":{"resourceType":"Patient","id":"p"}},
{"fullUrl":"http://a.example/r4/Device/d","resource":{"resourceType":"Device","id":"d"}},
{"fullUrl":"urn:uuid:c","resource":{"resourceType":"Observation","contained":[{"resourceType":"Device","id":"in"}]}},
{"fullUrl":"urn:uuid:e","resource":{"resourceType":"Bundle","type":"collection","entry":[
 {"fullUrl":"urn:uuid:a","resource":{"resourceType":"Patient","id":"q"}}]}}]}`

// Indices of the resources of bundle, in document order.
const (
	outer = iota
	patient
	device
	observation
	contained
	nested
	nestedPatient
)

func TestResolve(t *testing.T) {
	r := read(t, bundle)
	if len(r.Resources) != nestedPatient+1 {
		t.Fatalf("%d resources", len(r.Resources))
	}
	for _, c := range []struct {
		text    string
		from    int
		target  int
		outcome resources.Outcome
	}{
		{"", observation, resources.Nowhere, resources.NoReference},
		{"urn:uuid:a", observation, patient, resources.Found},
		{"urn:uuid:a", nestedPatient, nestedPatient, resources.Found},
		{"urn:uuid:c", nestedPatient, observation, resources.Found},
		{"urn:uuid:A", observation, resources.Nowhere, resources.Missing},
		{"#in", observation, contained, resources.Found},
		{"#", contained, observation, resources.Found},
		{"#out", observation, resources.Nowhere, resources.Missing},
		{"Patient/p", observation, patient, resources.Found},
		{"Patient/p/_history/3", observation, patient, resources.Found},
		{"Patient/none", observation, resources.Nowhere, resources.Elsewhere},
		{"Device/d", observation, device, resources.Found},
		{"http://a.example/r4/Device/d", observation, device, resources.Found},
		{"http://b.example/r4/Device/d", observation, resources.Nowhere, resources.Elsewhere},
		{"Patient?identifier=a|b", observation, resources.Nowhere, resources.Conditional},
		{"urn:uuid:a", outer, resources.Nowhere, resources.Missing},
	} {
		target, outcome := r.ResolveText([]byte(c.text), c.from)
		if target != c.target || outcome != c.outcome {
			t.Errorf("%q from %d: %d, %d, want %d, %d", c.text, c.from, target, outcome, c.target, c.outcome)
		}
	}
}

func TestTargetType(t *testing.T) {
	for text, want := range map[string]string{
		"Patient/1": "Patient", "http://a.example/r4/Patient/1": "Patient", "Patient/1/_history/2": "Patient",
		"Patient?identifier=a|b": "Patient", "urn:uuid:x": "", "#x": "", "x": "",
	} {
		if got := string(resources.TargetType([]byte(text))); got != want {
			t.Errorf("%q names %q, want %q", text, got, want)
		}
	}
}

// TestSecondsAgreeWithTime holds our reading of an instant to the standard
// library's, over all years and offsets FHIR allows.
func TestSecondsAgreeWithTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		offset := rapid.IntRange(-14*60, 14*60).Draw(t, "offset")
		seconds := rapid.Int64Range(-62135596800, 253402300799).Draw(t, "seconds")
		at := time.Unix(seconds, 0).In(time.FixedZone("", offset*60))
		if at.Year() < 1 || at.Year() > 9999 {
			t.Skip("outside the four-digit years")
		}
		text := at.Format(time.RFC3339)
		if rapid.Bool().Draw(t, "fraction") && text[len(text)-1] == 'Z' {
			text = text[:len(text)-1] + ".123Z"
		}
		if got, ok := resources.Seconds([]byte(text)); !ok || got != seconds {
			t.Fatalf("%s is %d, %v, want %d", text, got, ok, seconds)
		}
	})
}

func TestSecondsRefuses(t *testing.T) {
	for _, text := range []string{"", "2026", "2026-01-01", "2026-01-01T10:00:00", "2026-01-01T10:00Z", "2026-01-01T10:00:00+0100",
		"2026-01-01T10:00:00.", "2026-01-01 10:00:00Z", "x026-01-01T10:00:00Z", "2026-01-01T10:00:00+01:0x"} {
		if got, ok := resources.Seconds([]byte(text)); ok {
			t.Errorf("%q is read as %d", text, got)
		}
	}
}

// TestRowOfEveryMeasurement holds that an Observation written as the code
// table says is found to be of its field again.
func TestRowOfEveryMeasurement(t *testing.T) {
	for _, m := range profiles.Measurements() {
		codings := ""
		for i, c := range m.Codings {
			if i > 0 {
				codings += ","
			}
			codings += `{"system":"` + c.System + `","code":"` + c.Code + `"}`
		}
		category := ""
		if c, ok := m.Phase.Coding(); ok {
			category = `,"category":[{"coding":[{"system":"` + c.System + `","code":"` + c.Code + `"}]}]`
		}
		unit := ""
		if len(m.Units) > 0 {
			unit = `,"valueQuantity":{"value":1,"system":"http://unitsofmeasure.org","code":"` + m.Units[0] + `"}`
		}
		res := read(t, `{"resourceType":"Observation","code":{"coding":[`+codings+`]}`+category+unit+`}`).Root()
		if res.Row == nil || res.Row.Field != m.Field || !res.Exact {
			t.Errorf("%s is read as %+v, exact %v", m.Field, res.Row, res.Exact)
		}
	}
}

// TestWeightWithoutPhase holds that a body weight which does not say whether
// it is from before or after is not taken for either.
func TestWeightWithoutPhase(t *testing.T) {
	res := read(t, `{"resourceType":"Observation","code":{"coding":[{"system":"http://loinc.org","code":"29463-7"}]}}`).Root()
	if res.Row == nil || res.Exact {
		t.Errorf("row %+v, exact %v", res.Row, res.Exact)
	}
}

// TestUsualConversions holds the short way of converting to the long one.
func TestUsualConversions(t *testing.T) {
	for _, c := range []struct {
		number   float64
		from, to string
		want     float64
	}{
		{1320, "mL", "L", 1.32}, {0.48, "L/h", "mL/h", 480}, {9, "L/h", "mL/min", 150}, {2.5, "h", "min", 150},
		{70900, "g", "kg", 70.9}, {156.3, "[lb_av]", "kg", 70.896487431}, {98.6, "[degF]", "Cel", 37},
	} {
		got, ok := resources.Quantity{Number: c.number, Unit: []byte(c.from)}.In(c.to)
		if !ok || got < c.want-1e-12 || got > c.want+1e-12 {
			t.Errorf("%v %s is %v %s, want %v", c.number, c.from, got, c.to, c.want)
		}
	}
	if _, ok := (resources.Quantity{Number: 1, Unit: []byte("kg")}).In("L"); ok {
		t.Error("kilograms were converted to litres")
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(bundle))
	f.Add([]byte(`{"resourceType":"Observation","component":[{"code":{}}],"subject":{"reference":"#"}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var d doc.Doc
		d.Parse(data, "x")
		var r resources.Index
		r.Read(&d)
		for i := range r.Resources {
			if target, outcome := r.Resolve(r.Resources[i].Subject, i); outcome == resources.Found && (target < 0 || target >= len(r.Resources)) {
				t.Fatalf("resolved to %d of %d", target, len(r.Resources))
			}
		}
	})
}
