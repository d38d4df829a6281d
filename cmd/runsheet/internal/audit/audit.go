// Package audit answers five questions about exported records, each by itself
// and never in one word for all: are they complete, whole, signed, recomputed
// and valid ([issue.Question]).
//
// An export is a folder with a manifest or with FHIR JSON, without the folders
// in it. An audit has three steps, in one program or in many:
//
//   - [Lines] finds the exports and writes their files patient by patient.
//   - [Shard] reads the files of some patients and writes what they say, a
//     [Row] for each patient. Patients do not depend on each other, so that any
//     number of programs can do this at the same time.
//   - [Merge] adds the rows up and judges them against the days asked for, the
//     unit's roster and the signers.
//
// [Run] does the same in memory, from the folders: memory holds one patient's
// manifest at a time for each processor and, of all, only the day and the kind
// of each session. Nothing is written into the folders, and no link is followed.
//
// Without days and roster the report begins with what it therefore cannot tell.
package audit

import (
	"cmp"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"os"
	"runtime"
	"slices"
	"time"

	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// Options are the choices of an audit.
type Options struct {
	// From and To are the first and the last day, as YYYY-MM-DD; "" sets no
	// bound.
	From, To string
	// Roster is the path of the unit's patients, "" without.
	Roster string
	// Validate are the options for the records.
	Validate validate.Options
	// Inputs, if set, gets a CSV row for each input of each computed value.
	Inputs io.Writer
	// Program is the name and the version of the program, for the report.
	Program string
	// Sample is the number of sessions to draw, by the HMAC-SHA-256 of each
	// session's id under the key Seed, the smallest ones.
	Sample int
	Seed   string
	// Sent, if set, compares the export in a folder with what was sent of it, and
	// returns the number of resources compared.
	Sent func(ctx context.Context, dir string) ([]Unlike, int, error)
	// Signers is the path of a file of allowed signers, "" without; Seals are
	// the paths of lists of manifests, each with its signature beside it. Now is
	// when a key must be valid.
	Signers string
	Seals   []string
	Now     time.Time
}

// Unlike is a file whose resources were not sent, or stand elsewhere with other
// content; Which are those.
type Unlike struct {
	Rule, File string
	Details    issue.Text
	Which      []string
}

// Limits of what a report lists; everything is counted.
const (
	mostFindings = 1000
	mostOfOne    = 5000 // findings about the records of one patient
)

// audit adds the rows up.
type audit struct {
	tally
	opts     Options
	patients map[string]*patient // by identifier
	onRoster bool                // a roster is given
	known    map[string]string   // identifiers by the reference at the server
	report   Report
	methods  map[string]*Method
	versions [2]map[string]*made // of the program and of its rules
	notes    map[string]bool
	draw     *draw
	signed   signatures
}

// made counts the exports of one version; first is one of them.
type made struct {
	count int
	first string
}

// tally counts findings by rule, and keeps the first of them.
type tally struct {
	rules    map[RuleCount]int // without N
	findings []issue.Finding
	dropped  int
}

// add counts and keeps a finding of the audit itself.
func (t *tally) add(f issue.Finding) {
	t.count(RuleCount{Question: issue.QuestionOf(f.Rule), Rule: f.Rule, Severity: f.Severity, N: 1})
	t.keep(f)
}

func (t *tally) count(c RuleCount) {
	n := c.N
	c.N = 0
	t.rules[c] += n
}

func (t *tally) keep(f issue.Finding) {
	if len(t.findings) >= mostFindings {
		t.dropped++
		return
	}
	t.findings = append(t.findings, f)
}

// counts are the counts by question, severity and rule.
func (t *tally) counts() []RuleCount {
	out := []RuleCount{}
	for c, n := range t.rules {
		c.N = n
		out = append(out, c)
	}
	slices.SortFunc(out, func(x, y RuleCount) int {
		return cmp.Or(cmp.Compare(slices.Index(questions, x.Question), slices.Index(questions, y.Question)),
			cmp.Compare(y.Severity, x.Severity), cmp.Compare(x.Rule, y.Rule))
	})
	return out
}

func newTally() tally { return tally{rules: map[RuleCount]int{}} }

// begin reads the roster, the signers and the signed lists.
func begin(opts Options) (*audit, error) {
	a := &audit{
		tally: newTally(), opts: opts, patients: map[string]*patient{}, known: map[string]string{}, methods: map[string]*Method{},
		versions: [2]map[string]*made{{}, {}}, notes: map[string]bool{}, draw: newDraw(opts.Sample, opts.Seed),
	}
	if err := a.readRoster(); err != nil {
		return nil, err
	}
	return a, a.readSeals()
}

// Run audits the exports below some folders. An error means that the audit
// could not be done; what is wrong with the records is in the report.
func Run(ctx context.Context, dirs []string, opts Options) (*Report, error) {
	a, err := begin(opts)
	if err != nil {
		return nil, err
	}
	unit, of, err := find(dirs, a.known)
	if err != nil {
		return nil, err
	}
	a.takeUnit(unit)
	var inputs *csv.Writer
	if opts.Inputs != nil {
		inputs = csv.NewWriter(opts.Inputs)
		_ = inputs.Write(inputHeadings) // it keeps the error
	}
	if err := readAll(ctx, of, opts, inputs, a.take); err != nil {
		return nil, err
	}
	if inputs != nil {
		if inputs.Flush(); inputs.Error() != nil {
			return nil, inputs.Error()
		}
	}
	return a.finish()
}

// readAll reads the exports of all patients, some at once, and hands their rows on
// in the order of the patients.
func readAll(ctx context.Context, of map[string][]*export, opts Options, inputs *csv.Writer, take func(*Row)) error {
	jobs := cmp.Or(opts.Validate.Jobs, runtime.GOMAXPROCS(0))
	atOnce := min(jobs, len(of))
	if inputs != nil || opts.Sent != nil {
		atOnce = 1 // inputs are written, and a server is asked, in order
	}
	opts.Validate.Jobs = jobs / atOnce
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	type result struct {
		row *Row
		err error
	}
	order := make(chan chan result, atOnce-1) // with the one that is waited for
	go func() {
		defer close(order)
		for _, key := range sortedKeys(of) {
			one := make(chan result, 1)
			select {
			case order <- one:
			case <-ctx.Done():
				return
			}
			go func() {
				row, err := read(ctx, key, of[key], opts, inputs)
				one <- result{row, err}
			}()
		}
	}()
	for one := range order {
		r := <-one
		if r.err != nil {
			return r.err
		}
		take(r.row)
	}
	return ctx.Err()
}

// finish judges what the rows said.
func (a *audit) finish() (*Report, error) {
	a.unsealed()
	a.sameVersions()
	for _, p := range a.ordered() {
		a.complete(p)
	}
	var err error
	if a.report.Sample, err = a.draw.sessions(); err != nil {
		return nil, err
	}
	a.conclude()
	return &a.report, nil
}

func (a *audit) readRoster() error {
	if a.opts.Roster == "" {
		return nil
	}
	a.onRoster = true
	people, err := roster.Read(a.opts.Roster)
	if err == nil {
		err = people.Overlap()
	}
	if err != nil {
		return err
	}
	for _, row := range people {
		p := a.patient(row.String())
		p.rows = append(p.rows, row)
		if row.Patient != "" {
			a.known[row.Patient] = row.String()
		}
	}
	return nil
}

// patient returns the patient with an identifier or a reference.
func (a *audit) patient(key string) *patient {
	if identifier, ok := a.known[key]; ok {
		key = identifier
	}
	p := a.patients[key]
	if p == nil {
		p = &patient{key: key}
		a.patients[key] = p
	}
	return p
}

// ordered are the patients in the order of the roster, and then the others.
func (a *audit) ordered() []*patient {
	return slices.SortedFunc(maps.Values(a.patients), func(x, y *patient) int {
		return cmp.Or(cmp.Compare(x.row(), y.row()), cmp.Compare(x.key, y.key))
	})
}

// place is a finding about a file or folder.
func place(rule, file string, details issue.Text, value string) issue.Finding {
	f := issue.At(rule)
	f.File, f.Details, f.Value = file, details, value
	return f
}

// sameVersions reports exports of another version than the first one.
func (a *audit) sameVersions() {
	for i, details := range []issue.Text{issue.T("the exports were made by more than one version of the program"), issue.T("the exports were made with more than one version of the rules")} {
		if len(a.versions[i]) < 2 {
			continue
		}
		value, last := "", ""
		for _, version := range slices.Sorted(maps.Keys(a.versions[i])) {
			m := a.versions[i][version]
			value += fmt.Sprintf("%s%s by %.20s", separator(value), issue.Plural(m.count, "export", "exports"), version)
			last = max(last, m.first)
		}
		a.add(place("audit-versions", last, details, value))
	}
}

func separator(before string) string {
	if before == "" {
		return ""
	}
	return ", "
}

// head reads the beginning of a file.
func head(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, most))
}
