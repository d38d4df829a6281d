package invariant_test

import (
	"fmt"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/vitals"
)

// hostile are documents made to be slow: each repeats something n times where
// a careless checker compares everything with everything.
var hostile = map[string]func(n int) string{
	"same-member": func(n int) string {
		return `{"resourceType":"Patient",` + strings.Repeat(`"deceasedBoolean":true,"_active":{"id":"x"},`, n) + `"id":"x"}`
	},
	"twin-arrays": func(n int) string {
		return `{"resourceType":"Patient","name":[{` + strings.Repeat(`"_given":[{"id":"x"}],`, n) + `"family":"x"}]}`
	},
	"long-twin": func(n int) string {
		return `{"resourceType":"Patient","name":[{"_given":[` + strings.Repeat(`{"id":"x"},`, n) + `{"id":"x"}]}]}`
	},
	"nulls": func(n int) string {
		return `{"resourceType":"Patient","name":[{"_given":[{"id":"x"}],"given":[` + strings.Repeat(`null,`, n) + `null]}]}`
	},
	"unknown-members": func(n int) string {
		return `{"resourceType":"Patient",` + strings.Repeat(`"x":1,`, n) + `"id":"x"}`
	},
	"contained": func(n int) string {
		var b strings.Builder
		b.WriteString(`{"resourceType":"Basic","code":{"text":"x"},"contained":[`)
		for i := range n {
			fmt.Fprintf(&b, `{"resourceType":"Basic","id":"a%d","code":{"text":"x"},"subject":{"reference":"#b%d"}},`, i, i)
		}
		b.WriteString(`{"resourceType":"Basic"}]}`)
		return b.String()
	},
	"codings": func(n int) string {
		codings := `{"coding":[` + strings.Repeat(`{"system":"http://loinc.org","code":"x"},`, n) + `{"code":"y"}]}`
		other := `{"coding":[` + strings.Repeat(`{"system":"http://loinc.org","code":"z"},`, n) + `{"code":"y"}]}`
		return `{"resourceType":"Observation","valueInteger":1,"code":` + codings + `,"component":[{"code":` + other + `}]}`
	},
	"same-urls": func(n int) string {
		return `{"resourceType":"Bundle","type":"collection","entry":[` + strings.Repeat(`{"fullUrl":"urn:x","resource":{"resourceType":"Patient"}},`, n) + `{"fullUrl":"urn:x"}]}`
	},
	"nested-bundles": func(n int) string {
		const depth = 60
		open, end := strings.Repeat(`{"resourceType":"Bundle","type":"x","entry":[{"resource":`, depth), strings.Repeat(`}]}`, depth)
		return open + `{"resourceType":"List","entry":[` + strings.Repeat(`{"item":{"reference":"#x"}},`, n) + `{}]}` + end
	},
	"care-teams": func(n int) string {
		var b strings.Builder
		b.WriteString(`{"resourceType":"Bundle","type":"collection","entry":[{"resource":{"resourceType":"CareTeam","participant":[`)
		for i := range n {
			fmt.Fprintf(&b, `{"member":{"reference":"Patient/%d"},"onBehalfOf":{"display":"x"}},`, i)
		}
		b.WriteString(`{}]}}`)
		for i := range n {
			fmt.Fprintf(&b, `,{"resource":{"resourceType":"Patient","id":"%d"}}`, i+n/2)
		}
		b.WriteString(`]}`)
		return b.String()
	},
	"link-ids": func(n int) string {
		return `{"resourceType":"Questionnaire","item":[` + strings.Repeat(`{"linkId":"a","type":"string"},`, n) + `{"linkId":"b"}]}`
	},
}

// An expression that compares everything with everything is given up, and
// that is said.
func TestTooMuchToEvaluate(t *testing.T) {
	var b strings.Builder
	b.WriteString(`{"resourceType":"ImplementationGuide","definition":{"grouping":[`)
	for i := range 3000 {
		fmt.Fprintf(&b, `{"id":"g%d","name":"x"},`, i)
	}
	b.WriteString(`{"name":"x"}],"resource":[` + strings.Repeat(`{"reference":{"display":"x"},"groupingId":"g2999"},`, 3000) + `{"reference":{"display":"x"},"groupingId":"none"}]}}`)
	if got := check(t, b.String()); got != "r4-more " {
		t.Errorf("got %.200q", got)
	}
}

// BenchmarkHostile shows, by the bytes per second at n and four times n, that
// time grows with the document and not with its square.
func BenchmarkHostile(b *testing.B) {
	for name, make := range hostile {
		for _, n := range []int{5_000, 20_000} {
			text := []byte(make(n))
			b.Run(fmt.Sprintf("%s-%d", name, n), func(b *testing.B) {
				var d doc.Doc
				var s structure.Checker
				var c invariant.Checker
				quiet := func(issue.Finding) {}
				b.SetBytes(int64(len(text)))
				for b.Loop() {
					d.Parse(text, "")
					s.Check(&d, quiet)
					c.Check(&s, quiet)
					vitals.Check(&s, quiet)
				}
			})
		}
	}
}

// The same documents, small: whatever is wrong with them, nothing fails.
func TestHostile(t *testing.T) {
	for name, make := range hostile {
		var d doc.Doc
		var s structure.Checker
		var c invariant.Checker
		found := 0
		add := func(issue.Finding) { found++ }
		for _, f := range d.Parse([]byte(make(3000)), "") {
			add(f)
		}
		s.Check(&d, add)
		c.Check(&s, add)
		vitals.Check(&s, add)
		if found == 0 || found > 3000 {
			t.Errorf("%s: %d findings", name, found)
		}
	}
}
