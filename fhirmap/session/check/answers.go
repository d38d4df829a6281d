package check

import (
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// answer marks the findings that the person has answered, and reports the
// answers that do not count. One answer is for one finding.
//
// Decision 25. An answer ("it is right, leave it") is the person's word about a
// warning or a note, kept in the log. The finding stays and is shown as answered;
// it is not counted as a thing to look at. It ends when the value changes. A
// mistake cannot be answered. Nothing of it goes into the record: the value is
// sent as it is with or without an answer, no resource says that somebody
// doubted it, and the reason is free text that nobody at the clinic asked for.
// The manifest of an export lists the file of answers among the sources, as it
// does every file that was read.
func answer(log *session.Log, findings []issue.Finding) []issue.Finding {
	if len(log.Answers) == 0 {
		return findings
	}
	open := map[string][]answerable{}
	for i, f := range findings {
		mistake := f.Severity == issue.Error
		f.Severity = issue.Warning
		if key, ok := log.AnswerKey(f); ok {
			open[f.Rule] = append(open[f.Rule], answerable{key, &findings[i], mistake})
		}
	}
	var more []issue.Finding
	for _, a := range log.Answers {
		if a.Reason == "" {
			f := at("log-answer-reason", "this answer has no reason", a.Cell)
			f.Value = a.Rule
			more = append(more, f)
		}
		if f := take(log, open[strings.ToLower(a.Rule)], a); f != nil {
			more = append(more, *f)
		}
	}
	if len(more) > 0 {
		findings = append(findings, more...)
		issue.Sort(findings)
	}
	return findings
}

// answerable is a finding and what an answer to it is about.
type answerable struct {
	key     session.AnswerKey
	finding *issue.Finding
	mistake bool
}

// take marks the finding that an answer is about. For an answer that does not
// count it returns the finding that says so.
func take(log *session.Log, open []answerable, a session.Answer) *issue.Finding {
	out := at("log-answer-void", "no finding matches this answer any more", a.Cell)
	out.Value = a.Rule
	mend := out.Mend
	out.Mend = issue.T("nothing to do; you can take the row out")
	for _, o := range open {
		cell, value := log.Matches(a.AnswerKey, o.key)
		switch {
		case !cell || o.finding.Accepted != nil || !value && o.mistake:
			continue
		case !value:
			out.Details = issue.T("this answer is to the value “{}”, but the finding is now about “{}”, so it counts again", a.Value, o.key.Written())
		case o.mistake:
			out.Severity, out.Details = issue.Warning, issue.T("a mistake cannot be answered, only mended")
		default:
			day := "unknown"
			if a.On.OK() {
				day = a.On.Time.Format(time.DateOnly)
			}
			o.finding.Accepted = &issue.Acceptance{Reason: a.Reason, Answered: day}
			return nil
		}
		out.Mend = mend
		out.Cells = append(out.Cells[:1:1], o.finding.Cells[0])
	}
	if _, known := issue.Lookup(strings.ToLower(a.Rule)); !known {
		out.Severity, out.Details = issue.Warning, issue.T("there is no rule of this name")
		out.Mend = issue.T("write the rule as the finding shows it")
		var ids []string
		for _, r := range issue.Rules() {
			ids = append(ids, r.ID)
		}
		if near := session.Nearest(strings.ToLower(a.Rule), ids); near != "" {
			out.Expected = issue.T("{}", near)
		}
	}
	return &out
}
