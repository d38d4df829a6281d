// Package audit answers five questions about exported records, each by itself
// and never in one word for all: are they complete, whole, signed, recomputed
// and valid ([issue.Question]).
//
// An export is a folder with a manifest or with FHIR JSON, without the folders
// in it. Exports are read patient by patient, and of a patient file by file, so
// that memory holds one patient's manifest at a time and, of the others, only
// the day and the kind of each session. Nothing is written into the folders, and
// no link is followed.
//
// Completeness is judged against the days asked for and the unit's roster.
// Without them the report begins with what it therefore cannot tell.
package audit

import (
	"cmp"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/recompute"
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

// audit is the state of one run.
type audit struct {
	opts     Options
	patients map[string]*patient // by identifier
	onRoster bool                // a roster is given
	known    map[string]string   // identifiers by the reference at the server
	report   Report
	rules    map[RuleCount]int // without N
	methods  map[string]*Method
	versions [2]map[string]*made // of the program and of its rules
	notes    map[string]bool
	inputs   *csv.Writer
	draw     *draw
	signed   signatures

	mu sync.Mutex // for what records tell, which are read concurrently
}

// made counts the exports of one version; first is one of them.
type made struct {
	count int
	first string
}

// Run audits the exports below some folders. An error means that the audit
// could not be done; what is wrong with the records is in the report.
func Run(ctx context.Context, dirs []string, opts Options) (*Report, error) {
	a := &audit{
		opts: opts, patients: map[string]*patient{}, known: map[string]string{}, rules: map[RuleCount]int{}, methods: map[string]*Method{},
		versions: [2]map[string]*made{{}, {}}, notes: map[string]bool{}, draw: newDraw(opts.Sample, opts.Seed),
	}
	if err := a.readRoster(); err != nil {
		return nil, err
	}
	if err := a.readSeals(); err != nil {
		return nil, err
	}
	exports, err := a.find(dirs)
	if err != nil {
		return nil, err
	}
	for _, e := range exports {
		if err := a.verify(e); err != nil {
			return nil, err
		}
	}
	a.unsealed()
	if opts.Inputs != nil {
		a.inputs = csv.NewWriter(opts.Inputs)
		if err := a.inputs.Write(inputHeadings); err != nil {
			return nil, err
		}
	}
	of := map[string][]*export{}
	for _, e := range exports {
		of[e.patient] = append(of[e.patient], e)
	}
	for _, key := range slices.Sorted(maps.Keys(of)) {
		if err := a.read(ctx, of[key]); err != nil {
			return nil, err
		}
	}
	if a.inputs != nil {
		if a.inputs.Flush(); a.inputs.Error() != nil {
			return nil, a.inputs.Error()
		}
	}
	a.sameVersions()
	for _, p := range a.ordered() {
		a.complete(p)
	}
	if a.report.Sample, err = a.draw.sessions(); err != nil {
		return nil, err
	}
	a.conclude(len(exports))
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

// read reads the exports of one patient.
func (a *audit) read(ctx context.Context, exports []*export) error {
	r := reading{audit: a, files: map[string]*file{}}
	var dirs []string
	for _, e := range exports {
		if len(e.records) > 0 {
			dirs = append(dirs, e.dir)
		}
		for _, name := range e.records {
			r.files[filepath.Join(e.dir, name)] = &file{of: e}
		}
	}
	if len(dirs) > 0 {
		opts := a.opts.Validate
		opts.Flat, opts.MaxFindings, opts.Record, opts.Value = true, mostOfOne, r.record, a.value
		found, err := validate.Paths(ctx, dirs, nil, opts)
		if err != nil {
			return err
		}
		a.take(found)
	}
	for _, e := range exports {
		if err := r.compare(e); err != nil {
			return err
		}
		if a.opts.Sent != nil && e.listed {
			if err := a.sent(ctx, e); err != nil {
				return err
			}
		}
	}
	return nil
}

// sent compares an export with what was sent of it.
func (a *audit) sent(ctx context.Context, e *export) error {
	unlike, compared, err := a.opts.Sent(ctx, e.dir)
	a.report.Sent += compared
	for _, u := range unlike {
		a.add(place(u.Rule, u.File, u.Details, some(u.Which)))
	}
	return err
}

// take counts the findings about the records of one patient, and keeps the
// errors.
func (a *audit) take(found *validate.Report) {
	a.report.Resources += found.Resources
	for _, c := range found.Counts {
		if q := issue.QuestionOf(c.Rule); q != "" {
			a.rules[RuleCount{Question: q, Rule: c.Rule, Severity: c.Severity}] += c.N
		}
	}
	for _, f := range found.Findings {
		if f.Severity == issue.Error {
			a.keep(f)
		}
	}
	a.report.Dropped += found.DroppedErrors
	for _, note := range found.NotChecked {
		a.notes[note] = true
	}
}

// add counts and keeps a finding of the audit itself.
func (a *audit) add(f issue.Finding) {
	a.rules[RuleCount{Question: issue.QuestionOf(f.Rule), Rule: f.Rule, Severity: f.Severity}]++
	a.keep(f)
}

func (a *audit) keep(f issue.Finding) {
	if len(a.report.Findings) >= mostFindings {
		a.report.Dropped++
		return
	}
	a.report.Findings = append(a.report.Findings, f)
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

// value counts a computed value, and writes its inputs.
func (a *audit) value(row recompute.Row) {
	m := a.methods[row.Method]
	if m == nil {
		m = &Method{Method: row.Method, Quantity: row.Quantity, WhyNot: map[string]int{}}
		a.methods[row.Method] = m
		if row.Rule == "calc-method-unknown" {
			a.add(place("audit-method-unknown", row.File, issue.T("values of a method, or of a version of it, that is not known"), row.Method))
		}
	}
	m.N++
	switch row.Comparison {
	case recompute.Same:
		m.Equal++
	case recompute.Differs:
		m.Differ++
	case recompute.NotAgain:
		m.NotAgain++
		m.WhyNot[row.Rule]++
	default:
		m.NoValue++
	}
	if a.inputs != nil {
		a.writeInputs(row)
	}
}

var inputHeadings = []string{"file", "session", "start", "quantity", "method", "written", "unit", "recomputed", "comparison", "why not", "input", "input value", "input unit"}

// writeInputs writes a row for each input of a computed value, or one without
// input. The writer keeps its error until the end.
func (a *audit) writeInputs(row recompute.Row) {
	inputs := row.Inputs
	if len(inputs) == 0 {
		inputs = []recompute.Input{{}}
	}
	why := row.WhyNot
	if row.Comparison == recompute.NotAgain {
		why = row.Rule
	}
	for _, in := range inputs {
		_ = a.inputs.Write(harmless([]string{row.File, row.Session, row.Start, row.Key, row.Method, row.Value, row.Unit, row.Recomputed, string(row.Comparison), why, in.Key, in.Text, in.Unit}))
	}
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
