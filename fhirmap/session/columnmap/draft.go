package columnmap

import (
	"fmt"
	"slices"
	"strings"
)

// quoted is a text as a TOML basic string.
func quoted(text string) string {
	var out strings.Builder
	out.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			out.WriteByte('\\')
			out.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&out, `\u%04X`, r)
		default:
			out.WriteRune(r)
		}
	}
	out.WriteByte('"')
	return out.String()
}

const draftHead = `# A column map, drafted from the headings and cells of your sheet. Look at every
# line: "sure" and "likely" are the program's opinion, not more. What is unsure is
# commented out: correct it and take the # away. runsheet map --help explains all.
format = 1

[[table]]
`

// yesWords are words that say that a session was done.
var yesWords = []string{"y", "yes", "ja", "oui", "si", "sì", "sí", "done", "ok", "x", "j", "o", "s"}

// draft writes a sketch as TOML.
func (d *sketch) draft() Draft {
	w := &draftWriter{}
	w.out.WriteString(draftHead)
	for _, line := range d.table {
		w.out.WriteString(line + "\n")
	}
	if len(d.ignored) > 0 {
		var names []string
		for _, name := range d.ignored {
			names = append(names, quoted(name))
		}
		fmt.Fprintf(&w.out, "ignore = [%s]  # nothing is filled in below these\n", strings.Join(names, ", "))
	}
	w.draft.Unsure = d.unsure
	for _, note := range d.notes {
		w.comment(note)
	}
	w.missing(d)
	w.status(d)
	for _, one := range d.columns {
		w.column(one, "[[table.column]]", "", false)
	}
	for _, g := range d.groups {
		w.group(g)
	}
	w.out.WriteString("\n# Whose log it is: \"runsheet new FOLDER\" writes a log.toml to fill in. Give it with\n# --about, or copy its tables to the end of this map.\n")
	w.draft.Text = w.out.String()
	return w.draft
}

type draftWriter struct {
	out   strings.Builder
	draft Draft
}

func (w *draftWriter) comment(text string) { w.out.WriteString("# " + text + "\n") }

// missing reports which of the columns that every session needs were not found.
func (w *draftWriter) missing(d *sketch) {
	for _, need := range []struct{ field, what string }{
		{"date", "its date"}, {"start", "when it started"}, {"end", "when it ended"},
	} {
		have := false
		for _, one := range d.columns {
			have = have || string(one.fields[0]) == need.field && one.sure > unsure
		}
		if !have {
			w.draft.Unsure++
			w.comment("unsure: no column was found that says of a session " + need.what + "; add one for sessions." + need.field)
		}
	}
}

// status writes the status of all sessions; few sheets have a column for it.
func (w *draftWriter) status(d *sketch) {
	hasStatus := false
	for _, one := range d.columns {
		hasStatus = hasStatus || one.fields[0] == "status" && one.sure > unsure
	}
	if !hasStatus && d.allDone {
		w.out.WriteString("\n[table.set]\n\"sessions.status\" = \"done\"\n")
		return
	}
	if !hasStatus {
		w.draft.Unsure++
		w.out.WriteString("\n# unsure: no column says whether a session was done. If every row is one that was\n# done, take the # away; sessions not done, or cut short, must be said otherwise.\n# [table.set]\n# \"sessions.status\" = \"done\"\n")
		return
	}
	w.out.WriteString("\n[table.words.status]  # done, cut short or not done\n")
	for _, word := range d.status {
		line := fmt.Sprintf("%s = \"done\"", quoted(word))
		if slices.Contains(yesWords, plain(word)) {
			w.out.WriteString(line + "  # likely\n")
			w.draft.Likely++
			continue
		}
		w.comment(line + "  # unsure: or \"cut short\", or \"not done\"")
		w.draft.Unsure++
	}
}

// count books how sure an entry is.
func (w *draftWriter) count(s sureness) {
	switch s {
	case sure:
		w.draft.Sure++
	case likely:
		w.draft.Likely++
	default:
		w.draft.Unsure++
	}
}

// column writes one entry, commented out when it is unsure or its group is.
func (w *draftWriter) column(one suggestion, head, indent string, commented bool) {
	w.count(one.sure)
	why := strings.Join(append(one.why, one.doubts...), "; ")
	fmt.Fprintf(&w.out, "\n%s# %s: %s\n", indent, one.sure, why)
	start := indent
	if commented || one.sure == unsure {
		start = "# " + indent
	}
	names := one.names(indent != "")
	to := quoted(names[0])
	if len(names) > 1 {
		to = fmt.Sprintf("[%s, %s]", quoted(names[0]), quoted(names[1]))
	}
	w.out.WriteString(start + head + "\n")
	for _, line := range []struct{ key, value string }{
		{"cell", one.cell}, {"heading", one.heading}, {"column", one.letter}, {"to", to}, {"split", splitOf(one)}, {"unit", one.unit},
	} {
		switch {
		case line.value == "":
		case line.key == "to":
			fmt.Fprintf(&w.out, "%sto = %s\n", start, to)
		default:
			fmt.Fprintf(&w.out, "%s%s = %s\n", start, line.key, quoted(line.value))
		}
	}
}

func splitOf(one suggestion) string {
	if len(one.fields) > 1 {
		return one.split
	}
	return ""
}

// group writes a group with its columns. A group none of whose columns is left
// is a comment itself.
func (w *draftWriter) group(g groupSketch) {
	commented := g.sure == unsure
	left := 0
	for _, one := range g.columns {
		if one.sure > unsure {
			left++
		}
	}
	commented = commented || left == 0
	opinion := g.sure
	if commented {
		opinion = unsure
	}
	fmt.Fprintf(&w.out, "\n# %s: %s\n", opinion, g.why)
	start := ""
	if commented {
		start = "# "
	}
	w.out.WriteString(start + "[[table.group]]\n")
	for _, line := range g.lines {
		w.out.WriteString(start + line + "\n")
	}
	for _, one := range g.columns {
		w.column(one, "[[table.group.column]]", "  ", commented)
	}
}
