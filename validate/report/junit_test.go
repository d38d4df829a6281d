package report_test

import (
	"encoding/xml"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// The elements of a JUnit report: what each may have, in which order, and which
// attributes it must have: a part of junit-10.xsd, which the xUnit plugin of
// Jenkins publishes, and which has no order.
var junitForm = map[string]struct{ within, required, optional []string }{
	"testsuites": {[]string{"testsuite"}, nil, nil},
	"testsuite":  {[]string{"testcase", "system-out"}, []string{"name", "tests", "failures", "errors"}, []string{"skipped"}},
	"testcase":   {[]string{"skipped", "failure", "system-out"}, []string{"name", "classname"}, nil},
	"skipped":    {nil, nil, []string{"message"}},
	"failure":    {nil, nil, []string{"message", "type"}},
	"system-out": {nil, nil, nil},
}

// holdForm holds a report to that form, and returns its test cases.
func holdForm(t *testing.T, text string) (cases []junitCase) {
	t.Helper()
	decoder := xml.NewDecoder(strings.NewReader(text))
	var open []string
	last := map[int]int{} // by depth, the place of the latest element in its parent's order
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%v in\n%s", err, text)
		}
		switch token := token.(type) {
		case xml.StartElement:
			name := token.Name.Local
			form, known := junitForm[name]
			if !known || len(open) == 0 && name != "testsuites" {
				t.Fatalf("element %s in %v", name, open)
			}
			if len(open) > 0 {
				at := slices.Index(junitForm[open[len(open)-1]].within, name)
				if at < last[len(open)] {
					t.Errorf("element %s in %v, or not in its place", name, open)
				}
				last[len(open)] = at
			}
			var given []string
			for _, a := range token.Attr {
				given = append(given, a.Name.Local)
				if !slices.Contains(slices.Concat(form.required, form.optional), a.Name.Local) {
					t.Errorf("%s has %s", name, a.Name.Local)
				}
			}
			for _, a := range form.required {
				if !slices.Contains(given, a) {
					t.Errorf("%s has no %s", name, a)
				}
			}
			open = append(open, name)
			last[len(open)] = 0
		case xml.EndElement:
			open = open[:len(open)-1]
		}
	}
	var got struct {
		Suites []struct {
			Tests    int         `xml:"tests,attr"`
			Failures int         `xml:"failures,attr"`
			Skipped  int         `xml:"skipped,attr"`
			Cases    []junitCase `xml:"testcase"`
		} `xml:"testsuite"`
	}
	if err := xml.Unmarshal([]byte(text), &got); err != nil {
		t.Fatal(err)
	}
	for _, s := range got.Suites {
		failed, skipped := 0, 0
		names := map[string]bool{}
		for _, c := range s.Cases {
			if names[c.Name] {
				t.Errorf("two test cases are %s", c.Name)
			}
			names[c.Name] = true
			if c.Failure != nil {
				failed++
			}
			if c.Skipped != nil {
				skipped++
			}
		}
		if s.Tests != len(s.Cases) || s.Failures != failed || s.Skipped != skipped {
			t.Errorf("%d tests, %d failures, %d skipped, of %d, %d, %d", s.Tests, s.Failures, s.Skipped, len(s.Cases), failed, skipped)
		}
		cases = append(cases, s.Cases...)
	}
	return cases
}

type junitCase struct {
	Name    string        `xml:"name,attr"`
	Failure *junitVerdict `xml:"failure"`
	Skipped *junitVerdict `xml:"skipped"`
	Out     string        `xml:"system-out"`
}

type junitVerdict struct {
	Message string `xml:"message,attr"`
	Type    string `xml:"type,attr"`
	Text    string `xml:",chardata"`
}

// canary stands in every text of a finding that can hold a value.
const canary = "CANARY"

func canaryFinding(rule, file, expression string, line int) issue.Finding {
	f := issue.At(rule)
	f.File, f.Line, f.Column, f.Expression = file, line, 7, expression
	f.Session, f.Details, f.Value, f.Expected, f.Mend = canary, issue.Literal(canary), canary, issue.Literal(canary), issue.Literal(canary)
	f.Cells = []issue.Cell{{File: "a.csv", Row: 4, Column: 2, Heading: canary}}
	return f
}

func TestJUnit(t *testing.T) {
	accepted := &issue.Acceptance{Reason: "known & <\x1b", Until: "2026-01-31", By: "J. Doe"}
	failing := canaryFinding("unit-not-ucum", "out/a.json", "Observation.value", 3)
	waived := canaryFinding("unit-not-ucum", "out/a.json", "Observation.component[0].value", 4)
	waived.Accepted = accepted
	onlyWaived := canaryFinding("unit-not-ucum", "out/b.json", "Observation.value", 3)
	onlyWaived.Accepted = accepted
	list := []issue.Finding{
		failing, waived, canaryFinding("clin-record-unusual", "out/a.json", "", 5),
		onlyWaived, canaryFinding("clin-record-unusual", "out/c.json", "", 0),
		canaryFinding("log-file-missing", "a.csv", "", 4), canaryFinding("month-gap", "", "", 0),
	}
	list[len(list)-1].Cells = nil
	opts := report.Options{Documents: []string{"out/0.json", "out/a.json", "out/b.json"}, NotChecked: []string{canary}}
	text := print(t, report.JUnit, list, opts)
	if strings.Contains(text, canary) {
		t.Errorf("a value stands in\n%s", text)
	}
	if other := print(t, report.JUnit, list, report.Options{Documents: opts.Documents, Language: issue.German}); strings.Contains(other, canary) {
		t.Errorf("a value stands in\n%s", other)
	}
	got := map[string]junitCase{}
	var names []string
	for _, c := range holdForm(t, text) {
		got[c.Name] = c
		names = append(names, c.Name)
	}
	if want := []string{"out/0.json", "out/a.json", "out/b.json", "out/c.json", "a.csv", "all documents"}; !slices.Equal(names, want) {
		t.Errorf("test cases %q, want %q", names, want)
	}
	a := got["out/a.json"]
	if a.Failure == nil || a.Skipped != nil || a.Failure.Message != "unit-not-ucum (1)" || a.Failure.Type != "error" ||
		!strings.Contains(a.Failure.Text, "\n  at line 3, column 7: Observation.value\n") ||
		!strings.Contains(a.Out, "accepted until 2026-01-31 by J. Doe: known & <\ufffd\n") || !strings.Contains(a.Out, "warning clin-record-unusual, against the rule: ") {
		t.Errorf("got %+v %+v", a, a.Failure)
	}
	if b := got["out/b.json"]; b.Failure != nil || b.Skipped == nil || b.Skipped.Message != "accepted: unit-not-ucum (1)" ||
		!strings.Contains(b.Skipped.Text, "accepted until 2026-01-31 by J. Doe: known") {
		t.Errorf("got %+v %+v", b, b.Skipped)
	}
	for _, name := range []string{"out/0.json", "out/c.json"} {
		if c := got[name]; c.Failure != nil || c.Skipped != nil || (c.Out == "") != (name == "out/0.json") {
			t.Errorf("got %+v", c)
		}
	}
	if at := "\n  at a.csv B4\n"; !strings.Contains(got["a.csv"].Failure.Text, at) {
		t.Errorf("got %+v, want %q", got["a.csv"].Failure, at)
	}
}

// TestJUnitStrict holds that with strict a warning makes a test case fail, and
// that long lists are cut but for --all.
func TestJUnitStrict(t *testing.T) {
	var list []issue.Finding
	for line := range 50 {
		list = append(list, canaryFinding("clin-record-unusual", "out/a.json", "", line+1))
	}
	for _, all := range []bool{false, true} {
		cases := holdForm(t, print(t, report.JUnit, list, report.Options{Strict: true, All: all}))
		if len(cases) != 1 || cases[0].Failure == nil || cases[0].Failure.Type != "warning" || cases[0].Failure.Message != "clin-record-unusual (50)" {
			t.Fatalf("got %+v", cases)
		}
		places := strings.Count(cases[0].Failure.Text, "  at ")
		if rest := strings.Contains(cases[0].Failure.Text, "  and 30 more\n"); rest == all || all && places != 50 || !all && places != 20 {
			t.Errorf("all is %v: %d places", all, places)
		}
	}
	if cases := holdForm(t, print(t, report.JUnit, nil, report.Options{})); len(cases) != 0 {
		t.Errorf("got %+v", cases)
	}
}
