package cli

import (
	"fmt"
	"io"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// recall lists the sessions that used a lot, and counts those that used
// something without a recorded lot: a recall may concern those too.
func recall(out, words io.Writer, log *session.Log, lot string, language issue.Language) {
	used, without := 0, 0
	for _, s := range log.Sessions {
		if s.Status == session.SkippedStatus {
			continue
		}
		known, hit := false, false
		for _, c := range s.Checks {
			known = known || c.Lot.OK()
			if !c.Lot.OK() || !strings.EqualFold(c.Lot.Text, lot) {
				continue
			}
			hit = true
			fmt.Fprintf(out, "%s\t%s\t%s\tlot %s\t%s\n", s.ID, s.Date.Text, c.What.Text, c.Lot.Text, c.Lot.Cell)
		}
		if hit {
			used++
		}
		if !known {
			without++
		}
	}
	text := issue.T("{} used lot {}. {} no lot written down.", countOf(used, "{} session", "{} sessions"), lot,
		countOf(without, "{} session has", "{} sessions have"))
	fmt.Fprintln(words, language.Text(text))
}
