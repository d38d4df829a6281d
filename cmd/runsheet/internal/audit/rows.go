package audit

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// Row is what the exports of one patient say, in the form of its JSON: one line
// of what [Shard] writes. It has no measured value and no name; the patient's
// identifier and the paths of the files are in it. A reader ignores members that
// it does not know.
type Row struct {
	// Unit is set in the row about all patients, which has nothing else.
	Unit *Unit `json:"unit,omitempty"`
	// Patient is the identifier as system|value, or else the reference to the
	// patient, "" where the records name nobody.
	Patient  string              `json:"patient"`
	Lines    int                 `json:"lines,omitempty"` // files and links that were read
	Exports  []Export            `json:"exports,omitempty"`
	Sessions []Session           `json:"sessions,omitempty"`
	Held     []Held              `json:"heldBack,omitempty"`
	Plan     []manifest.Expected `json:"plan,omitempty"` // sessions a week, by the prescriptions
	Methods  []Method            `json:"methods,omitempty"`
	// Rules count all findings. Findings are the errors, up to a limit; Dropped
	// counts the others.
	Rules      []RuleCount     `json:"rules,omitempty"`
	Findings   []issue.Finding `json:"findings,omitempty"`
	Dropped    int             `json:"dropped,omitempty"`
	NotChecked []string        `json:"notChecked,omitempty"`

	Resources       int `json:"resources,omitempty"`
	ListedResources int `json:"listedResources,omitempty"`      // compared with a manifest
	Sent            int `json:"comparedWithReceipts,omitempty"` // resources
}

// Unit is what is known before the records are read: how many files and links
// there are of each patient, and what is wrong beside the exports.
type Unit struct {
	Patients map[string]int  `json:"patients"`
	Rules    []RuleCount     `json:"rules,omitempty"`
	Findings []issue.Finding `json:"findings,omitempty"`
	Dropped  int             `json:"dropped,omitempty"`
}

// Export is one export of a patient.
type Export struct {
	Dir   string `json:"folder"`
	Files int    `json:"files"` // without the manifest
	// Manifest is its SHA-256, "" without one. Signer is the public key of the
	// signature beside it, as in a file of allowed signers; Wrong is why the
	// signature cannot be accepted.
	Manifest string `json:"manifest,omitempty"`
	Signer   string `json:"signer,omitempty"`
	Wrong    string `json:"signatureWrong,omitempty"`
	// Listed reports that the manifest could be read; the others are from it.
	Listed bool          `json:"listed"`
	Tool   manifest.Tool `json:"tool"`
	Rules  string        `json:"rules,omitempty"`
	Log    string        `json:"log,omitempty"` // id
}

// Session is one session of the records.
type Session struct {
	ID     string `json:"id"`
	Export int    `json:"export"` // counted from 0
	File   string `json:"file"`
	Day    day    `json:"day"`
	// Start and End are seconds since 1970, 0 if not known.
	Start int64 `json:"start,omitempty"`
	End   int64 `json:"end,omitempty"`
	Kind  kind  `json:"became"`
	// Patient is set if the session is of another patient than the row.
	Patient string `json:"patient,omitempty"`
}

// Held is a session that was not exported because of errors.
type Held struct {
	Session string `json:"session"`
	Day     string `json:"day,omitempty"` // YYYY-MM-DD
}

func (a *audit) takeUnit(u *Unit) { a.takeFound(u.Rules, u.Findings, u.Dropped) }

func (a *audit) takeFound(rules []RuleCount, findings []issue.Finding, dropped int) {
	for _, c := range rules {
		a.count(c)
	}
	for _, f := range findings {
		a.keep(f)
	}
	a.dropped += dropped
}

// take adds a row. Rows come in the order of the patients.
func (a *audit) take(row *Row) {
	a.takeFound(row.Rules, row.Findings, row.Dropped)
	r := &a.report
	r.Resources, r.Listed = r.Resources+row.Resources, r.Listed+row.ListedResources
	r.Sent += row.Sent
	for i := range row.Exports {
		e := &row.Exports[i]
		r.Exports, r.Files = r.Exports+1, r.Files+e.Files
		if a.verify(e); e.Listed {
			a.listed(row.Patient, e)
		}
	}
	if len(row.Held)+len(row.Plan) > 0 {
		p := a.patient(row.Patient)
		p.held, p.plan = append(p.held, row.Held...), append(p.plan, row.Plan...)
	}
	a.takeSessions(row)
	for i := range row.Methods {
		a.method(&row.Methods[i])
	}
	for _, note := range row.NotChecked {
		a.notes[note] = true
	}
}

// listed counts an export with its manifest.
func (a *audit) listed(patient string, e *Export) {
	a.report.Manifests++
	a.patient(patient)
	for i, version := range []string{e.Tool.Name + " " + e.Tool.Version, e.Rules} {
		if a.versions[i][version] == nil {
			a.versions[i][version] = &made{first: filepath.Join(e.Dir, manifest.Name)}
		}
		a.versions[i][version].count++
	}
}

func (a *audit) takeSessions(row *Row) {
	mixed := map[string]bool{}
	for _, s := range row.Sessions {
		e := &row.Exports[s.Export]
		p, path := a.patient(cmp.Or(s.Patient, row.Patient)), filepath.Join(e.Dir, s.File)
		mixed[path] = mixed[path] || p.key != row.Patient
		p.sessions = append(p.sessions, session{id: s.ID, from: e, day: s.Day, start: s.Start, end: s.End, kind: s.Kind})
		if day := s.Day.String(); a.opts.Sample > 0 && (a.opts.From == "" || day >= a.opts.From) && (a.opts.To == "" || day <= a.opts.To) {
			a.draw.add(Drawn{Session: s.ID, Day: day, Patient: p.number(), File: path})
		}
	}
	for _, path := range sortedKeys(mixed) {
		if mixed[path] {
			a.add(place("audit-patients-mixed", path, issue.T("the session is of another patient than the others of the export"), ""))
		}
	}
}

// method adds what became of the values of a method.
func (a *audit) method(more *Method) {
	m := a.methods[more.Method]
	if m == nil {
		m = &Method{Method: more.Method, Quantity: more.Quantity, WhyNot: map[string]int{}}
		a.methods[more.Method] = m
	}
	m.N, m.Equal, m.Differ = m.N+more.N, m.Equal+more.Equal, m.Differ+more.Differ
	m.NotAgain, m.NoValue = m.NotAgain+more.NotAgain, m.NoValue+more.NoValue
	for rule, n := range more.WhyNot {
		m.WhyNot[rule] += n
	}
}

// Merge audits what [Shard] wrote into some files, in any order. A row that is
// there again is counted once. An error means that a row is missing, differs
// from another one of the same patient, or was made of other files than [Lines]
// counted.
func Merge(paths []string, opts Options) (*Report, error) {
	a, err := begin(opts)
	if err != nil {
		return nil, err
	}
	x := index{rows: map[string]where{}}
	for _, path := range paths {
		if err := x.read(path); err != nil {
			return nil, err
		}
	}
	if x.unit == nil {
		return nil, fmt.Errorf("the row about all patients is missing; audit --lines writes it first")
	}
	if err := x.check(); err != nil {
		return nil, err
	}
	a.takeUnit(x.unit)
	for _, key := range sortedKeys(x.rows) {
		row, err := x.row(key)
		if err != nil {
			return nil, err
		}
		a.take(row)
	}
	return a.finish()
}

// index is where the row of each patient is.
type index struct {
	unit    *Unit
	unitSum [sha256.Size]byte
	rows    map[string]where
}

type where struct {
	path          string
	offset, bytes int64
	sum           [sha256.Size]byte
	lines         int
}

func (x *index) read(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	in, offset := bufio.NewReader(f), int64(0)
	for {
		text, err := in.ReadBytes('\n')
		if len(bytes.TrimSpace(text)) > 0 {
			if err := x.add(path, offset, text); err != nil {
				return fmt.Errorf("%s, byte %d: %w", path, offset, err)
			}
		}
		offset += int64(len(text))
		if err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
	}
}

func (x *index) add(path string, offset int64, text []byte) error {
	var row struct {
		Unit    *Unit
		Patient *string
		Lines   int
	}
	if err := json.Unmarshal(text, &row); err != nil {
		return fmt.Errorf("not a row of audit --shard: %w", err)
	}
	one := where{path: path, offset: offset, bytes: int64(len(text)), sum: sha256.Sum256(bytes.TrimSpace(text)), lines: row.Lines}
	switch {
	case row.Unit != nil:
		if x.unit != nil && x.unitSum != one.sum {
			return fmt.Errorf("another row about all patients: the rows are of two audits")
		}
		x.unit, x.unitSum = row.Unit, one.sum
	case row.Patient == nil:
		return fmt.Errorf("not a row of audit --shard")
	default:
		if known, ok := x.rows[*row.Patient]; ok && known.sum != one.sum {
			return fmt.Errorf("another row of the patient %q, which differs from that in %s, byte %d", *row.Patient, known.path, known.offset)
		} else if !ok {
			x.rows[*row.Patient] = one
		}
	}
	return nil
}

// check compares the rows with the patients that were found.
func (x *index) check() error {
	var missing, other []string
	for _, key := range sortedKeys(x.unit.Patients) {
		if row, ok := x.rows[key]; !ok {
			missing = append(missing, key)
		} else if row.lines != x.unit.Patients[key] {
			other = append(other, key)
		}
	}
	extra := slices.DeleteFunc(slices.Sorted(maps.Keys(x.rows)), func(key string) bool { _, ok := x.unit.Patients[key]; return ok })
	for _, c := range []struct {
		keys []string
		what string
	}{{missing, "no row of"}, {other, "rows of a part of the files of"}, {extra, "rows of others than were found:"}} {
		if len(c.keys) > 0 {
			return fmt.Errorf("%s %s: %s", c.what, issue.Plural(len(c.keys), "patient", "patients"), some(c.keys))
		}
	}
	return nil
}

func (x *index) row(key string) (*Row, error) {
	at := x.rows[key]
	f, err := os.Open(at.path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text := make([]byte, at.bytes)
	if _, err := f.ReadAt(text, at.offset); err != nil {
		return nil, err
	}
	row := new(Row)
	if err := json.Unmarshal(text, row); err != nil {
		return nil, fmt.Errorf("%s, byte %d: %w", at.path, at.offset, err)
	}
	for _, s := range row.Sessions {
		if s.Export < 0 || s.Export >= len(row.Exports) {
			return nil, fmt.Errorf("%s, byte %d: a session is of no export", at.path, at.offset)
		}
	}
	return row, nil
}
