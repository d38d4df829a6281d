// Package accept reads a list of accepted findings: findings that somebody has
// looked at and takes responsibility for until a date. An accepted finding is
// still reported and counted, as accepted; it does not decide whether a check
// passes.
//
// The list is a TOML file (TOML 1.0):
//
//	format = 1
//
//	[[accept]]
//	rule = "clin-record-unusual"           # id of the rule, see runsheet rules
//	record = "Observation/w1"              # left out: any record
//	path = "Bundle.entry[*].resource.code" # left out: any element
//	reason = "confirmed by telephone"
//	until = 2026-03-31                     # the last day on which it accepts
//	by = "J. Doe, unit informatics"
//
// An entry accepts each finding of its rule that is in its record and at its
// path:
//
//   - record is the resource as Type/id, the fullUrl of its Bundle entry, or a
//     file: its path as findings name it, or the last part of that path. A
//     finding that only the comparison of all documents gives, after the last
//     of them, knows its file but not its resource.
//   - path is the FHIRPath expression of the finding; [*] stands for any index.
//
// All keys but record and path are required, and no other key is allowed. An
// entry after its last day accepts nothing and is reported (accept-expired), as
// is one that matches no finding (accept-unused).
package accept

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"runsheet.example/validate/issue"
)

// format is the version of the list that this package reads.
const format = 1

// document is the list as written.
type document struct {
	Format int `toml:"format"`
	Accept []struct {
		Rule   string          `toml:"rule"`
		Record string          `toml:"record"`
		Path   string          `toml:"path"`
		Reason string          `toml:"reason"`
		Until  *toml.LocalDate `toml:"until"`
		By     string          `toml:"by"`
	} `toml:"accept"`
}

// List is a list of accepted findings on one day. It must not be used by two
// goroutines at once.
type List struct {
	name    string
	entries []*entry
}

type entry struct {
	rule, record string
	path         *regexp.Regexp // nil for any
	line         int
	expired      bool
	used         bool
	issue.Acceptance
}

// Parse reads a list; name is what errors and findings call it. An entry whose
// last day is before today (of which only the date counts) is expired. The
// error says which line is wrong.
func Parse(data []byte, name string, today time.Time) (*List, error) {
	var d document
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&d); err != nil {
		return nil, syntax(name, err)
	}
	if d.Format != format {
		return nil, fmt.Errorf("%s: format = %d: expected format = %d", name, d.Format, format)
	}
	lines := entryLines(data)
	if len(lines) != len(d.Accept) {
		return nil, fmt.Errorf("%s: each entry needs a heading [[accept]] of its own", name)
	}
	l := &List{name: name}
	day := today.Format(time.DateOnly)
	for i, a := range d.Accept {
		var missing []string
		for _, key := range [...]struct{ name, text string }{{"rule", a.Rule}, {"reason", a.Reason}, {"by", a.By}} {
			if strings.TrimSpace(key.text) == "" {
				missing = append(missing, key.name)
			}
		}
		if a.Until == nil {
			missing = append(missing, "until")
		}
		if missing != nil {
			return nil, fmt.Errorf("%s line %d: the entry has no %s", name, lines[i], strings.Join(missing, ", "))
		}
		if _, ok := issue.Lookup(a.Rule); !ok {
			return nil, fmt.Errorf("%s line %d: rule = %q: there is no such rule; runsheet rules lists them", name, lines[i], a.Rule)
		}
		until := a.Until.AsTime(time.UTC).Format(time.DateOnly)
		l.entries = append(l.entries, &entry{
			rule: a.Rule, record: a.Record, path: pathPattern(a.Path), line: lines[i], expired: until < day,
			Acceptance: issue.Acceptance{Reason: a.Reason, Until: until, By: a.By},
		})
	}
	return l, nil
}

// syntax says where a list is not TOML or has a key that lists do not have.
func syntax(name string, err error) error {
	var unknown *toml.StrictMissingError
	if errors.As(err, &unknown) && len(unknown.Errors) > 0 {
		first := unknown.Errors[0]
		line, column := first.Position()
		return fmt.Errorf("%s line %d, column %d: unknown key %q", name, line, column, strings.Join(first.Key(), "."))
	}
	var at *toml.DecodeError
	if errors.As(err, &at) {
		line, column := at.Position()
		return fmt.Errorf("%s line %d, column %d: %s", name, line, column, strings.TrimPrefix(at.Error(), "toml: "))
	}
	return fmt.Errorf("%s: %w", name, err)
}

// entryLines are the lines of the headings [[accept]].
func entryLines(data []byte) (lines []int) {
	var p unstable.Parser
	p.Reset(data)
	for p.NextExpression() {
		node := p.Expression()
		if node.Kind != unstable.ArrayTable {
			continue
		}
		if key := node.Key(); key.Next() {
			lines = append(lines, 1+bytes.Count(data[:key.Node().Raw.Offset], []byte("\n")))
		}
	}
	return lines
}

// pathPattern matches the expressions that a path stands for.
func pathPattern(path string) *regexp.Regexp {
	if path == "" {
		return nil
	}
	return regexp.MustCompile(`^` + strings.ReplaceAll(regexp.QuoteMeta(path), `\[\*\]`, `\[[0-9]+\]`) + `$`)
}

// Apply marks a finding as accepted when an entry accepts it. names are those
// of the resource it is in.
func (l *List) Apply(f *issue.Finding, names ...string) {
	for _, e := range l.entries {
		if !e.matches(f, names) {
			continue
		}
		e.used = true
		if !e.expired && f.Accepted == nil {
			f.Accepted = &e.Acceptance
		}
	}
}

func (e *entry) matches(f *issue.Finding, names []string) bool {
	if e.rule != f.Rule || e.path != nil && !e.path.MatchString(f.Expression) {
		return false
	}
	return e.record == "" || e.record == f.File || strings.HasSuffix(f.File, "/"+e.record) || slices.Contains(names, e.record)
}

// Report reports the entries that have expired and those that matched no
// finding.
func (l *List) Report(add func(issue.Finding)) {
	for _, e := range l.entries {
		rule, details := "accept-unused", "no finding matches this entry"
		switch {
		case e.expired && e.used:
			rule, details = "accept-expired", "this entry has expired, and the findings that it matches count again"
		case e.expired:
			rule, details = "accept-expired", "this entry has expired, and no finding matches it"
		case e.used:
			continue
		}
		f := issue.At(rule)
		f.File, f.Line, f.Details = l.name, e.line, issue.T(details)
		f.Value = e.rule
		if e.expired {
			f.Value += ", until " + e.Until
		}
		add(f)
	}
}
