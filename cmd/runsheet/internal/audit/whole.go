package audit

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/month"
	"runsheet.example/validate/resources"
)

// reading reads the exports of one patient; files are their files by path.
type reading struct {
	*audit
	files map[string]*file
}

// file is what stands in one file of records.
type file struct {
	of *export
	// resources are "Type/name" of each, where the name is that of the manifest.
	resources []string
	records   int  // Bundles and single resources
	mixed     bool // a session is of another patient than the export
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
			r.session(path, f.of, rec, i)
		}
	}
}

func (r *reading) session(path string, of *export, rec *resources.Index, i int) {
	d, res := rec.Doc, &rec.Resources[i]
	text := d.Str(res.Effective)
	if d.Kind(res.Effective) == doc.Object {
		text = d.Str(d.Get(res.Effective, "start"))
	}
	at, err := time.Parse(time.DateOnly, string(text[:min(len(text), len(time.DateOnly))]))
	if err != nil {
		return // the validator says so
	}
	s := session{id: string(res.Identity), from: of, day: dayOf(at), start: res.Span.Start, end: res.Span.End, kind: done}
	switch string(d.Str(res.Status)) {
	case "stopped":
		s.kind = cutShort
	case "not-done":
		if s.kind = notDone; d.Get(res.Node, "statusReason") == doc.None {
			s.kind = unexplained
		}
	}
	key := patientOf(rec, i)
	p := r.patient(key)
	r.files[path].mixed = r.files[path].mixed || p.key != of.patient
	p.sessions = append(p.sessions, s)
	if r.draw.most > 0 && (r.opts.From == "" || s.day.String() >= r.opts.From) && (r.opts.To == "" || s.day.String() <= r.opts.To) {
		r.draw.add(Drawn{Session: s.id, Day: s.day.String(), Patient: p.number(), File: path})
	}
}

func (e *export) manifest() string { return filepath.Join(e.dir, manifest.Name) }

// compare compares an export with its manifest, beyond the digests that the
// validator compares, and takes from the manifest what it says of the whole.
func (r *reading) compare(e *export) error {
	r.report.Files += len(e.files)
	for _, name := range e.records {
		if path := filepath.Join(e.dir, name); r.files[path].mixed {
			r.add(place("audit-patients-mixed", path, issue.T("the session is of another patient than the others of the export"), ""))
		}
	}
	if !e.listed {
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
	l := listing{reading: r, of: e, patient: r.patient(e.patient), named: map[string]bool{}}
	if err := manifest.Scan(f, l.part); err != nil || l.fhir || !l.lists {
		e.listed = false
		r.add(place("audit-manifest-absent", e.manifest(), issue.T("the manifest cannot be read"), ""))
		return nil
	}
	r.report.Manifests++
	for i, version := range []string{l.tool.Name + " " + l.tool.Version, l.rules} {
		if r.versions[i][version] == nil {
			r.versions[i][version] = &made{first: e.manifest()}
		}
		r.versions[i][version].count++
	}
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
	patient     *patient
	tool        manifest.Tool
	rules       string
	named       map[string]bool
	fhir, lists bool
}

// part takes one part. The validator reports parts of another form.
func (l *listing) part(p manifest.Part) error {
	switch p.Member {
	case "tool":
		_ = json.Unmarshal(p.Value, &l.tool)
	case "rules":
		_ = json.Unmarshal(p.Value, &l.rules)
	case "log":
		var log manifest.Log
		_ = json.Unmarshal(p.Value, &log)
		l.of.logID = log.ID
	case "resourceType":
		l.fhir = true
	case "bundles":
		l.lists = true
		var f manifest.File
		if p.Element && json.Unmarshal(p.Value, &f) == nil {
			l.named[f.File] = true
			if len(f.Resources) > 0 {
				l.sameResources(l.of, f)
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
			l.patient.held = append(l.patient.held, left)
		}
	case "expected":
		var plan manifest.Expected
		if p.Element && json.Unmarshal(p.Value, &plan) == nil {
			l.patient.plan = append(l.patient.plan, plan)
		}
	}
	return nil
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
	r.report.Listed += len(want)
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
		r.report.Listed += o.Count
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
