package cli

import (
	"fmt"
	"io"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// summaryWords are the words of the summary of a check.
type summaryWords struct {
	none, clear, look, mend string // whole sentences
	session, thing, mistake [2]string
	// undated is the period of a log without dates; inMonth has month and year,
	// inYear two days and the year, years two days each with its year.
	undated, inMonth, inYear, years string
	day                             string // of day and month
	months                          [12]string
}

var summaryIn = map[issue.Language]summaryWords{
	issue.English: {
		none:    "There are no sessions to send yet.",
		clear:   "Your %[1]s is ready: %[2]s, nothing to look at.",
		look:    "Your %[1]s is ready: %[2]s. %[5]s to look at.",
		mend:    "Your %[1]s needs mending: %[2]s ready, %[3]s held back. %[4]s to mend, %[5]s to look at.",
		session: [2]string{"session", "sessions"}, thing: [2]string{"thing", "things"}, mistake: [2]string{"mistake", "mistakes"},
		undated: "log", inMonth: "%s %d", inYear: "log from %[1]s to %[3]s %[4]d", years: "log from %s %d to %s %d", day: "%d %s",
		months: [...]string{"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"},
	},
	issue.German: {
		none:    "Es gibt noch keine Sitzungen zu senden.",
		clear:   "Ihr Protokoll %[1]s ist fertig: %[2]s, nichts anzusehen.",
		look:    "Ihr Protokoll %[1]s ist fertig: %[2]s. %[5]s anzusehen.",
		mend:    "Ihr Protokoll %[1]s muss berichtigt werden: %[2]s fertig, %[3]s zurückgehalten. %[4]s zu berichtigen, %[5]s anzusehen.",
		session: [2]string{"Sitzung", "Sitzungen"}, thing: [2]string{"Sache", "Sachen"}, mistake: [2]string{"Fehler", "Fehler"},
		undated: "ohne Datum", inMonth: "vom %s %d", inYear: "vom %[1]s bis %[3]s %[4]d", years: "vom %s %d bis %s %d", day: "%d. %s",
		months: [...]string{"Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "August", "September", "Oktober", "November", "Dezember"},
	},
}

// summary is the one sentence that a person wants first: is it ready?
func summary(w io.Writer, log *session.Log, findings []issue.Finding, language issue.Language) {
	words := summaryIn[language]
	errors, warnings, _ := issue.Count(findings)
	held := 0
	for _, s := range log.Sessions {
		if s.Broken {
			held++
		}
	}
	text := words.mend
	switch {
	case len(log.Sessions) == 0:
		fmt.Fprintln(w, words.none)
		return
	case errors == 0 && warnings == 0:
		text = words.clear
	case held == 0 && errors == 0:
		text = words.look
	}
	count := func(n int, noun [2]string) string { return issue.Plural(n, noun[0], noun[1]) }
	fmt.Fprintf(w, text+"\n", span(log, language), count(len(log.Sessions)-held, words.session), count(held, words.session),
		count(errors, words.mistake), count(warnings, words.thing))
}

// span describes the period of the log in words.
func span(log *session.Log, language issue.Language) string {
	words := summaryIn[language]
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
	day := func(t time.Time) string { return fmt.Sprintf(words.day, t.Day(), words.months[t.Month()-1]) }
	switch {
	case first.IsZero():
		return words.undated
	case first.Year() == last.Year() && first.Month() == last.Month():
		return fmt.Sprintf(words.inMonth, words.months[first.Month()-1], first.Year())
	case first.Year() == last.Year():
		return fmt.Sprintf(words.inYear, day(first), 0, day(last), last.Year())
	default:
		return fmt.Sprintf(words.years, day(first), first.Year(), day(last), last.Year())
	}
}
