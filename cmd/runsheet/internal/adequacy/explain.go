package adequacy

import (
	"fmt"
	"io"
	"slices"
	"strings"
)

// explain prints every row: the formula with numbers, the origin of each
// number, the valid range and the source.
func (t Table) explain(w io.Writer) {
	heading := ""
	var before []string
	for _, r := range t.Rows() {
		if h := rowHeading(r); h != heading {
			heading = h
			fmt.Fprintf(w, "\n%s\n", h)
		}
		r.explain(w)
		r.explainNotes(w, before)
		before = r.Notes
	}
}

// explainNotes prints the notes of a row unless they repeat those of the row
// before: the values of one model share them.
func (r Row) explainNotes(w io.Writer, before []string) {
	if len(r.Notes) > 1 && slices.Equal(r.Notes, before) {
		fmt.Fprintln(w, "    notes: as above")
		return
	}
	for _, note := range r.Notes {
		fmt.Fprintf(w, "    note: %s\n", note)
	}
}

func rowHeading(r Row) string {
	switch r.Scope {
	case "week":
		return "Week from " + r.Date
	case "log":
		return "The log as a whole"
	default:
		return "Session of " + r.Date
	}
}

func (r Row) explain(w io.Writer) {
	name := r.Quantity
	for _, more := range []string{r.When, r.Model} {
		if more != "" {
			name += ", " + more
		}
	}
	fmt.Fprintf(w, "  %s (%s)\n    %s\n", name, r.Method, r.Explain)
	for _, in := range r.Inputs {
		fmt.Fprintf(w, "    %s = %s%s%s\n", in.Key, in.Value, unit(in.Unit), in.from())
	}
	for _, line := range []struct{ head, text string }{{"holds for: ", r.Range}, {"source: ", r.Source}} {
		if line.text != "" {
			fmt.Fprintf(w, "    %s%s\n", line.head, line.text)
		}
	}
	for _, s := range r.Sensitivity {
		fmt.Fprintf(w, "    with %s %s (%s%s): %s\n", s.Input, s.Case, s.Changed, unit(s.Unit), s.Value+s.WhyNot)
	}
}

func unit(ucum string) string {
	if ucum == "1" || ucum == "" {
		return ""
	}
	return " " + ucum
}

func (in RowIn) from() string {
	switch {
	case in.Method != "":
		return "  computed by " + in.Method
	case len(in.Cells) == 0:
		return ""
	}
	var names []string
	for _, c := range in.Cells[:min(len(in.Cells), 2)] {
		names = append(names, c.String())
	}
	text := "  " + strings.Join(names, ", ")
	if more := len(in.Cells) - 2; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}
