package check

import (
	"slices"
	"strings"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/plausible"
)

// explaining are the parts of words, in lower case, that explain a low pressure or
// a fast pulse, apart from the symptoms of [calc.SymptomsOfHypotension]; pains
// those that explain a high pressure, fevers a fever (common practice).
var (
	explaining = []string{
		" bled", "bleed", "blood on", "blood loss", "blutung", "blutet", "blutverlust", "hypotens", "low pressure", "pressure fell", "pressure dropped",
		"collaps", "unconscious", "kollaps", "bewusstlos", "druckabfall", "niedriger druck",
	}
	pains  = []string{" pain", "headache", "schmerz", "kopfweh", "cramp", "krampf", "krämpf", "anxi", "angst"}
	fevers = []string{"fever", "fieber", "chill", "shiver", "schüttelfrost", "infect", "infekt", " flu ", "influenza", "grippe"}
)

// explained reports whether a person wrote in a session what explains a blood
// pressure, a pulse or a temperature that is unusually high or low.
func explained(s *session.Session, field session.Field, high bool) bool {
	if s == nil {
		return false
	}
	all := said(s)
	says := func(words []string) bool {
		return slices.ContainsFunc(words, func(word string) bool { return strings.Contains(all, word) })
	}
	_, symptom := calc.CountsForHypotension(all)
	pulse := strings.HasPrefix(string(field), "pulse")
	switch {
	case strings.HasPrefix(string(field), "temperature"):
		return high && says(fevers)
	case !pulse && !strings.HasPrefix(string(field), "bp_"):
		return false
	case pulse != high: // a pressure that rises, or a pulse that falls
		return !pulse && high && says(pains)
	}
	return symptom == calc.Yes || says(explaining) || pulse && (says(fevers) || says(pains))
}

// said is all that a person wrote about a session in words, in lower case.
func said(s *session.Session) string {
	texts := []string{s.Reason.Text, s.Texts["notes"].Text}
	for _, e := range s.Events {
		texts = append(texts, e.What.Text, e.Action.Text)
	}
	for _, r := range s.Readings {
		texts = append(texts, r.Note.Text)
	}
	return " " + strings.ToLower(strings.Join(texts, " \n ")) + " "
}

// interrupted reports a reading with a note, or beside an event of the machine.
func interrupted(s *session.Session, r *session.Reading) bool {
	const beside = 15 * time.Minute // common practice
	return r.Note.OK() || slices.ContainsFunc(s.Events, func(e *session.Event) bool {
		return slices.Contains(plausible.MachineEvents, e.Kind.Text) && (!e.At.OK() || !r.At.OK() || r.At.Time.Sub(e.At.Time).Abs() <= beside)
	})
}
