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
	listed  bool     // it has a manifest
	files   []string // names of all files but the manifest
	records []string // those that may be FHIR JSON
	patient string   // identifier or reference of the first session
	logID   string
}

// find lists the exports below some folders, in lexical order of each.
func (a *audit) find(dirs []string) (out []*export, err error) {
	seen := map[string]*export{}
	for _, dir := range dirs {
		var folders []*export
		// The separator at the end follows a link to the folder itself.
		err := filepath.WalkDir(dir+string(filepath.Separator), func(path string, entry fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			path = filepath.Clean(path)
			if entry.IsDir() {
				if seen[path] == nil {
					seen[path] = &export{dir: path}
					folders = append(folders, seen[path])
				}
				return nil
			}
			return a.entry(seen[filepath.Dir(path)], path, entry)
		})
		if err != nil {
			return nil, err
		}
		found, err := a.onlyExports(folders, seen)
		if err != nil {
			return nil, err
		}
		if out = append(out, found...); len(found) == 0 {
			return nil, fmt.Errorf("%s: no export is in it: neither a %s nor FHIR JSON", dir, manifest.Name)
		}
	}
	return out, nil
}

// entry adds what is in a folder.
func (a *audit) entry(e *export, path string, entry fs.DirEntry) error {
	switch name := entry.Name(); {
	case e == nil || slices.Contains(e.files, name): // the folder was given twice
	case !entry.Type().IsRegular():
		a.add(place("audit-link", path, issue.T("a link, or what is no file, was not read"), entry.Type().String()))
	case name == manifest.Name:
		e.listed = true
	default:
		e.files = append(e.files, name)
		switch strings.ToLower(filepath.Ext(name)) {
		case ".json", ".ndjson", ".jsonl":
			e.records = append(e.records, name)
		}
	}
	return nil
}

// onlyExports drops the folders that are no exports. A folder without records of
// its own that lies in an export has no business there.
func (a *audit) onlyExports(folders []*export, seen map[string]*export) (out []*export, err error) {
	for _, e := range folders {
		if !e.listed {
			if e.records, err = fhirFiles(e); err != nil {
				return nil, err
			}
			switch {
			case len(e.records) > 0:
				a.add(place("audit-manifest-absent", e.dir, issue.T("there are records and no manifest"), ""))
			case len(e.files) > 0 && within(e.dir, seen):
				a.add(place("audit-file-extra", filepath.Join(e.dir, e.files[0]), issue.T("a folder in the folder of an export has files"), ""))
				continue
			default:
				continue
			}
		}
		if e.patient, err = firstPatient(e); err != nil {
			return nil, err
		}
		if identifier, ok := a.known[e.patient]; ok {
			e.patient = identifier
		}
		out = append(out, e)
	}
	return out, nil
}

func within(dir string, seen map[string]*export) bool {
	for up := filepath.Dir(dir); seen[up] != nil; up = filepath.Dir(up) {
		if seen[up].listed {
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
