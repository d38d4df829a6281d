package cli

import (
	"fmt"
	"io"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// summary prints one sentence: whether the log is ready to send.
func summary(w io.Writer, log *session.Log, findings []issue.Finding, language issue.Language) {
	errors, warnings, _ := issue.Count(findings)
	held := 0
	for _, s := range log.Sessions {
		if s.Broken {
			held++
		}
	}
	ready, toLookAt := countOf(len(log.Sessions)-held, "{} session", "{} sessions"), countOf(warnings, "{} thing", "{} things")
	var text issue.Text
	switch {
	case len(log.Sessions) == 0:
		text = issue.T("There are no sessions to send yet.")
	case errors == 0 && warnings == 0:
		text = issue.T("Your {} is ready: {}, nothing to look at.", period(log), ready)
	case held == 0 && errors == 0:
		text = issue.T("Your {} is ready: {}. {} to look at.", period(log), ready, toLookAt)
	default:
		text = issue.T("Your {} needs mending: {} ready, {} held back. {} to mend, {} to look at.", period(log), ready,
			countOf(held, "{} session", "{} sessions"), countOf(errors, "{} mistake", "{} mistakes"), toLookAt)
	}
	fmt.Fprintln(w, language.Text(text))
}

func countOf(n int, one, many string) issue.Text { return issue.T(issue.OneOrMany(n, one, many), n) }

// period describes the time from the log's first session to its last.
func period(log *session.Log) issue.Text {
	var first, last time.Time
	for _, s := range log.Sessions {
		if !s.Date.OK() {
			continue
		}
		if first.IsZero() || s.Date.Time.Before(first) {
			first = s.Date.Time
		}
		if s.Date.Time.After(last) {
			last = s.Date.Time
		}
	}
	switch {
	case first.IsZero():
		return issue.T("log")
	case first.Year() == last.Year() && first.Month() == last.Month():
		return issue.T("log of {} {}", issue.T(first.Month().String()), first.Year())
	case first.Year() == last.Year():
		return issue.T("log from {} to {}", issue.Day(first), issue.Date(last))
	default:
		return issue.T("log from {} to {}", issue.Date(first), issue.Date(last))
	}
}
