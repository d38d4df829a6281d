package structure_test

import (
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

// FuzzCheck runs the checker over whatever the parser takes: it must not
// crash, must give every finding a place, and must say the same twice.
func FuzzCheck(f *testing.F) {
	f.Add([]byte(`{"resourceType":"Patient","name":[{"given":["a",null],"_given":[null,{"id":"x"}]}],"gender":"x"}`))
	f.Add([]byte(`{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"Observation","valueInteger":1.5,"_valueString":{}}}]}`))
	f.Add([]byte(`{"resourceType":"Parameters","parameter":[{"valueDate":"2026-02-30","resource":{"resourceType":"Patient","contained":[{}]}}]}`))
	f.Add([]byte(`{"resourceType":"Basic","text":{"div":"<div xmlns=\"http://www.w3.org/1999/xhtml\">&lt;</div>"},"code":[null]}`))
	var c structure.Checker
	f.Fuzz(func(t *testing.T, data []byte) {
		var d doc.Doc
		d.Parse(data, "")
		var first []string
		c.Check(&d, func(f issue.Finding) {
			if f.Rule != "r4-more" && (f.Line < 1 || f.Column < 1) {
				t.Fatalf("no place: %+v", f)
			}
			first = append(first, f.Rule+f.Expression)
		})
		var again []string
		new(structure.Checker).Check(&d, func(f issue.Finding) { again = append(again, f.Rule+f.Expression) })
		if strings.Join(first, "\n") != strings.Join(again, "\n") {
			t.Fatalf("first %v, then %v", first, again)
		}
		for n := doc.Node(0); int(n) < d.Len(); n++ {
			if d.Kind(n) == doc.Object {
				c.Child(n, "value")
			}
			c.AllowedTargets(n)
			c.ElementName(n)
		}
	})
}

// FuzzNarrative hands the XHTML reader any text at all.
func FuzzNarrative(f *testing.F) {
	for _, s := range []string{
		`<div xmlns="http://www.w3.org/1999/xhtml"><p title='a'>x &amp; y<br/></p><!-- c --></div>`,
		`<div xmlns="http://www.w3.org/1999/xhtml"><a href="java&#x53;cript:x">x</a>`,
		`<div><![CDATA[x]]></div`, `<div xmlns=`, `<div a="1" a="2">`, `&#`, `<div xmlns="x">&#9999999999;</div>`,
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		quoted := strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`, "\r", `\r`, "\t", `\t`).Replace(text)
		check(`{"resourceType":"Basic","code":{"text":"x"},"text":{"status":"generated","div":"` + quoted + `"}}`)
	})
}
