package columnmap

import (
	"fmt"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// anyone replaces the log.toml that a drafted map does not have yet.
const anyone = `[log]
format = 1
id = "00000000-0000-4000-8000-000000000000"
time_zone = "UTC"
`

// FirstSession describes the first session of a sheet as the draft reads it, so
// that a person can compare both before using the draft.
func (d Draft) FirstSession(path string, opts session.Options) (string, error) {
	m, err := Parse([]byte(d.Text), "map.toml")
	if err != nil {
		return "", err
	}
	log, _, err := Read(path, m, &About{Name: "log.toml", Text: []byte(anyone)}, opts)
	if err != nil {
		return "", err
	}
	if len(log.Sessions) == 0 {
		return "With the draft as it is no session can be read.\n", nil
	}
	s := log.Sessions[0]
	var out strings.Builder
	fmt.Fprintf(&out, "The first session as the draft reads it (%s):\n", s.Cell)
	if s.Date.OK() {
		fmt.Fprintf(&out, "  on %s\n", s.Date.Time.Format("Monday 2 January 2006"))
	} else {
		fmt.Fprintf(&out, "  on a day that cannot be read: %q\n", s.Date.Text)
	}
	for _, m := range []struct {
		word string
		at   session.Moment
	}{{"start", s.Start}, {"end", s.End}} {
		if m.at.OK() {
			fmt.Fprintf(&out, "  %s: %s\n", m.word, m.at.Time.Format("15:04"))
		} else {
			fmt.Fprintf(&out, "  %s: not read\n", m.word)
		}
	}
	sayValues(&out, session.SheetSessions, s.Values, s.Texts)
	if len(s.Readings) > 0 {
		r := s.Readings[0]
		fmt.Fprintf(&out, "  %d %s, the first at %s:\n", len(s.Readings), issue.OneOrMany(len(s.Readings), "reading", "readings"), r.At.Text)
		sayValues(&out, session.SheetReadings, r.Values, nil)
	}
	for _, l := range s.Labs {
		fmt.Fprintf(&out, "  blood test %s, %s dialysis: %s %s (%s)\n", l.Test.Text, l.When.Text, l.Value.Text, session.SpeltUnit(l.Value.Unit), l.Value.Cell)
	}
	return out.String(), nil
}

// sayValues writes each value after the description of its column.
func sayValues(out *strings.Builder, sheet session.Sheet, values map[session.Field]session.Value, texts map[session.Field]session.Text) {
	for _, c := range session.Columns {
		if c.Sheet != sheet {
			continue
		}
		if v, ok := values[c.Field]; ok && v.Text != "" && c.Holds(v.Unit) {
			read := v.Text + " " + session.SpeltUnit(v.Unit)
			switch number := v.Decimal.String(); {
			case v.Absence == session.Unreadable:
				read = v.Text + ", which cannot be read"
			case v.OK() && strings.Replace(v.Text, ",", ".", 1) != number:
				read = v.Text + ", which is " + number + " " + session.SpeltUnit(v.Unit)
			}
			what, _, _ := strings.Cut(c.Hint, ", in ")
			fmt.Fprintf(out, "  %s: %s (%s)\n", what, read, v.Cell)
		}
		if t := texts[c.Field]; t.Text != "" {
			fmt.Fprintf(out, "  %s: %q (%s)\n", c.Hint, t.Text, t.Cell)
		}
	}
}
