package audit

import (
	"cmp"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"runsheet.example/profiles"
	"runsheet.example/validate"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/month"
	"runsheet.example/validate/resources"
)

// reading reads the exports of one patient into a row; files are their files by
// path.
type reading struct {
	tally
	row     Row
	files   map[string]*file
	methods map[string]*Method
	inputs  *csv.Writer
	mu      sync.Mutex // for what records tell, which are read concurrently
}

// file is what stands in one file of records.
type file struct {
	of, name string // folder and name
	// resources are "Type/name" of each, where the name is that of the manifest.
	resources []string
	records   int // Bundles and single resources
}

// read reads the exports of one patient, and nothing but these.
func read(ctx context.Context, key string, exports []*export, opts Options, inputs *csv.Writer) (*Row, error) {
	r := reading{tally: newTally(), row: Row{Patient: key}, files: map[string]*file{}, methods: map[string]*Method{}, inputs: inputs}
	var dirs []string
	for _, e := range exports {
		if len(e.records) > 0 {
			dirs = append(dirs, e.dir)
		}
		for _, name := range e.records {
			r.files[filepath.Join(e.dir, name)] = &file{of: e.dir, name: name}
		}
	}
	for _, e := range exports {
		// Who signed is known before anything of a manifest is read.
		out, err := signer(e)
		if err != nil {
			return nil, err
		}
		r.row.Lines += e.lines()
		r.row.Exports = append(r.row.Exports, out)
	}
	if len(dirs) > 0 {
		asked := opts.Validate
		asked.Flat, asked.MaxFindings, asked.Record, asked.Value = true, mostOfOne, r.record, r.value
		found, err := validate.Paths(ctx, dirs, nil, asked)
		if err != nil {
			return nil, err
		}
		r.take(found)
	}
	for i, e := range exports {
		if err := r.compare(e, &r.row.Exports[i]); err != nil {
			return nil, err
		}
		if opts.Sent != nil && r.row.Exports[i].Listed {
			if err := r.sent(ctx, e, opts); err != nil {
				return nil, err
			}
		}
	}
	return r.done(), nil
}

// sent compares an export with what was sent of it.
func (r *reading) sent(ctx context.Context, e *export, opts Options) error {
	unlike, compared, err := opts.Sent(ctx, e.dir)
	r.row.Sent += compared
	for _, u := range unlike {
		r.add(place(u.Rule, u.File, u.Details, some(u.Which)))
	}
	return err
}

// done completes the row.
func (r *reading) done() *Row {
	slices.SortFunc(r.row.Sessions, func(x, y Session) int {
		return cmp.Or(cmp.Compare(x.Day, y.Day), cmp.Compare(x.Start, y.Start), cmp.Compare(x.ID, y.ID), cmp.Compare(x.Export, y.Export), cmp.Compare(x.File, y.File))
	})
	for _, key := range sortedKeys(r.methods) {
		r.row.Methods = append(r.row.Methods, *r.methods[key])
	}
	issue.Sort(r.findings)
	r.row.Rules, r.row.Findings, r.row.Dropped = r.counts(), r.findings, r.row.Dropped+r.dropped
	return &r.row
}

// take counts the findings about the records, and keeps the errors. What was
// seen in a record stays there: a row has no measured value.
func (r *reading) take(found *validate.Report) {
	r.row.Resources += found.Resources
	for _, c := range found.Counts {
		if q := issue.QuestionOf(c.Rule); q != "" {
			r.count(RuleCount{Question: q, Rule: c.Rule, Severity: c.Severity, N: c.N})
		}
	}
	for _, f := range found.Findings {
		if f.Severity != issue.Error {
			continue
		}
		if issue.QuestionOf(f.Rule) != issue.Whole {
			f.Value, f.Expected = "", issue.Text{}
		}
		r.keep(f)
	}
	r.row.Dropped += found.DroppedErrors
	r.row.NotChecked = found.NotChecked
}

// record takes what a record says about its session and its resources.
func (r *reading) record(path string, rec *resources.Index) {
	r.mu.Lock()
	defer r.mu.Unlock()
	f := r.files[path]
	if f == nil {
		return
	}
	f.records++
	for i := range rec.Resources {
		res := &rec.Resources[i]
		if res.Owner != resources.Nowhere || res.Type == "Bundle" {
			continue
		}
		name := res.Identity
		if len(name) == 0 {
			name = res.FullURL
		}
		f.resources = append(f.resources, res.Type+"/"+strings.TrimPrefix(string(name), "urn:uuid:"))
		if res.Type == "Procedure" && rec.HasCoding(res.Code, profiles.Haemodialysis) && !rec.Doc.Is(res.Status, "entered-in-error") {
			r.session(f, rec, i)
		}
	}
}

func (r *reading) session(f *file, rec *resources.Index, i int) {
	d, res := rec.Doc, &rec.Resources[i]
	text := d.Str(res.Effective)
	if d.Kind(res.Effective) == doc.Object {
		text = d.Str(d.Get(res.Effective, "start"))
	}
	at, err := time.Parse(time.DateOnly, string(text[:min(len(text), len(time.DateOnly))]))
	if err != nil {
		return // the validator says so
	}
	s := Session{ID: string(res.Identity), File: f.name, Day: dayOf(at), Start: res.Span.Start, End: res.Span.End, Kind: done}
	s.Export = slices.IndexFunc(r.row.Exports, func(e Export) bool { return e.Dir == f.of })
	switch string(d.Str(res.Status)) {
	case "stopped":
		s.Kind = cutShort
	case "not-done":
		if s.Kind = notDone; d.Get(res.Node, "statusReason") == doc.None {
			s.Kind = unexplained
		}
	}
	if key := patientOf(rec, i); key != r.row.Patient {
		s.Patient = key
	}
	r.row.Sessions = append(r.row.Sessions, s)
}

func (e *export) manifest() string { return filepath.Join(e.dir, manifest.Name) }

// compare compares an export with its manifest, beyond the digests that the
// validator compares, and takes from the manifest what it says of the whole.
func (r *reading) compare(e *export, out *Export) error {
	out.Files = len(e.files)
	r.links(e)
	if !e.listed {
		r.add(place("audit-manifest-absent", e.dir, issue.T("there are records and no manifest"), ""))
		return nil
	}
	if len(e.records) == 0 {
		if err := r.digests(e); err != nil {
			return err
		}
	}
	f, err := os.Open(e.manifest())
	if err != nil {
		return err
	}
	defer f.Close()
	l := listing{reading: r, of: e, out: out, named: map[string]bool{}, rows: map[logRow]string{}, inWeeks: map[logRow]bool{}}
	if err := manifest.Scan(f, l.part); err != nil || l.fhir || !l.lists {
		r.add(place("audit-manifest-absent", e.manifest(), issue.T("the manifest cannot be read"), ""))
		return nil
	}
	out.Listed = true
	l.sameRows()
	for _, name := range e.files {
		if !l.named[name] && !isSignature(name) {
			r.add(place("audit-file-extra", filepath.Join(e.dir, name), issue.T("a file beside the manifest is not named in it"), ""))
		}
	}
	return nil
}

// listing reads one manifest, part by part.
type listing struct {
	*reading
	of          *export
	out         *Export
	named       map[string]bool
	fhir, lists bool
	// rows are the rows of the log that sessions were made from, with the file of
	// each, "" for one that was held back; inWeeks are those of the sessions that
	// the weeks count as done.
	rows    map[logRow]string
	inWeeks map[logRow]bool
}

// logRow is a row of a log.
type logRow struct {
	file, sheet string
	row         int
}

// part takes one part. The validator reports parts of another form.
func (l *listing) part(p manifest.Part) error {
	switch p.Member {
	case "tool":
		_ = json.Unmarshal(p.Value, &l.out.Tool)
	case "rules":
		_ = json.Unmarshal(p.Value, &l.out.Rules)
	case "log":
		var log manifest.Log
		_ = json.Unmarshal(p.Value, &log)
		l.out.Log = log.ID
	case "resourceType":
		l.fhir = true
	case "bundles":
		l.lists = true
		var f manifest.File
		if p.Element && json.Unmarshal(p.Value, &f) == nil {
			l.named[f.File] = true
			if len(f.Resources) > 0 {
				l.sameResources(l.of, f)
				l.madeFrom(f)
			}
		}
	case "output":
		var output []manifest.BulkFile
		if json.Unmarshal(p.Value, &output) == nil {
			l.sameCounts(l.of, output)
		}
	case "leftOut":
		var left manifest.LeftOut
		if p.Element && json.Unmarshal(p.Value, &left) == nil {
			l.row.Held = append(l.row.Held, Held{Session: left.Session, Day: left.Date})
			l.rows[rowOf(left.Cell)] = ""
		}
	case "expected":
		var plan manifest.Expected
		if p.Element && json.Unmarshal(p.Value, &plan) == nil {
			l.row.Plan = append(l.row.Plan, plan)
		}
	}
	return nil
}

func rowOf(c issue.Cell) logRow { return logRow{c.File, c.Sheet, c.Row} }

// madeFrom takes the rows of the log that a file was made from.
func (l *listing) madeFrom(f manifest.File) {
	for _, res := range f.Resources {
		switch {
		case len(res.Cells) == 0:
		case res.Type == "Procedure":
			row := rowOf(res.Cells[0])
			if first, twice := l.rows[row]; twice && first != f.File { // a file named twice is one
				l.add(place("audit-row-twice", filepath.Join(l.of.dir, f.File), issue.T("two sessions were made from one row of the log, or one that was held back is there"), res.Cells[0].String()+separator(first)+first))
			}
			l.rows[row] = f.File
		case strings.HasPrefix(res.Role, weekSessions):
			for _, c := range res.Cells {
				l.inWeeks[rowOf(c)] = true
			}
		}
	}
}

// weekSessions begins the role of the number of sessions done in a week, whose
// cells are the names of these sessions.
const weekSessions = "computed:sessions_done:"

// sameRows compares the sessions that the weeks of an export count with those
// that are in it.
func (l *listing) sameRows() {
	var absent []string
	for row := range l.inWeeks {
		if _, ok := l.rows[row]; !ok {
			absent = append(absent, issue.Cell{File: row.file, Sheet: row.sheet, Row: row.row}.String())
		}
	}
	if slices.Sort(absent); len(absent) > 0 {
		l.add(place("audit-session-absent", l.of.manifest(), issue.T("the weeks count sessions as done that are not in the export"), some(absent)))
	}
}

// digests compares the files of an export that has no FHIR JSON, which the
// validator does not read, with their digests.
func (r *reading) digests(e *export) error {
	text, err := os.ReadFile(e.manifest())
	if err != nil {
		return err
	}
	m, _ := month.ReadManifest(text, e.manifest())
	root, err := os.OpenRoot(e.dir)
	if err != nil {
		return err
	}
	defer root.Close()
	findings, err := m.Verify(root.FS(), nil)
	for _, f := range findings {
		r.add(f)
	}
	r.add(place("audit-unread", e.dir, issue.T("the export has no FHIR JSON"), ""))
	return err
}

// sameResources compares the resources of one file with those in the manifest.
func (r *reading) sameResources(e *export, listed manifest.File) {
	f := r.files[filepath.Join(e.dir, listed.File)]
	if f == nil || f.records == 0 {
		return // it is not there or cannot be read, as the validator says
	}
	var want []string
	for _, res := range listed.Resources {
		name := res.ID
		if res.FullURL != "" {
			name = strings.TrimPrefix(res.FullURL, "urn:uuid:")
		}
		want = append(want, res.Type+"/"+name)
	}
	r.row.ListedResources += len(want)
	missing, extra := differences(want, f.resources)
	path := filepath.Join(e.dir, listed.File)
	if len(missing) > 0 {
		r.add(place("audit-resource-missing", path, issue.T("resources that the manifest lists are not in the file"), some(missing)))
	}
	if len(extra) > 0 {
		r.add(place("audit-resource-extra", path, issue.T("resources of the file are not in the manifest"), some(extra)))
	}
}

// sameCounts compares the numbers of lines of NDJSON files with those in the
// manifest, which lists no resources for them.
func (r *reading) sameCounts(e *export, output []manifest.BulkFile) {
	for _, o := range output {
		f := r.files[filepath.Join(e.dir, o.URL)]
		if f == nil {
			continue
		}
		r.row.ListedResources += o.Count
		value := fmt.Sprintf("%d of %d", f.records, o.Count)
		switch {
		case f.records < o.Count:
			r.add(place("audit-resource-missing", filepath.Join(e.dir, o.URL), issue.T("the file has fewer lines than the manifest says"), value))
		case f.records > o.Count:
			r.add(place("audit-resource-extra", filepath.Join(e.dir, o.URL), issue.T("the file has more lines than the manifest says"), value))
		}
	}
}

// differences are the names of a that are not in b, and those of b that are not
// in a, as often as they stand there. It sorts both.
func differences(a, b []string) (onlyA, onlyB []string) {
	slices.Sort(a)
	slices.Sort(b)
	for len(a) > 0 || len(b) > 0 {
		switch {
		case len(b) == 0 || len(a) > 0 && a[0] < b[0]:
			onlyA, a = append(onlyA, a[0]), a[1:]
		case len(a) == 0 || b[0] < a[0]:
			onlyB, b = append(onlyB, b[0]), b[1:]
		default:
			a, b = a[1:], b[1:]
		}
	}
	return onlyA, onlyB
}

// some are the first names of a list, and how many there are.
func some(names []string) string {
	const most = 3
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
}
