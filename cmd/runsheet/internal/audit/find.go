package audit

import (
	"bytes"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/resources"
)

// export is one folder with a manifest or with FHIR JSON.
type export struct {
	dir     string
	listed  bool          // it has a manifest
	files   []string      // names of all files but the manifest
	records []string      // those that may be FHIR JSON
	others  []fs.DirEntry // links, and what else is no file
	patient string        // identifier or reference of the first session
}

// finder finds exports; the tally is what is found beside them.
type finder struct {
	tally
	known map[string]string
	seen  map[string]*export
}

// find lists the exports below some folders by patient, those of each by their
// folders, and what is wrong beside them. known are the identifiers of patients
// by the reference at the server.
func find(dirs []string, known map[string]string) (unit *Unit, of map[string][]*export, err error) {
	f := finder{tally: newTally(), known: known, seen: map[string]*export{}}
	unit, of = &Unit{Patients: map[string]int{}}, map[string][]*export{}
	for _, dir := range dirs {
		var folders []*export
		// The separator at the end follows a link to the folder itself.
		err := filepath.WalkDir(dir+string(filepath.Separator), func(path string, entry fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			path = filepath.Clean(path)
			if entry.IsDir() {
				if f.seen[path] == nil {
					f.seen[path] = &export{dir: path}
					folders = append(folders, f.seen[path])
				}
				return nil
			}
			f.seen[filepath.Dir(path)].entry(entry)
			return nil
		})
		if err != nil {
			return nil, nil, err
		}
		found, err := f.onlyExports(folders)
		if err != nil {
			return nil, nil, err
		}
		if len(found) == 0 {
			return nil, nil, fmt.Errorf("%s: no export is in it: neither a %s nor FHIR JSON", dir, manifest.Name)
		}
		for _, e := range found {
			of[e.patient] = append(of[e.patient], e)
			unit.Patients[e.patient] += e.lines()
		}
	}
	for _, exports := range of {
		sortByFolder(exports)
	}
	unit.Rules, unit.Findings, unit.Dropped = f.counts(), f.findings, f.dropped
	return unit, of, nil
}

func sortByFolder(exports []*export) {
	slices.SortFunc(exports, func(a, b *export) int { return strings.Compare(a.dir, b.dir) })
}

// entry adds what is in a folder. A folder may be given twice.
func (e *export) entry(entry fs.DirEntry) {
	switch name := entry.Name(); {
	case slices.Contains(e.files, name) || slices.ContainsFunc(e.others, func(o fs.DirEntry) bool { return o.Name() == name }):
	case !entry.Type().IsRegular():
		e.others = append(e.others, entry)
	case name == manifest.Name:
		e.listed = true
	default:
		e.files = append(e.files, name)
		switch strings.ToLower(filepath.Ext(name)) {
		case ".json", ".ndjson", ".jsonl":
			e.records = append(e.records, name)
		}
	}
}

// lines is the number of [Line]s.
func (e *export) lines() int {
	n := len(e.files) + len(e.others)
	if e.listed {
		n++
	}
	return n
}

// links reports what is no file.
func (t *tally) links(e *export) {
	for _, o := range e.others {
		t.add(place("audit-link", filepath.Join(e.dir, o.Name()), issue.T("a link, or what is no file, was not read"), o.Type().String()))
	}
}

// onlyExports drops the folders that are no exports. A folder without records of
// its own that lies in an export has no business there.
func (f *finder) onlyExports(folders []*export) (out []*export, err error) {
	for _, e := range folders {
		if !e.listed {
			if e.records, err = fhirFiles(e); err != nil {
				return nil, err
			}
			if len(e.records) == 0 {
				if f.links(e); len(e.files) > 0 && f.within(e.dir) {
					f.add(place("audit-file-extra", filepath.Join(e.dir, e.files[0]), issue.T("a folder in the folder of an export has files"), ""))
				}
				continue
			}
		}
		if e.patient, err = firstPatient(e); err != nil {
			return nil, err
		}
		if identifier, ok := f.known[e.patient]; ok {
			e.patient = identifier
		}
		out = append(out, e)
	}
	return out, nil
}

func (f *finder) within(dir string) bool {
	for up := filepath.Dir(dir); f.seen[up] != nil; up = filepath.Dir(up) {
		if f.seen[up].listed {
			return true
		}
	}
	return false
}

// fhirFiles are the files of a folder without a manifest that are FHIR, by their
// beginning: other files of the program are JSON too.
func fhirFiles(e *export) (out []string, err error) {
	const most = 64 << 10
	for _, name := range e.records {
		text, err := head(filepath.Join(e.dir, name), most)
		if err != nil {
			return nil, err
		}
		if bytes.Contains(text, []byte(`"resourceType"`)) {
			out = append(out, name)
		}
	}
	return out, nil
}

// firstPatient is the patient of the first record that names one.
func firstPatient(e *export) (string, error) {
	const most = 16 << 20
	for _, name := range e.records {
		text, err := head(filepath.Join(e.dir, name), most)
		if err != nil {
			return "", err
		}
		if !strings.EqualFold(filepath.Ext(name), ".json") {
			text, _, _ = bytes.Cut(text, []byte("\n"))
		}
		var d doc.Doc
		var rec resources.Index
		d.Parse(text, name)
		if rec.Read(&d); d.Broken() {
			continue
		}
		for i := range rec.Resources {
			if patient := patientOf(&rec, i); patient != "" {
				return patient, nil
			}
		}
	}
	return "", nil
}

// patientOf is the identifier of the subject of a resource, as system|value, or
// else the reference to it.
func patientOf(rec *resources.Index, i int) string {
	d, res := rec.Doc, &rec.Resources[i]
	identifier := d.Get(res.Subject, "identifier")
	if target, outcome := rec.Resolve(res.Subject, i); identifier == doc.None && outcome == resources.Found {
		identifier = d.FirstChild(rec.Resources[target].Identifier)
		if d.Is(d.Get(identifier, "system"), profiles.RecordIdentifier) {
			identifier = d.Next(identifier)
		}
	}
	if value := d.Str(d.Get(identifier, "value")); len(value) > 0 {
		return string(d.Str(d.Get(identifier, "system"))) + "|" + string(value)
	}
	return string(d.Str(d.Get(res.Subject, "reference")))
}
