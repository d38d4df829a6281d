package invariant

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

// Every published expression can be read, and so can those that stand in for
// one, each of which says something else.
func TestExpressionsCompile(t *testing.T) {
	replaced, mine := 0, 0
	for i := range published {
		p := &published[i]
		r := p.asRule()
		if _, ok := instead[p.key]; ok {
			replaced++
			if p.text() == p.expression {
				t.Errorf("%s: nothing is replaced", p.key)
			}
		}
		if _, ok := byHand[p.key]; ok {
			mine++
		}
		if r.decides || p.isElsewhere() {
			continue
		}
		if _, err := r.expression(); err != nil {
			t.Errorf("%s %s: %v", p.path, p.key, err)
		}
	}
	if replaced != len(instead) || mine != len(byHand) {
		t.Errorf("%d of %d replaced and %d of %d by hand are published", replaced, len(instead), mine, len(byHand))
	}
}

// What a function finds to hold, the expression does not find broken. Bundles
// without a type, of which nothing can be said, are left out.
func TestByHandAgrees(t *testing.T) {
	asked := map[string]int{}
	for name, text := range hostileToHand(t) {
		var d doc.Doc
		d.Parse(text, name)
		if d.Broken() || d.Root() == doc.None {
			continue
		}
		var s structure.Checker
		s.Check(&d, func(issue.Finding) {})
		var c Checker
		c.Check(&s, func(issue.Finding) {})
		for _, n := range s.Objects() {
			own := c.rulesOf(s.TypeOf(n))
			for _, r := range append(own.rules, own.domain...) {
				if r.holds == nil || r.decides || s.TypeOf(n) == structure.Bundle && !c.hasBundleType(n) {
					continue
				}
				holds, broken := r.holds(&c, n), c.broken(&r, n) != doc.None
				if holds && broken {
					t.Errorf("%s: %s at %s holds by hand only", name, r.id, d.Finding(n, r.id, issue.Text{}).Expression)
				}
				if broken {
					asked[r.id]++
				}
			}
		}
	}
	if len(asked) < 9 {
		t.Errorf("only %v were broken", asked)
	}
}

// hostileToHand are the validation cases, the examples of our package, and a
// session with each of its members left out or standing twice under the name
// of another.
func hostileToHand(t *testing.T) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	read := func(file string) []byte {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	var cases []struct{ Name, Text string }
	if err := json.Unmarshal(read("../../testdata/validation_cases.json"), &cases); err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		out["case "+c.Name] = []byte(c.Text)
	}
	names, err := filepath.Glob("../../profiles/package/*/*.json")
	if err != nil || len(names) < 10 {
		t.Fatalf("%d files: %v", len(names), err)
	}
	for _, name := range names {
		out[filepath.Base(name)] = read(name)
	}
	session := read("../testdata/session.json")
	for _, name := range []string{"system", "code", "value", "request", "resource", "fullUrl", "start", "end", "dose", "name", "low", "high", "text"} {
		out["without "+name] = bytes.ReplaceAll(session, []byte(`"`+name+`":`), []byte(`"x":`))
	}
	for _, pair := range [][2]string{{"interpretation", "dataAbsentReason"}, {"unit", "comparator"}, {"request", "search"}, {"fullUrl", "total"}, {"transaction", "document"}, {"transaction", "message"}, {"transaction", "batch-response"}, {"2026", "2025"}, {":00Z", ":00+05:00"}} {
		out[fmt.Sprint(pair)] = bytes.ReplaceAll(session, []byte(pair[0]), []byte(pair[1]))
	}
	return out
}
