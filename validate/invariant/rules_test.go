package invariant_test

import (
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

// check returns rule and expression of every finding but dom-6, which most of
// these small documents break.
func check(t *testing.T, text string) string {
	t.Helper()
	var d doc.Doc
	if f := d.Parse([]byte(text), ""); len(f) > 0 {
		t.Fatalf("%s: %+v", text, f[0])
	}
	var list []string
	var s structure.Checker
	s.Check(&d, func(issue.Finding) {})
	new(invariant.Checker).Check(&s, func(f issue.Finding) {
		if f.Rule != "inv-dom-6" {
			list = append(list, strings.TrimPrefix(f.Rule, "inv-")+" "+f.Expression)
		}
	})
	return strings.Join(list, "; ")
}

// ext puts a value into an extension of a resource.
func ext(ending, value string) string {
	return `{"resourceType":"Basic","code":{"text":"x"},"extension":[{"url":"http://example.org/e","value` + ending + `":` + value + `}]}`
}

const at = " Basic.extension[0].value"

func TestDatatypes(t *testing.T) {
	for _, c := range []struct{ ending, value, want string }{
		{"Quantity", `{"value":1,"system":"http://unitsofmeasure.org","code":"kg"}`, ""},
		{"Quantity", `{"value":1,"unit":"kg"}`, ""},
		{"Quantity", `{"value":1,"code":"kg"}`, "qty-3" + at},
		{"Quantity", `{"value":1,"code":"kg","_system":{"extension":[{"url":"http://x.org","valueCode":"y"}]}}`, ""},
		{"Quantity", `{"id":"x"}`, "ele-1" + at},
		{"Age", `{"value":30,"system":"http://unitsofmeasure.org","code":"a"}`, ""},
		{"Age", `{"value":0,"system":"http://unitsofmeasure.org","code":"a"}`, "age-1" + at},
		{"Age", `{"value":30}`, "age-1" + at},
		{"Age", `{"value":30,"code":"a"}`, "qty-3" + at},
		{"Age", `{"value":30,"system":"http://example.org","code":"a"}`, "age-1" + at},
		{"Count", `{"value":3,"system":"http://unitsofmeasure.org","code":"1"}`, ""},
		{"Count", `{"value":3.0,"system":"http://unitsofmeasure.org","code":"1"}`, "cnt-3" + at},
		{"Count", `{"value":3,"system":"http://unitsofmeasure.org","code":"kg"}`, "cnt-3" + at},
		{"Distance", `{"value":3}`, "dis-1" + at},
		{"Duration", `{"system":"http://unitsofmeasure.org","code":"h"}`, "drt-1" + at},
		{"Duration", `{"value":4.5,"unit":"hours"}`, ""},
		{"Attachment", `{"data":"AAAA"}`, "att-1" + at},
		{"Attachment", `{"data":"AAAA","contentType":"text/plain"}`, ""},
		{"ContactPoint", `{"value":"1"}`, "cpt-2" + at},
		{"Expression", `{"language":"text/cql"}`, "exp-1" + at},
		{"Expression", `{"language":"text/cql","reference":"http://x.org"}`, ""},
		{"DataRequirement", `{"type":"Patient","codeFilter":[{"path":"a","searchParam":"b"}],"dateFilter":[{"valueDateTime":"2026"}]}`,
			"drq-1" + at + ".codeFilter[0]; drq-2" + at + ".dateFilter[0]"},
		{"Range", `{"low":{"value":1},"high":{"value":2}}`, ""},
		{"Range", `{"low":{"value":2},"high":{"value":1.99}}`, "rng-2" + at},
		{"Range", `{"low":{"value":2,"unit":"kg"},"high":{"value":1,"unit":"g"}}`, ""},
		{"Range", `{"low":{"value":2,"system":"http://unitsofmeasure.org","code":"kg"},"high":{"value":2001,"system":"http://unitsofmeasure.org","code":"g"}}`, ""},
		{"Range", `{"low":{"value":2,"system":"http://unitsofmeasure.org","code":"kg"},"high":{"value":1999,"system":"http://unitsofmeasure.org","code":"g"}}`, "rng-2" + at},
		{"Range", `{"low":{"value":37,"system":"http://unitsofmeasure.org","code":"Cel"},"high":{"value":98,"system":"http://unitsofmeasure.org","code":"[degF]"}}`, "rng-2" + at},
		{"Range", `{"low":{"value":2,"system":"http://unitsofmeasure.org","code":"kg"},"high":{"value":1,"system":"http://unitsofmeasure.org","code":"m"}}`, ""},
		{"Range", `{"low":{"value":1e99999999,"system":"http://unitsofmeasure.org","code":"kg"},"high":{"value":1,"system":"http://unitsofmeasure.org","code":"g"}}`, ""},
		{"Range", `{"low":{"value":2,"comparator":"<"},"high":{"value":3}}`, "sqty-1" + at + ".low"},
		{"Ratio", `{"numerator":{"value":1}}`, "rat-1" + at},
		{"Ratio", `{"denominator":{"value":1}}`, "rat-1" + at},
		{"Ratio", `{"numerator":{"value":1},"denominator":{"value":2}}`, ""},
		{"Ratio", `{"extension":[{"url":"http://x.org","valueCode":"y"}]}`, ""},
		{"Reference", `{"display":"x"}`, ""},
		{"Reference", `{"identifier":{"value":"x"}}`, ""},
		{"Reference", `{"reference":"Patient/1"}`, ""},
		{"Reference", `{"reference":"#"}`, ""},
		{"Reference", `{"reference":"#p"}`, "ref-1" + at},
		{"Timing", `{"repeat":{"duration":-1,"period":-1,"periodMax":2,"durationMax":2,"countMax":2}}`,
			"tim-1" + at + ".repeat; tim-2" + at + ".repeat; tim-4" + at + ".repeat; tim-5" + at + ".repeat; tim-8" + at + ".repeat"},
		{"Timing", `{"repeat":{"periodMax":2,"durationMax":2}}`, "tim-6" + at + ".repeat; tim-7" + at + ".repeat"},
		{"Timing", `{"repeat":{"offset":5}}`, "tim-9" + at + ".repeat"},
		{"Timing", `{"repeat":{"offset":5,"when":["AC","CM"]}}`, "tim-9" + at + ".repeat"},
		{"Timing", `{"repeat":{"offset":5,"when":["AC","PCM"]}}`, ""},
		{"Timing", `{"repeat":{"timeOfDay":["10:00:00"],"when":["AC"]}}`, "tim-10" + at + ".repeat"},
		{"TriggerDefinition", `{"type":"named-event"}`, "trd-3" + at},
		{"TriggerDefinition", `{"type":"data-added","timingDate":"2026","condition":{"language":"x","expression":"y"}}`, "trd-2" + at + "; trd-3" + at},
	} {
		if got := check(t, ext(c.ending, c.value)); got != c.want {
			t.Errorf("%s %s:\n got %s\nwant %s", c.ending, c.value, got, c.want)
		}
	}
}

// The traps of time: offsets, the hour that comes twice, precision that does
// not allow a decision.
func TestPeriods(t *testing.T) {
	for _, c := range []struct {
		start, end string
		ok         bool
	}{
		{"2026-10-25T02:30:00+02:00", "2026-10-25T02:15:00+01:00", true}, // 45 minutes
		{"2026-01-01T09:00:00Z", "2026-01-01T10:00:00+02:00", false},
		{"2026-01-01T09:00:00Z", "2026-01-01T09:00:00Z", true},
		{"2026-01-01T09:00:00.5Z", "2026-01-01T09:00:00.50Z", true},
		{"2026-01-01T09:00:00.6Z", "2026-01-01T09:00:00.55Z", false},
		{"2026-01-01T09:00:01Z", "2026-01-01T09:00:00.999Z", false},
		{"2026-01-01T00:30:00+01:00", "2025-12-31T23:45:00Z", true},
		{"2024-02-29T23:30:00-01:00", "2024-03-01T00:15:00Z", false},
		{"2026", "2025", false},
		{"2026", "2026", true},
		{"2026-05", "2026-04-30", false},
		{"2026-05", "2026", true},
		{"2026-05-02", "2026-05-01", false},
		{"2026-05-02", "2026-05-01T23:30:00-02:00", true}, // the day may be any zone's
		{"2026-05-03", "2026-05-01T10:00:00Z", false},
		{"2026-05-01T10:00:00Z", "2026-05-01", true},
	} {
		got := check(t, ext("Period", `{"start":"`+c.start+`","end":"`+c.end+`"}`))
		if (got == "") != c.ok {
			t.Errorf("%s to %s: got %q", c.start, c.end, got)
		}
	}
}

func TestElements(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`{"resourceType":"Basic","code":{"text":"x"},"extension":[{"url":"http://x.org"}]}`, "ext-1 Basic.extension[0]"},
		{`{"resourceType":"Basic","code":{"text":"x"},"extension":[{"url":"http://x.org","valueCode":"a","extension":[{"url":"b","valueCode":"c"}]}]}`, "ext-1 Basic.extension[0]"},
		{`{"resourceType":"Patient","contact":[{"gender":"male"}]}`, "pat-1 Patient.contact[0]"},
		{`{"resourceType":"Patient","contact":[{"name":{"text":"x"}}]}`, ""},
		{`{"resourceType":"Patient","name":[{"id":"x"}]}`, "ele-1 Patient.name[0]"},
	} {
		if got := check(t, c.text); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.text, got, c.want)
		}
	}
}

func TestContained(t *testing.T) {
	basic := func(inside, outside string) string {
		return `{"resourceType":"Basic","code":{"text":"x"},"contained":[` + inside + `]` + outside + `}`
	}
	const patient = `{"resourceType":"Patient","id":"p"}`
	for _, c := range []struct{ text, want string }{
		{basic(patient, `,"subject":{"reference":"#p"}`), ""},
		{basic(patient, ``), "dom-3 Basic.contained[0]"},
		{basic(patient, `,"subject":{"reference":"#P"}`), "dom-3 Basic.contained[0]; ref-1 Basic.subject"},
		{basic(patient, `,"extension":[{"url":"http://x.org","valueUri":"#p"}]`), ""},
		{basic(patient, `,"extension":[{"url":"http://x.org","valueCanonical":"#p"}]`), ""},
		{basic(patient, `,"extension":[{"url":"http://x.org","valueString":"#p"}]`), "dom-3 Basic.contained[0]"},
		{basic(`{"resourceType":"Patient","id":"p","link":[{"other":{"reference":"#"},"type":"refer"}]}`, ``), ""},
		{basic(patient+`,{"resourceType":"Basic","id":"b","code":{"text":"y"},"subject":{"reference":"#p"}}`, `,"extension":[{"url":"http://x.org","valueReference":{"reference":"#b"}}]`), ""},
		{basic(`{"resourceType":"Patient","id":"p","meta":{"versionId":"1","security":[{"code":"x"}]}}`, `,"subject":{"reference":"#p"}`),
			"dom-4 Basic.contained[0].meta.versionId; dom-5 Basic.contained[0].meta.security[0]"},
		{basic(`{"resourceType":"Basic","id":"b","code":{"text":"y"},"contained":[`+patient+`],"subject":{"reference":"#p"}}`, `,"subject":{"reference":"#b"}`),
			"dom-2 Basic.contained[0].contained[0]; ref-1 Basic.contained[0].subject"},
		{`{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + basic(patient, `,"subject":{"reference":"#p"}`) + `}]}`, ""},
		{`{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + basic(patient, ``) + `}]}`, "dom-3 Bundle.entry[0].resource.contained[0]"},
	} {
		if got := check(t, c.text); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.text, got, c.want)
		}
	}
}

func TestObservations(t *testing.T) {
	observation := func(more string) string {
		return `{"resourceType":"Observation","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"1-8"}]},` + more + `}`
	}
	for _, c := range []struct{ more, want string }{
		{`"valueInteger":1`, ""},
		{`"dataAbsentReason":{"text":"x"}`, ""},
		{`"valueInteger":1,"dataAbsentReason":{"text":"x"}`, "obs-6 Observation"},
		{`"_valueString":{"extension":[{"url":"http://x.org","valueCode":"y"}]},"dataAbsentReason":{"text":"x"}`, "obs-6 Observation"},
		{`"referenceRange":[{"type":{"text":"x"}}]`, "obs-3 Observation.referenceRange[0]"},
		{`"referenceRange":[{"text":"x"}]`, ""},
		{`"valueInteger":1,"component":[{"code":{"text":"a"}},{"code":{"coding":[{"system":"http://loinc.org","code":"1-8","display":"other words"}]}}]`, "obs-7 Observation.component[1]"},
		{`"component":[{"code":{"coding":[{"system":"http://loinc.org","code":"1-8"}]}}]`, ""},
		{`"valueInteger":1,"component":[{"code":{"coding":[{"system":"http://example.org","code":"1-8"}]}}]`, ""},
		{`"valueInteger":1,"component":[{"code":{"coding":[{"system":"http://loinc.org","code":"2-8"}]}}]`, ""},
	} {
		if got := check(t, observation(c.more)); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.more, got, c.want)
		}
	}
}

func TestBundles(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`"type":"collection","total":1`, "bdl-1 Bundle"},
		{`"type":"searchset","total":1,"entry":[{"resource":{"resourceType":"Patient"},"search":{"mode":"match"}}]`, ""},
		{`"type":"collection","entry":[{"resource":{"resourceType":"Patient"}},{"resource":{"resourceType":"Patient"},"search":{"mode":"match"}}]`, "bdl-2 Bundle.entry[1].search"},
		{`"type":"transaction","entry":[{"resource":{"resourceType":"Patient"},"request":{"method":"POST","url":"Patient"}},{"resource":{"resourceType":"Patient"}}]`, "bdl-3 Bundle.entry[1]"},
		{`"type":"collection","entry":[{"resource":{"resourceType":"Patient"},"request":{"method":"POST","url":"Patient"}}]`, "bdl-3 Bundle.entry[0]"},
		{`"entry":[{"resource":{"resourceType":"Patient"},"request":{"method":"POST","url":"Patient"}}]`, ""},
		{`"type":"batch-response","entry":[{"resource":{"resourceType":"Patient"}}]`, "bdl-4 Bundle.entry[0]"},
		{`"type":"collection","entry":[{"resource":{"resourceType":"Patient"},"response":{"status":"200"}}]`, "bdl-4 Bundle.entry[0]"},
		{`"type":"collection","entry":[{"fullUrl":"http://x.org/Patient/1"}]`, "bdl-5 Bundle.entry[0]"},
		{`"type":"collection","entry":[{"fullUrl":"http://x.org/Patient/1/_history/2","resource":{"resourceType":"Patient"}}]`, "bdl-8 Bundle.entry[0]"},
		{`"type":"collection","entry":[{"fullUrl":"http://x.org/b","resource":{"resourceType":"Patient"}},{"fullUrl":"http://x.org/a","resource":{"resourceType":"Patient"}},{"fullUrl":"http://x.org/b","resource":{"resourceType":"Patient"}}]`, "bdl-7 Bundle.entry[2]"},
		{`"type":"collection","entry":[{"fullUrl":"http://x.org/b","resource":{"resourceType":"Patient","meta":{"versionId":"1"}}},{"fullUrl":"http://x.org/b","resource":{"resourceType":"Patient","meta":{"versionId":"2"}}}]`, ""},
		{`"type":"document","entry":[{"resource":{"resourceType":"Patient"}}]`, "bdl-9 Bundle; bdl-10 Bundle; bdl-11 Bundle"},
		{`"type":"message","entry":[{"resource":{"resourceType":"Patient"}}]`, "bdl-12 Bundle"},
	} {
		if got := check(t, `{"resourceType":"Bundle",`+c.text+`}`); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.text, got, c.want)
		}
	}
}
