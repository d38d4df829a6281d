package report

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"runsheet.example/validate/issue"
)

// printText writes the findings by document or sheet and by rule. It explains
// the first finding of a kind; of the others it lists the places, and the
// values that differ.
func printText(w io.Writer, findings []issue.Finding, opts Options) error {
	p := &textPrinter{w: bufio.NewWriter(w), opts: opts}
	var repeated []*section
	for _, s := range p.sections(findings) {
		if len(s.rules) == 0 {
			repeated = append(repeated, s)
			continue
		}
		p.gap()
		p.section(s)
	}
	if len(repeated) > 0 {
		p.gap()
		p.onlyRepeated(repeated)
	}
	if p.cut {
		p.gap()
		p.line(p.say("not all are shown here: --all shows each"))
	}
	if len(opts.NotChecked) > 0 {
		p.gap()
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
	any  bool // there is output already
	cut  bool // not all findings are printed
}

// gap separates the next output from the previous one.
func (p *textPrinter) gap() {
	if p.any {
		p.line("")
	}
	p.any = true
}

// line writes one line. The buffer keeps a write error and returns it on
// flush.
func (p *textPrinter) line(text string) { fmt.Fprintln(p.w, text) }

// say writes a text of the frame around findings.
func (p *textPrinter) say(key string, args ...any) string {
	return p.opts.Language.Text(issue.T(key, args...))
}

// section writes the findings of one document or sheet, worst first.
func (p *textPrinter) section(s *section) {
	if title := strings.TrimSpace(s.name + " " + s.sheet); title != "" {
		p.line(printable(title))
	}
	for _, g := range s.rules {
		p.rule(s, g)
	}
	if s.elsewhere > 0 {
		p.line(p.say("  and {} more of kinds told above", s.elsewhere))
	}
}

// Limits of one rule in a section: kinds explained in full, and kinds that
// differ only in the expected value.
const (
	maxKinds = 10
	maxAlike = 3
)

// rule writes the findings of one rule in a section.
func (p *textPrinter) rule(s *section, g *ruleGroup) {
	var rest []issue.Finding
	alike := map[string]int{}
	for i, k := range g.kinds {
		first := k.list[0]
		alike[first.Details.String()]++
		switch {
		case p.opts.All:
			for j, f := range k.list {
				p.finding(s, f, i+j == 0)
			}
		case i < maxKinds && alike[first.Details.String()] <= maxAlike:
			p.finding(s, first, i == 0)
			p.more(s, first, k.list[1:])
		default:
			rest = append(rest, k.list...)
		}
	}
	p.more(s, issue.Finding{Cells: g.kinds[0].list[0].Cells}, rest)
}

// more lists the places of further findings, with their values where they
// differ from the first.
func (p *textPrinter) more(s *section, first issue.Finding, rest []issue.Finding) {
	if len(rest) == 0 {
		return
	}
	p.line("    " + p.say("and {} more of this kind: {}", len(rest), p.places(s, first, rest)))
}

// maxPlaces is the number of places listed before the rest is only counted.
const maxPlaces = 8

func (p *textPrinter) places(s *section, first issue.Finding, list []issue.Finding) string {
	var names []string
	for _, f := range list {
		name := strings.TrimPrefix(p.shortPlace(s, first, f)+p.differing(first, f), ": ")
		if name == "" || slices.Contains(names, name) {
			continue
		}
		if len(names) == maxPlaces {
			p.cut = true
			names = append(names, "…")
			break
		}
		names = append(names, name)
	}
	return strings.Join(names, "; ")
}

// differing is the value and the expected value of a finding where they differ
// from the first of its kind.
func (p *textPrinter) differing(first, f issue.Finding) string {
	text := ""
	if f.Value != "" && f.Value != first.Value {
		text = ": " + shortened(printable(f.Value))
	}
	if expected := f.Expected.String(); expected != "" && expected != first.Expected.String() {
		text += ", " + p.say("expected") + " " + shortened(printable(expected))
	}
	return text
}

// shortened truncates a value for a list.
func shortened(text string) string {
	const most = 40
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// onlyRepeated lists the documents whose findings are all of kinds explained
// before.
func (p *textPrinter) onlyRepeated(repeated []*section) {
	names := make([]string, 0, maxPlaces+1)
	for _, s := range repeated {
		if len(names) == maxPlaces {
			p.cut = true
			names = append(names, "…")
			break
		}
		names = append(names, printable(s.name))
	}
	files := "1 more document has"
	if len(repeated) > 1 {
		files = fmt.Sprintf("%d more documents have", len(repeated))
	}
	p.line(files + " findings of the kinds above only: " + strings.Join(names, "; "))
}

// shortPlace is a place in a list: the log cell if known, because people
// correct the log there, with its heading unless it equals that of the first;
// in a document of one line, the element.
func (p *textPrinter) shortPlace(s *section, first, f issue.Finding) string {
	if len(f.Cells) > 0 {
		cell := f.Cells[0]
		if len(first.Cells) > 0 && cell.Heading == first.Cells[0].Heading {
			cell.Heading = ""
		}
		return p.cellIn(s, cell)
	}
	if f.File == first.File && f.Line == first.Line && f.Expression != "" {
		return printable(f.Expression) // the lines do not distinguish them
	}
	at := p.place(s, f)
	if f.File != s.name {
		at = strings.TrimSuffix(printable(f.File)+" "+at, " ")
	}
	return at
}

// place is the place of a finding: a log cell for a finding about the log,
// otherwise the line of the document.
func (p *textPrinter) place(s *section, f issue.Finding) string {
	switch {
	case aboutLog(f):
		return p.cellIn(s, f.Cells[0])
	case f.Line > 0 && f.Column > 0:
		return fmt.Sprintf("line %d, column %d", f.Line, f.Column)
	case f.Line > 0:
		return fmt.Sprintf("line %d", f.Line)
	default:
		return ""
	}
}

// aboutLog reports whether a finding is about a cell of the file it is in,
// rather than about a document made from the cell. For a person a cell is more
// precise than a line.
func aboutLog(f issue.Finding) bool {
	return len(f.Cells) > 0 && (f.File == "" || f.File == f.Cells[0].File || strings.HasSuffix(f.File, "/"+f.Cells[0].File))
}

// cellIn is the name of a cell under the heading of a section.
func (p *textPrinter) cellIn(s *section, c issue.Cell) string {
	text := p.opts.Language.Cell(c)
	for _, heading := range []string{s.name, s.sheet} {
		if rest, ok := strings.CutPrefix(text+" ", heading+" "); ok && heading != "" {
			text = strings.TrimSuffix(rest, " ")
		}
	}
	return printable(text)
}

// finding writes one finding: place, details, value seen, value expected,
// origin and how to correct it.
func (p *textPrinter) finding(s *section, f issue.Finding, explain bool) {
	head := "  " + p.severity(f.Severity) + ": "
	if f.Accepted != nil {
		head = "  " + p.say(f.Accepted.Word()) + " " + p.severity(f.Severity) + ": "
	}
	if at := p.place(s, f); at != "" {
		head += at + ": "
	}
	head += printable(f.Details.String())
	if f.Session != "" {
		head += " (" + p.say("session") + " " + printable(f.Session) + ")"
	}
	p.line(head)
	if f.Expression != "" {
		p.detail("at", f.Expression)
	}
	p.detail("written", f.Value)
	p.detail("expected", f.Expected.String())
	if aboutLog(f) {
		p.detail("see also", p.cellList(s, f.Cells[1:]))
	} else {
		p.detail("from", p.cellList(s, f.Cells))
	}
	if f.Accepted != nil {
		p.detail(f.Accepted.Word(), p.opts.Language.Text(f.Accepted.Text()))
	}
	if explain {
		p.detail("to mend", f.Mend.String())
		p.detail("rule", f.Rule)
	}
}

func (p *textPrinter) detail(name, text string) {
	if text != "" {
		p.line(fmt.Sprintf("    %-9s %s", p.say(name), printable(text)))
	}
}

// maxCells limits the cells listed for a finding.
const maxCells = 6

func (p *textPrinter) cellList(s *section, cells []issue.Cell) string {
	var names []string
	for i, c := range cells {
		if i == maxCells {
			names = append(names, "…")
			break
		}
		names = append(names, p.cellIn(s, c))
	}
	return strings.Join(names, ", ")
}

// severity writes the severity as a word; colour is only an addition.
func (p *textPrinter) severity(s issue.Severity) string {
	word := s.String()
	if s == issue.Information {
		word = "note"
	}
	word = p.say(word)
	if !p.opts.Colour {
		return word
	}
	code := map[issue.Severity]string{issue.Error: "31", issue.Warning: "33", issue.Information: "36"}[s]
	return "\x1b[" + code + "m" + word + "\x1b[0m"
}

// maxText limits each text of a finding on a terminal.
const maxText = 400

// printable makes a text safe for one line of a terminal: no control
// characters, no line ends, limited length.
func printable(text string) string {
	text = strings.Map(func(r rune) rune {
		if r < ' ' || issue.Steers(r) {
			return ' '
		}
		return r
	}, text)
	if runes := []rune(text); len(runes) > maxText {
		return string(runes[:maxText]) + "…"
	}
	return text
}
