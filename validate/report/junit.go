package report

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"runsheet.example/validate/issue"
)

// The elements of a JUnit report that we write. There is no standard; the
// elements are in the schema that Jenkins publishes (junit-10.xsd of its xUnit
// plugin) and in GitLab's documentation of what it reads.
type (
	junitSuites struct {
		XMLName xml.Name     `xml:"testsuites"`
		Suites  []junitSuite `xml:"testsuite"`
	}
	junitSuite struct {
		Name     string       `xml:"name,attr"`
		Tests    int          `xml:"tests,attr"`
		Failures int          `xml:"failures,attr"`
		Errors   int          `xml:"errors,attr"`
		Skipped  int          `xml:"skipped,attr"`
		Cases    []*junitCase `xml:"testcase"`
		Out      string       `xml:"system-out,omitempty"`
	}
	junitCase struct {
		Class   string        `xml:"classname,attr"`
		Name    string        `xml:"name,attr"`
		Skipped *junitVerdict `xml:"skipped"`
		Failure *junitVerdict `xml:"failure"`
		Out     string        `xml:"system-out,omitempty"`

		failing, accepted, other junitList
	}
	junitVerdict struct {
		Message string `xml:"message,attr"`
		Type    string `xml:"type,attr,omitempty"`
		Text    string `xml:",chardata"`
	}
)

// junitClass is the class of every test case. Servers split a class at its
// dot, so it contains no file name.
const junitClass = "runsheet.findings"

// printJUnit writes a test case for each document. A case fails for an error,
// and is skipped if all findings that would make it fail are accepted, so a
// document keeps its test case from run to run. Pipelines store reports and
// show them to many people: a report has places and texts of the rules table,
// but no values, no texts of findings and no headings of a log.
func printJUnit(w io.Writer, findings []issue.Finding, opts Options) error {
	suite := junitSuite{Name: "runsheet"}
	cases := map[string]*junitCase{}
	at := func(document string) *junitCase {
		c := cases[document]
		if c == nil {
			c = &junitCase{Class: junitClass, Name: document}
			cases[document] = c
			suite.Cases = append(suite.Cases, c)
		}
		return c
	}
	for _, document := range opts.Documents {
		at(document)
	}
	for i := range findings {
		f := &findings[i]
		at(cmp.Or(headingName(*f), "all documents")).add(f, opts)
	}
	for _, c := range suite.Cases {
		c.finish()
		suite.Tests++
		switch {
		case c.Failure != nil:
			suite.Failures++
		case c.Skipped != nil:
			suite.Skipped++
		}
	}
	if n := len(opts.NotChecked); n > 0 {
		suite.Out = fmt.Sprintf("not checked: %d kinds of things, which the report as text lists", n)
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	encoder := xml.NewEncoder(w)
	encoder.Indent("", "  ")
	if err := encoder.Encode(junitSuites{Suites: []junitSuite{suite}}); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// add adds a finding to those that fail, are accepted, or do neither.
func (c *junitCase) add(f *issue.Finding, opts Options) {
	list := &c.other
	switch {
	case f.Accepted != nil:
		list = &c.accepted
	case f.Severity == issue.Error, f.Severity == issue.Warning && opts.Strict:
		list = &c.failing
	}
	list.add(f, opts.All)
}

// finish sets the result of the case.
func (c *junitCase) finish() {
	switch {
	case c.failing.n > 0:
		c.Failure = &junitVerdict{c.failing.title(), c.failing.worst.String(), c.failing.String()}
		c.Out = c.accepted.String() + c.other.String()
	case c.accepted.n > 0:
		c.Skipped = &junitVerdict{Message: "accepted: " + c.accepted.title(), Text: c.accepted.String()}
		c.Out = c.other.String()
	default:
		c.Out = c.other.String()
	}
}

// maxLines limits the findings of one rule listed for a document.
const maxLines = 20

// junitList formats findings as lines, by rule.
type junitList struct {
	n     int
	worst issue.Severity
	rules []*junitRule
}

type junitRule struct {
	severity issue.Severity
	id       string
	accepted *issue.Acceptance
	n        int
	places   []string
}

func (l *junitList) add(f *issue.Finding, all bool) {
	l.n++
	l.worst = max(l.worst, f.Severity)
	var rule *junitRule
	for _, r := range l.rules {
		if r.id == f.Rule && r.severity == f.Severity && r.accepted == f.Accepted {
			rule = r
		}
	}
	if rule == nil {
		rule = &junitRule{severity: f.Severity, id: f.Rule, accepted: f.Accepted}
		l.rules = append(l.rules, rule)
	}
	rule.n++
	if all || len(rule.places) < maxLines {
		rule.places = append(rule.places, junitPlace(f))
	}
}

// junitPlace is the place of a finding without the column heading, which a
// person may have written.
func junitPlace(f *issue.Finding) string {
	var parts []string
	switch {
	case aboutLog(*f):
		cell := f.Cells[0]
		cell.Heading = ""
		parts = append(parts, cell.String())
	case f.Line > 0 && f.Column > 0:
		parts = append(parts, fmt.Sprintf("line %d, column %d", f.Line, f.Column))
	case f.Line > 0:
		parts = append(parts, fmt.Sprintf("line %d", f.Line))
	}
	if f.Expression != "" {
		parts = append(parts, f.Expression)
	}
	return cmp.Or(strings.Join(parts, ": "), "the document as a whole")
}

// title lists the rules.
func (l *junitList) title() string {
	ids := make([]string, len(l.rules))
	for i, r := range l.rules {
		ids[i] = fmt.Sprintf("%s (%d)", r.id, r.n)
	}
	return strings.Join(ids, ", ")
}

func (l *junitList) String() string {
	var b strings.Builder
	for _, r := range l.rules {
		rule, _ := issue.Lookup(r.id)
		fmt.Fprintf(&b, "\n%s %s, against the rule: %s\n", r.severity, r.id, rule.What)
		if r.accepted != nil {
			fmt.Fprintf(&b, "  %s %s\n", r.accepted.Word(), r.accepted)
		}
		for _, place := range r.places {
			fmt.Fprintf(&b, "  at %s\n", place)
		}
		if rest := r.n - len(r.places); rest > 0 {
			fmt.Fprintf(&b, "  and %d more\n", rest)
		}
		if rule.Mend != "" {
			fmt.Fprintf(&b, "  to mend: %s\n", rule.Mend)
		}
	}
	return b.String()
}
