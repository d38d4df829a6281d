package report

import (
	"cmp"
	"slices"

	"runsheet.example/validate/issue"
)

// section is what stands under one heading: a document, or a file or sheet of a
// log.
type section struct {
	id, name, sheet string
	isLog           bool
	list            []issue.Finding // until they are folded
	rules           []*ruleGroup
	// elsewhere counts findings of the section that are told with the first of
	// their kind in another one.
	elsewhere int
}

// ruleGroup is the findings of one rule and severity in a section, the accepted
// ones apart.
type ruleGroup struct {
	severity issue.Severity
	accepted bool
	rule     string
	kinds    []*kind
}

// rank orders groups: what is accepted comes last, the worst first.
func (g *ruleGroup) rank() int {
	if g.accepted {
		return int(issue.Error) + 1
	}
	return int(issue.Error - g.severity)
}

// kind is findings that say the same of the same: they differ in place, and may
// differ in what is written there.
type kind struct {
	in   *section
	list []issue.Finding
}

// kindKey is what findings of a kind have in common. One of a log is told in its
// sheet, because that is where it is mended; one of a document once for all.
type kindKey struct {
	section                 string
	severity                issue.Severity
	rule, details, expected string
	accepted                *issue.Acceptance
}

// sections groups findings by document or sheet, in the order of their first
// finding. Those about a sheet are in the order of its rows.
func (p *textPrinter) sections(findings []issue.Finding) []*section {
	all := map[string]*section{}
	kinds := map[kindKey]*kind{}
	var ordered []*section
	for _, f := range findings {
		name, sheet := headingOf(f)
		id := name + "\x00" + sheet
		s := all[id]
		if s == nil {
			s = &section{id: id, name: name, sheet: sheet, isLog: aboutLog(f)}
			all[id] = s
			ordered = append(ordered, s)
		}
		s.list = append(s.list, f)
	}
	for _, s := range ordered {
		if s.isLog {
			slices.SortStableFunc(s.list, byCell)
		}
		s.fold(kinds, p.opts.All)
	}
	return ordered
}

// fold groups the findings of a section into kinds. One of a kind that was met in
// another document joins it there.
func (s *section) fold(kinds map[kindKey]*kind, all bool) {
	for _, f := range s.list {
		key := kindKey{severity: f.Severity, rule: f.Rule, details: f.Details, expected: f.Expected, accepted: f.Accepted}
		if s.isLog || all {
			key.section = s.id
		}
		k := kinds[key]
		if k == nil {
			k = &kind{in: s}
			kinds[key] = k
			s.add(key, k)
		} else if k.in != s {
			s.elsewhere++
		}
		k.list = append(k.list, f)
	}
	s.list = nil
	slices.SortStableFunc(s.rules, func(a, b *ruleGroup) int { return cmp.Compare(a.rank(), b.rank()) })
}

// add puts a new kind with the others of its rule.
func (s *section) add(key kindKey, k *kind) {
	for _, g := range s.rules {
		if g.rule == key.rule && g.severity == key.severity && g.accepted == (key.accepted != nil) {
			g.kinds = append(g.kinds, k)
			return
		}
	}
	s.rules = append(s.rules, &ruleGroup{key.severity, key.accepted != nil, key.rule, []*kind{k}})
}

// headingOf is the document a finding is in, or the file and sheet of the log.
func headingOf(f issue.Finding) (name, sheet string) {
	if aboutLog(f) {
		sheet = f.Cells[0].Sheet
	}
	return headingName(f), sheet
}

func headingName(f issue.Finding) string {
	if f.File == "" && len(f.Cells) > 0 {
		return f.Cells[0].File
	}
	return f.File
}

// InSheetOrder brings the findings about a log into the order of its sheets, or of
// its files, and of their rows and columns. Those of other sheets and those of no
// log come behind, in the order they have.
func InSheetOrder(findings []issue.Finding, sheets []string) []issue.Finding {
	rank := func(f issue.Finding) int {
		if !aboutLog(f) {
			return len(sheets)
		}
		at := slices.Index(sheets, cmp.Or(f.Cells[0].Sheet, f.Cells[0].File))
		if at < 0 {
			return len(sheets)
		}
		return at
	}
	sorted := slices.Clone(findings)
	slices.SortStableFunc(sorted, func(a, b issue.Finding) int {
		x, y := rank(a), rank(b)
		if x != y || x == len(sheets) {
			return cmp.Compare(x, y)
		}
		return byCell(a, b)
	})
	return sorted
}

// byCell compares findings by the row and column of their first cell; one about
// no cell comes first.
func byCell(a, b issue.Finding) int {
	x, y := firstCell(a), firstCell(b)
	return cmp.Or(cmp.Compare(x.Row, y.Row), cmp.Compare(x.Column, y.Column))
}

func firstCell(f issue.Finding) issue.Cell {
	if len(f.Cells) == 0 {
		return issue.Cell{}
	}
	return f.Cells[0]
}
