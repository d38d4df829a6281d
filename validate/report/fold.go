package report

import (
	"cmp"
	"slices"

	"runsheet.example/validate/issue"
)

// section is the findings under one heading: of a document, or of a file or
// sheet of a log.
type section struct {
	id, name, sheet string
	isLog           bool
	list            []issue.Finding // until folded
	rules           []*ruleGroup
	// elsewhere counts findings of the section that are listed in another
	// section with the first of their kind.
	elsewhere int
}

// ruleGroup is the findings of one rule and severity in a section; accepted
// ones form their own group.
type ruleGroup struct {
	severity issue.Severity
	accepted bool
	rule     string
	kinds    []*kind
}

// rank is the order of groups: the worst severity first, accepted findings
// last.
func (g *ruleGroup) rank() int {
	if g.accepted {
		return int(issue.Error) + 1
	}
	return int(issue.Error - g.severity)
}

// kind is findings with the same text about the same element; they differ in
// place and possibly in the value.
type kind struct {
	in   *section
	list []issue.Finding
}

// kindKey is the common part of the findings of a kind. A finding about a log
// belongs to its sheet, where a person corrects it; a finding about a document
// joins those of all documents.
type kindKey struct {
	section                 string
	severity                issue.Severity
	rule, details, expected string
	accepted                *issue.Acceptance
}

// sections groups findings by document or sheet, in the order of their first
// finding. Findings about a sheet are sorted by row.
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

// fold groups the findings of a section into kinds. A finding of a kind from
// an earlier document joins that kind.
func (s *section) fold(kinds map[kindKey]*kind, all bool) {
	for _, f := range s.list {
		key := kindKey{severity: f.Severity, rule: f.Rule, details: f.Details.String(), expected: f.Expected.String(), accepted: f.Accepted}
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

// add adds a new kind to the group of its rule.
func (s *section) add(key kindKey, k *kind) {
	for _, g := range s.rules {
		if g.rule == key.rule && g.severity == key.severity && g.accepted == (key.accepted != nil) {
			g.kinds = append(g.kinds, k)
			return
		}
	}
	s.rules = append(s.rules, &ruleGroup{key.severity, key.accepted != nil, key.rule, []*kind{k}})
}

// headingOf returns the document of a finding, or the file and sheet of the
// log.
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

// InSheetOrder sorts findings about a log by sheet or file, row and column.
// Findings about other sheets or about no log follow in their given order.
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

// byCell compares findings by the row and column of their first cell; a
// finding without a cell comes first.
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
