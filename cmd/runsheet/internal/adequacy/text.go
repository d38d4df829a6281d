package adequacy

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Caution ends every table for people.
const Caution = `Calculated by software from values the patient entered; not verified by a clinician.
Not a medical device, not for changing treatment. Follow the prescription, local
policy and the care team. "-" means not recorded or not computed; --explain says why.`

// inEnglish says to readers of other languages that the tables are in English.
var inEnglish = issue.T("These values are in English only. runsheet check says in English what to look at in the log.")

// Options select output beyond the weeks and sessions.
type Options struct {
	All     bool // every table with its definitions
	Figures bool // published figures for patients like this one
	Explain bool // each value's formula, numbers, cells, range and source
}

// Text prints the tables for a person.
func (t Table) Text(w io.Writer, opts Options) error {
	var out bytes.Buffer
	grids := []grid{t.weekSummary(), t.sessionSummary()}
	if opts.All {
		grids = []grid{t.doseGrid(), t.fluidGrid(), t.planGrid(), t.pressureGrid(), t.attendanceGrid(), t.weekFluidGrid(), t.weekDoseGrid()}
	}
	for _, g := range grids {
		if len(g.rows) > 0 {
			g.print(&out)
		}
	}
	if opts.All {
		t.modelText(&out)
		t.accessText(&out)
	} else {
		fmt.Fprintln(&out, "\n--all shows every table with its definitions, --figures published figures with their scope.")
	}
	if opts.Figures {
		t.figureText(&out)
	}
	if opts.Explain {
		t.explain(&out)
	}
	fmt.Fprintf(&out, "\n%s\n", Caution)
	text := strings.TrimLeft(out.String(), "\n")
	if other := issue.Language(t.Log.About.Language).Text(inEnglish); other != inEnglish.String() {
		text = other + "\n\n" + text
	}
	_, err := io.WriteString(w, text)
	return err
}

// cells returns a row of a session, with "-" for an absent value.
func cells(texts ...string) []string {
	for i := range texts {
		texts[i] = orDash(texts[i])
	}
	return texts
}

func value(s measure.Session, key string) string {
	if v, ok := s.Value(key); ok {
		return v.Result.Rounded()
	}
	return ""
}

func status(s measure.Session) string {
	if s.Broken {
		return "held back"
	}
	return string(s.Status)
}

func entered(s measure.Session, field session.Field) string {
	if v := s.Session.Value(field); v.OK() && !s.Broken {
		if !session.OwnUnit(field, v.Unit) {
			return v.Decimal.String() + " " + session.SpeltUnit(v.Unit) // not the unit of the heading
		}
		return v.Decimal.String()
	}
	return ""
}

// held reports whether a session took place and is readable.
func held(s measure.Session) bool { return !s.Broken && s.Status != session.SkippedStatus }
