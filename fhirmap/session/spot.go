package session

import (
	"slices"
	"strings"

	"runsheet.example/validate/issue"
)

// spot is a place in a file of the log: the cell as people name it, and the
// line and byte column as editors do.
type spot struct {
	cell   issue.Cell
	line   int
	column int
}

// finding starts a finding of a rule at the spot.
func (p spot) finding(rule, details string, args ...any) issue.Finding {
	f := issue.At(rule)
	f.File = p.cell.File
	f.Line = p.line
	f.Column = p.column
	f.Cells = []issue.Cell{p.cell}
	f.Details = issue.T(details, args...)
	return f
}

// maxOfOneRule is how many findings of one rule in one file are listed; the
// rest are counted.
const maxOfOneRule = 1000

type ruleInFile struct{ rule, file string }

// collector gathers findings in reading order.
type collector struct {
	found  []found
	counts map[ruleInFile]int
	tally  Tally
	// wholeFile is set when a file could not be read, or not to its end, so that
	// any session may lack rows.
	wholeFile bool
	// size is the size of the log read so far; refused is the finding that it is
	// too large, after which nothing more is read.
	size    Size
	refused *issue.Finding
	// undeclared is set when log.toml is there but cannot be read: what it
	// declares of dates and decimals is not known.
	undeclared bool
}

// wholeFileRules are the errors about a file as a whole.
var wholeFileRules = []string{"log-heading-missing", "log-not-csv", "log-sheet-missing", "log-too-large", "log-workbook"}

// declaredRules are the rules whose findings a declaration in log.toml may
// settle: they would ask for what the person has already written there.
var declaredRules = []string{"log-date-ambiguous", "log-decimal-mark", "log-thousands"}

// found keeps a finding with its session, whose name may only be made later.
type found struct {
	issue.Finding
	session *Session
}

// add records a finding. An error breaks the session it is about, also when
// the finding itself is only counted; s may be nil.
func (c *collector) add(f issue.Finding, s *Session) {
	if s != nil && f.Severity == issue.Error {
		s.Broken = true
	}
	if s == nil && slices.Contains(wholeFileRules, f.Rule) {
		c.wholeFile = true
		c.undeclared = c.undeclared || strings.EqualFold(f.File, aboutFile)
	}
	c.undeclared = c.undeclared || f.Rule == "about-syntax"
	if c.undeclared && slices.Contains(declaredRules, f.Rule) {
		return
	}
	if c.counts == nil {
		c.counts = map[ruleInFile]int{}
	}
	key := ruleInFile{f.Rule, f.File}
	c.counts[key]++
	if c.counts[key] <= maxOfOneRule {
		c.found = append(c.found, found{f, s})
	}
}

// refuse drops the log, which is too large. No other finding is listed then.
func (c *collector) refuse(f issue.Finding) {
	if c.refused == nil {
		c.refused = &f
	}
}

// done returns the findings in order, with one line for each list cut short.
func (c *collector) done() []issue.Finding {
	if c.refused != nil {
		return []issue.Finding{*c.refused}
	}
	var all []issue.Finding
	for _, f := range c.found {
		if f.session != nil {
			f.Session = f.session.ID
		}
		all = append(all, f.Finding)
	}
	for key, n := range c.counts {
		if n > maxOfOneRule {
			f := spot{cell: issue.Cell{File: key.file}}.finding("log-more",
				"{} more findings of the rule {} are not listed", n-maxOfOneRule, key.rule)
			all = append(all, f)
		}
	}
	issue.Sort(all)
	return all
}

// Nearest returns the candidate closest in spelling to what was written, or ""
// when none is close enough to be what was meant (a third of its letters) or
// two are equally close.
func Nearest(written string, candidates []string) string {
	best, bestAt := "", len(written)
	for _, c := range candidates {
		switch d := editDistance(written, c); {
		case d > max(1, len(c)/3) || d > bestAt:
		case d == bestAt:
			best = ""
		default:
			best, bestAt = c, d
		}
	}
	return best
}

// maxCompared bounds the work spent on a suggestion.
const maxCompared = 64

// editDistance counts the letters to insert, delete or replace (Levenshtein
// 1966), or to exchange with the one beside (Damerau 1964), between two short texts.
func editDistance(a, b string) int {
	if len(a) > maxCompared || len(b) > maxCompared {
		return max(len(a), len(b))
	}
	row, last, before := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		row, last, before = before, row, last
		row[0] = i + 1
		for j := range len(b) {
			cost := last[j]
			if a[i] != b[j] {
				cost++
			}
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				cost = min(cost, before[j-1]+1)
			}
			row[j+1] = min(cost, row[j]+1, last[j+1]+1)
		}
	}
	return row[len(b)]
}
