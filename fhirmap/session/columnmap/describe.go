package columnmap

import (
	"fmt"
	"strings"

	"runsheet.example/fhirmap/session"
)

// Describe lists what a map reads, one line for each of our columns.
func (m *Map) Describe() string {
	var out strings.Builder
	for i, t := range m.tables {
		layout := "rows under headings"
		if t.form {
			layout = "one sheet for each session"
		}
		fmt.Fprintf(&out, "table %d: %s\n", i+1, layout)
		for _, c := range t.columns {
			describe(&out, "  ", c)
		}
		for _, c := range t.set {
			fmt.Fprintf(&out, "  %-44s %q for every row\n", c.target.name(), c.text)
		}
		for _, g := range t.groups {
			fmt.Fprintf(&out, "  one row of %s%s:\n", g.sheet, repeats(g))
			for _, c := range g.columns {
				describe(&out, "    ", c)
			}
			for _, c := range g.set {
				fmt.Fprintf(&out, "    %-42s %q\n", c.target.name(), c.text)
			}
		}
	}
	return out.String()
}

func repeats(g group) string {
	if g.numbers {
		return " for each " + numberMark
	}
	return ""
}

func describe(out *strings.Builder, indent string, c column) {
	from := c.entry.Heading
	if c.entry.Cell != "" {
		from = strings.TrimSpace(c.entry.Cell + " " + from)
	} else if c.entry.Column != "" {
		from = strings.TrimSpace("column " + c.entry.Column + " " + from)
	}
	for _, to := range c.targets {
		fmt.Fprintf(out, "%s%-*s %s%s\n", indent, 46-len(indent), to.name(), from, inUnit(to))
	}
}

// inUnit says in which unit a number is kept and sent.
func inUnit(to target) string {
	switch {
	case to.unitText != "":
		return ", in " + to.unitText
	case to.column.Kind != session.KindNumber || to.column.Unit == "":
		return ""
	case to.unit.Converted():
		return ", converted to " + to.unit.Code()
	case to.unit.Code() != "":
		return ", in " + to.unit.Code()
	default:
		return ", in " + to.column.Unit
	}
}
