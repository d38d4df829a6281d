package check

import (
	"slices"
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
	open := map[session.AnswerKey][]int{}
	for i, f := range findings {
		if key, ok := log.AnswerKey(f); ok {
			open[key] = append(open[key], i)
		}
	}
	var left []session.Answer
	for _, a := range log.Answers {
		at := open[a.AnswerKey]
		if len(at) == 0 {
			left = append(left, a)
			continue
		}
		day := "unknown"
		if a.On.OK() {
			day = a.On.Time.Format(time.DateOnly)
		}
		findings[at[0]].Accepted = &issue.Acceptance{Reason: a.Reason, Answered: day}
		open[a.AnswerKey] = at[1:]
	}
	for _, a := range left {
		findings = append(findings, void(log, findings, a))
	}
	if len(left) > 0 {
		issue.Sort(findings)
	}
	return findings
}

// void is the finding about an answer that does not count.
func void(log *session.Log, findings []issue.Finding, a session.Answer) issue.Finding {
	out := at("log-answer-void", "no finding matches this answer any more", a.Cell)
	out.Value = a.Rule
	out.Mend = issue.T("nothing to do; you can take the row out")
	for _, f := range findings {
		mistake := f.Severity == issue.Error
		f.Severity = issue.Warning
		key, ok := log.AnswerKey(f)
		if !ok || f.Accepted != nil {
			continue
		}
		same := key == a.AnswerKey
		key.Value = a.Value
		switch {
		case same && mistake:
			out.Severity, out.Details = issue.Warning, issue.T("a mistake cannot be answered, only mended")
		case key == a.AnswerKey && !same:
			out.Details = issue.T("the value has changed since this answer, so the finding counts again")
		default:
			continue
		}
		out.Mend = issue.At("log-answer-void").Mend
		out.Cells = slices.Concat(out.Cells, f.Cells[:1])
		return out
	}
	return out
}
