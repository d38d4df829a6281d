package report

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"runsheet.example/validate/issue"
)

// printText writes the findings grouped by file and rule. The first finding of
// a rule in a file is explained; of the others the places are named.
func printText(w io.Writer, findings []issue.Finding, opts Options) error {
	p := &textPrinter{w: bufio.NewWriter(w), opts: opts}
	for i, g := range byFile(findings) {
		if i > 0 {
			p.line("")
		}
		p.file(g)
	}
	if len(findings) > 0 && len(opts.NotChecked) > 0 {
		p.line("")
	}
	if len(opts.NotChecked) > 0 {
		p.line("Not checked:")
		for _, note := range opts.NotChecked {
			p.line("  " + printable(note))
		}
	}
	return p.w.Flush()
}

type textPrinter struct {
	w    *bufio.Writer
	opts Options
}

// line writes one line. A failed write is kept by the buffer and returned when
// it is flushed.
func (p *textPrinter) line(text string) { fmt.Fprintln(p.w, text) }

// group is the findings of one file, or of one rule in it.
type group struct {
	name string
	list []issue.Finding
}

// byFile groups findings by the document or log file they are in, in the order
// of their first appearance.
func byFile(findings []issue.Finding) []group {
	return groupBy(findings, func(f issue.Finding) string {
		if f.File == "" && len(f.Cells) > 0 {
			return f.Cells[0].File
		}
		return f.File
	})
}

func groupBy(findings []issue.Finding, name func(issue.Finding) string) []group {
	var groups []group
	at := map[string]int{}
	for _, f := range findings {
		n := name(f)
		i, known := at[n]
		if !known {
			i = len(groups)
			at[n] = i
			groups = append(groups, group{name: n})
		}
		groups[i].list = append(groups[i].list, f)
	}
	return groups
}

// file writes the findings of one file, what is worst first.
func (p *textPrinter) file(g group) {
	if g.name != "" {
		p.line(printable(g.name))
	}
	kinds := groupBy(g.list, func(f issue.Finding) string { return f.Severity.String() + " " + f.Rule })
	slices.SortStableFunc(kinds, func(a, b group) int {
		return cmp.Compare(b.list[0].Severity, a.list[0].Severity)
	})
	for _, kind := range kinds {
		p.kind(g.name, kind.list)
	}
}

// kind writes the findings of one rule in one file.
func (p *textPrinter) kind(file string, list []issue.Finding) {
	shown := list
	if !p.opts.All {
		shown = list[:1]
	}
	for i, f := range shown {
		p.finding(file, f, i == 0)
	}
	if rest := list[len(shown):]; len(rest) > 0 {
		p.line("    " + p.opts.Language.Word("and "+counted(len(rest))+" of this kind: "+p.places(file, rest)))
	}
}

func counted(n int) string {
	if n == 1 {
		return "1 more"
	}
	return fmt.Sprintf("%d more", n)
}

// maxPlaces is how many places are named before the rest is counted only.
const maxPlaces = 8

func (p *textPrinter) places(file string, list []issue.Finding) string {
	var names []string
	for _, f := range list {
		if name := p.shortPlace(file, f); name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
		if len(names) == maxPlaces {
			break
		}
	}
	text := strings.Join(names, "; ")
	if len(list) > maxPlaces {
		text += "; …"
	}
	return text
}

// shortPlace is a place in a list: the log cell where one is known, because
// that is where people mend things.
func (p *textPrinter) shortPlace(file string, f issue.Finding) string {
	if len(f.Cells) > 0 {
		return p.cellIn(file, f.Cells[0])
	}
	return p.place(file, f)
}

// place is where a finding is: a cell of the log for a finding about the log,
// else the line of the document.
func (p *textPrinter) place(file string, f issue.Finding) string {
	switch {
	case aboutLog(f):
		return p.cellIn(file, f.Cells[0])
	case f.Line > 0:
		return fmt.Sprintf("line %d, column %d", f.Line, f.Column)
	default:
		return ""
	}
}

// aboutLog reports whether a finding is about a cell of the file it is in,
// which says more to a person than a line does, and not about a document that
// was made from the cell.
func aboutLog(f issue.Finding) bool {
	return len(f.Cells) > 0 && (f.File == "" || f.File == f.Cells[0].File || strings.HasSuffix(f.File, "/"+f.Cells[0].File))
}

func (p *textPrinter) cellIn(file string, c issue.Cell) string {
	text := p.opts.Language.Cell(c)
	if rest, ok := strings.CutPrefix(text, file+" "); ok && file != "" {
		text = rest
	}
	return printable(text)
}

// finding writes one finding: what, where, what was seen, what was expected,
// where it came from and how to mend it.
func (p *textPrinter) finding(file string, f issue.Finding, explain bool) {
	head := "  " + p.severity(f.Severity) + ": "
	if at := p.place(file, f); at != "" {
		head += at + ": "
	}
	head += printable(f.Details)
	if f.Session != "" {
		head += " (" + p.opts.Language.Word("session") + " " + printable(f.Session) + ")"
	}
	p.line(head)
	if f.Expression != "" {
		p.detail("at", f.Expression)
	}
	p.detail("written", f.Value)
	p.detail("expected", f.Expected)
	if aboutLog(f) {
		p.detail("see also", p.cellList(f.Cells[1:]))
	} else {
		p.detail("from", p.cellList(f.Cells))
	}
	if explain {
		p.detail("to mend", f.Mend)
		p.detail("rule", f.Rule)
	}
}

func (p *textPrinter) detail(name, text string) {
	if text != "" {
		p.line(fmt.Sprintf("    %-9s %s", p.opts.Language.Word(name), printable(text)))
	}
}

// maxCells is how many cells of a finding are named.
const maxCells = 6

func (p *textPrinter) cellList(cells []issue.Cell) string {
	var names []string
	for i, c := range cells {
		if i == maxCells {
			names = append(names, "…")
			break
		}
		names = append(names, p.opts.Language.Cell(c))
	}
	return strings.Join(names, ", ")
}

// severity writes the word; colour only underlines it.
func (p *textPrinter) severity(s issue.Severity) string {
	word := s.String()
	if s == issue.Information {
		word = "note"
	}
	word = p.opts.Language.Word(word)
	if !p.opts.Colour {
		return word
	}
	code := map[issue.Severity]string{issue.Error: "31", issue.Warning: "33", issue.Information: "36"}[s]
	return "\x1b[" + code + "m" + word + "\x1b[0m"
}

// maxText is how much of one text of a finding is shown on a terminal.
const maxText = 400

// printable makes a text safe for a terminal: no control characters, no
// characters that turn the direction of what follows, no endless value.
func printable(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case r < ' ', r == 0x7f, r >= 0x80 && r < 0xa0, r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069:
			return ' '
		}
		return r
	}, text)
	if runes := []rune(text); len(runes) > maxText {
		return string(runes[:maxText]) + "…"
	}
	return text
}
