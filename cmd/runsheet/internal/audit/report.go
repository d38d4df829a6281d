package audit

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// Report is the result of an audit, in the form of its JSON.
type Report struct {
	From string `json:"from,omitempty"`
	To   string `json:"to,omitempty"`
	// With is what the records were judged with, a line each: the program and its
	// rules, roster, signers, signed lists, and the draw.
	With []string `json:"with"`
	// NotTold is what the audit cannot tell, and why.
	NotTold  []string  `json:"cannotBeTold"`
	Verdicts []Verdict `json:"verdicts"`
	Patients []Patient `json:"patients"`
	Methods  []Method  `json:"methods"`
	// Rules count all findings. Findings are the errors and those of the audit
	// itself, up to a limit; Dropped counts the others.
	Rules      []RuleCount     `json:"rules"`
	Findings   []issue.Finding `json:"findings"`
	Dropped    int             `json:"dropped,omitempty"`
	NotChecked []string        `json:"notChecked"`
	Sample     []Drawn         `json:"sample,omitempty"`

	Exports   int `json:"exports"`
	Manifests int `json:"manifests"`
	Files     int `json:"files"`
	Resources int `json:"resources"`
	Listed    int `json:"listedResources"`                // compared with a manifest
	Sent      int `json:"comparedWithReceipts,omitempty"` // resources
}

// Answer is what a verdict says.
type Answer string

// The answers.
const (
	Yes     Answer = "yes"
	No      Answer = "no"
	Unknown Answer = "cannot be told"
)

// Verdict is the answer to one question.
type Verdict struct {
	Question issue.Question `json:"verdict"`
	Answer   Answer         `json:"answer"`
	// Reason is why the answer is not yes, and Counts what was looked at.
	Reason string `json:"reason,omitempty"`
	Counts string `json:"counts"`
}

// Patient is the attendance of one patient.
type Patient struct {
	Number string `json:"number"`
	First  string `json:"firstDay,omitempty"`
	Last   string `json:"lastDay,omitempty"`
	Counts
	Planned   string `json:"planned,omitempty"` // in all weeks with a plan
	Unplanned int    `json:"weeksWithoutPlan"`
	Weeks     []Week `json:"weeks"`

	planned float64
	unknown int // sessions on days that the roster does not have
}

// Counts count sessions by what became of them.
type Counts struct {
	Done        int `json:"done"`
	CutShort    int `json:"cutShort"`
	NotDone     int `json:"notDone"` // with a reason
	HeldBack    int `json:"heldBack"`
	Unexplained int `json:"unexplained"`
}

func (c *Counts) add(o Counts) {
	c.Done, c.CutShort, c.NotDone = c.Done+o.Done, c.CutShort+o.CutShort, c.NotDone+o.NotDone
	c.HeldBack, c.Unexplained = c.HeldBack+o.HeldBack, c.Unexplained+o.Unexplained
}

// Week is one week from Monday to Sunday. Planned is the number of sessions a
// week, the smaller one where it changes; "" if nothing says it. As many
// sessions as there are days of leave, or days outside those asked for, may be
// absent from it.
type Week struct {
	Monday  string `json:"monday"`
	Planned string `json:"planned,omitempty"`
	Counts
	// Free is the number of days of leave, or outside those asked for or those of
	// the roster.
	Free  int    `json:"daysOff"`
	Leave string `json:"leave,omitempty"` // the reason

	planned float64
}

// Method is one version of a method, with what became of its values when they
// were computed again from the inputs that the records name.
type Method struct {
	Method   string `json:"method"`
	Quantity string `json:"quantity"`
	N        int    `json:"values"`
	Equal    int    `json:"equal"`
	Differ   int    `json:"differ"`
	NotAgain int    `json:"notRecomputable"`
	NoValue  int    `json:"withoutValue"` // and with a reason, in the record
	// WhyNot counts the values that were not computed again by rule.
	WhyNot map[string]int `json:"whyNot,omitempty"`
}

// Reasons are the rules of WhyNot with what they ask.
func (m Method) Reasons() string {
	var out []string
	for _, id := range sortedKeys(m.WhyNot) {
		rule, _ := issue.Lookup(id)
		out = append(out, fmt.Sprintf("%d: %s (%s)", m.WhyNot[id], rule.What, id))
	}
	return strings.Join(out, "; ")
}

// RuleCount counts the findings of a rule, by the question that they answer.
type RuleCount struct {
	Question issue.Question `json:"verdict"`
	Rule     string         `json:"rule"`
	Severity issue.Severity `json:"severity"`
	N        int            `json:"count"`
}

// HasErrors reports whether an answer is no.
func (r *Report) HasErrors() bool {
	return slices.ContainsFunc(r.Verdicts, func(v Verdict) bool { return v.Answer == No })
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

// questions are in the order of the report.
var questions = []issue.Question{issue.Complete, issue.Whole, issue.Signed, issue.Recomputed, issue.Valid}

// conclude completes the report.
func (a *audit) conclude() {
	r := &a.report
	r.From, r.To = a.opts.From, a.opts.To
	r.With = a.with()
	r.NotChecked = sortedKeys(a.notes)
	r.Rules, r.Methods, r.Dropped = a.counts(), []Method{}, r.Dropped+a.dropped
	for _, key := range sortedKeys(a.methods) {
		r.Methods = append(r.Methods, *a.methods[key])
	}
	issue.Sort(a.findings)
	r.Findings = append([]issue.Finding{}, a.findings...)
	for i := range r.Patients {
		if p := &r.Patients[i]; p.planned > 0 {
			p.Planned = strconv.FormatFloat(p.planned, 'f', -1, 64)
		}
	}
	for _, q := range questions {
		unknown, counts := a.answer(q)
		r.Verdicts = append(r.Verdicts, r.verdict(q, unknown, counts))
		for _, reason := range unknown {
			r.NotTold = append(r.NotTold, string(q)+": "+reason)
		}
	}
	if r.NotTold == nil {
		r.NotTold = []string{}
	}
}

// with names what the records were judged with. Files are named without their
// folders, and told by their digests.
func (a *audit) with() []string {
	out := []string{fmt.Sprintf("%s, rules SHA-256 %s", a.opts.Program, issue.RulesDigest())}
	file := func(what, path string) {
		if path != "" {
			sum, _ := manifest.SumOf(os.Open(path)) // it was read before
			out = append(out, fmt.Sprintf("%s %s, SHA-256 %s", what, filepath.Base(path), sum))
		}
	}
	file("roster", a.opts.Roster)
	if file("signers", a.opts.Signers); a.opts.Signers != "" {
		out = append(out, "keys as they are valid on "+a.opts.Now.Format(time.DateOnly))
	}
	for _, path := range a.opts.Seals {
		file("signed list", path)
	}
	if a.opts.Sample > 0 {
		out = append(out, fmt.Sprintf("%d of %s drawn with the seed %q", len(a.report.Sample), issue.Plural(len(a.draw.from), "session", "sessions"), a.opts.Seed))
	}
	return out
}

// verdict answers a question: no if a rule of it has errors, and yes if nothing
// is unknown.
func (r *Report) verdict(q issue.Question, unknown []string, counts string) Verdict {
	v := Verdict{Question: q, Answer: Yes, Counts: counts}
	var errors []string
	for _, c := range r.Rules {
		if c.Question == q && c.Severity == issue.Error {
			errors = append(errors, fmt.Sprintf("%d %s", c.N, c.Rule))
		}
	}
	switch {
	case len(errors) > 0:
		v.Answer, v.Reason = No, strings.Join(errors, ", ")
	case len(unknown) > 0:
		v.Answer, v.Reason = Unknown, strings.Join(unknown, "; ")
	}
	return v
}

// answer is what keeps a question from being answered, and what was looked at.
func (a *audit) answer(q issue.Question) (unknown []string, counts string) {
	r := &a.report
	switch q {
	case issue.Complete:
		return a.attended()
	case issue.Whole:
		return nil, fmt.Sprintf("%s, %s, %s; %d listed in a manifest", issue.Plural(r.Exports, "export", "exports"),
			issue.Plural(r.Manifests, "manifest", "manifests"), issue.Plural(r.Files, "file", "files"), r.Listed)
	case issue.Signed:
		return a.signed.answer()
	case issue.Recomputed:
		return r.recomputed()
	default:
		var by [3]int
		for _, c := range r.Rules {
			if c.Question == q {
				by[c.Severity] += c.N
			}
		}
		return nil, fmt.Sprintf("%s: %s, %s, %d for information", issue.Plural(r.Resources, "resource", "resources"),
			issue.Plural(by[issue.Error], "error", "errors"), issue.Plural(by[issue.Warning], "warning", "warnings"), by[issue.Information])
	}
}

func (a *audit) attended() (unknown []string, counts string) {
	var sum Counts
	planned, weeks, without := 0.0, 0, 0
	for _, p := range a.report.Patients {
		sum.add(p.Counts)
		planned, weeks = planned+p.planned, weeks+len(p.Weeks)
		if p.Unplanned > 0 {
			without++
		}
	}
	if a.opts.Roster == "" {
		unknown = append(unknown, "without a roster (--roster) a patient of whom nothing is there is not noticed, nor is leave known")
	}
	if a.opts.From == "" || a.opts.To == "" {
		unknown = append(unknown, "without days (--from and --to) sessions missing before a patient's first and after the last one are not noticed")
	}
	if without > 0 {
		unknown = append(unknown, fmt.Sprintf("neither the roster nor the records say for all weeks how many sessions were planned (%s)", issue.Plural(without, "patient", "patients")))
	}
	sent := ""
	if a.opts.Sent != nil {
		sent = fmt.Sprintf("; %s compared with receipts", issue.Plural(a.report.Sent, "resource", "resources"))
	}
	return unknown, fmt.Sprintf("%s, %s: planned %s, done %d, cut short %d, not done with reason %d, held back %d, unexplained %d%s",
		issue.Plural(len(a.report.Patients), "patient", "patients"), issue.Plural(weeks, "week", "weeks"), strconv.FormatFloat(planned, 'f', -1, 64),
		sum.Done, sum.CutShort, sum.NotDone, sum.HeldBack, sum.Unexplained, sent)
}

func (r *Report) recomputed() (unknown []string, counts string) {
	var sum Method
	for _, m := range r.Methods {
		sum.N, sum.Equal, sum.Differ = sum.N+m.N, sum.Equal+m.Equal, sum.Differ+m.Differ
		sum.NotAgain, sum.NoValue = sum.NotAgain+m.NotAgain, sum.NoValue+m.NoValue
	}
	switch {
	case sum.N == 0:
		unknown = []string{"there is no computed value in the records"}
	case sum.NotAgain > 0:
		unknown = []string{issue.Plural(sum.NotAgain, "value", "values") + " could not be computed again"}
	}
	return unknown, fmt.Sprintf("%s by %s: %d equal, %d differ, %d not recomputable, %d stated as absent", issue.Plural(sum.N, "value", "values"),
		issue.Plural(len(r.Methods), "method", "methods"), sum.Equal, sum.Differ, sum.NotAgain, sum.NoValue)
}
