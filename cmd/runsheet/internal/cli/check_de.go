package cli

import (
	"fmt"
	"io"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// germanSummary is summary in German.
func germanSummary(w io.Writer, log *session.Log, findings []issue.Finding) {
	errors, warnings, _ := issue.Count(findings)
	ready, held := readyAndHeld(log)
	switch {
	case len(log.Sessions) == 0:
		fmt.Fprintln(w, "Es gibt noch keine Sitzungen zu senden.")
	case errors == 0 && warnings == 0:
		fmt.Fprintf(w, "Ihr Protokoll %s ist fertig: %s, nichts anzusehen.\n", germanSpan(log), plural(ready, "Sitzung", "Sitzungen"))
	case held == 0 && errors == 0:
		fmt.Fprintf(w, "Ihr Protokoll %s ist fertig: %s. %s anzusehen.\n", germanSpan(log),
			plural(ready, "Sitzung", "Sitzungen"), plural(warnings, "Sache", "Sachen"))
	default:
		fmt.Fprintf(w, "Ihr Protokoll %s muss berichtigt werden: %s fertig, %s zurückgehalten. %s zu berichtigen, %s anzusehen.\n", germanSpan(log),
			plural(ready, "Sitzung", "Sitzungen"), plural(held, "Sitzung", "Sitzungen"),
			plural(errors, "Fehler", "Fehler"), plural(warnings, "Sache", "Sachen"))
	}
}

// germanSpan is span in German.
func germanSpan(log *session.Log) string {
	months := [...]string{"Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "August", "September", "Oktober", "November", "Dezember"}
	first, last := covered(log)
	day := func(t time.Time) string { return fmt.Sprintf("%d. %s", t.Day(), months[t.Month()-1]) }
	switch {
	case first.IsZero():
		return "ohne Datum"
	case first.Year() == last.Year() && first.Month() == last.Month():
		return fmt.Sprintf("vom %s %d", months[first.Month()-1], first.Year())
	case first.Year() == last.Year():
		return fmt.Sprintf("vom %s bis %s %d", day(first), day(last), last.Year())
	default:
		return fmt.Sprintf("vom %s %d bis %s %d", day(first), first.Year(), day(last), last.Year())
	}
}
