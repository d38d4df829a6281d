package deliver

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/manifest"
)

// exported writes the small log as an export without notes.
func exported(t *testing.T) string {
	t.Helper()
	return exportedFrom(t, smallLog, fhirmap.Options{Options: manifest.Options{NoNotes: true}})
}

// exportedFrom writes a log as an export.
func exportedFrom(t *testing.T, path string, opts fhirmap.Options) string {
	t.Helper()
	log, _, err := session.ReadFolder(path, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	opts.Tool = fhirmap.Tool{Name: "runsheet", Version: "test"}
	month, err := fhirmap.Map(log, opts)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	var files []manifest.File
	write := func(name string, data []byte, err error) {
		if err == nil {
			err = os.WriteFile(filepath.Join(folder, name), data, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, s := range month.Records() {
		text, err := s.Transaction()
		name := "session-" + s.ID + ".json"
		write(name, text, err)
		sum := sha256.Sum256(text)
		files = append(files, s.ManifestFile(name, hex.EncodeToString(sum[:])))
	}
	whole, err := json.MarshalIndent(fhirmap.NewManifest(log, opts, files, nil, nil), "", " ")
	write(manifest.Name, whole, err)
	return folder
}

// An export is read as what was mapped: the sessions, their roles, and the
// options; a file changed since is refused.
func TestFolder(t *testing.T) {
	path := exported(t)
	want := mappedAll(t, smallLog, fhirmap.Options{Options: manifest.Options{NoNotes: true}})
	folder, err := OpenFolder(path)
	if err != nil || len(folder.Files) != len(want) {
		t.Fatalf("%v, %+v", err, folder)
	}
	if o, err := fhirmap.ParseManifestOptions(folder.Options); err != nil || !o.NoNotes {
		t.Errorf("options %s, %v", folder.Options, err)
	}
	for i, w := range want {
		got, err := folder.Session(i)
		if err != nil {
			t.Fatal(err)
		}
		for i := range w.Resources {
			w.Resources[i].Cells, w.Resources[i].Reading = nil, 0 // delivery does not need them
		}
		if diff := cmp.Diff(w, got); diff != "" {
			t.Errorf("- mapped, + read:\n%s", diff)
		}
	}
	change := func(name string) {
		file := filepath.Join(path, name)
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, append([]byte(" "), text...), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	change(folder.Files[0].File)
	if _, err := folder.Session(0); err == nil || !strings.Contains(err.Error(), "changed since it was exported") {
		t.Errorf("a file changed: %v", err)
	}
}

// Whatever stands in a manifest, it is refused or names files in its folder.
func FuzzManifest(f *testing.F) {
	f.Add([]byte(`{"format":1,"log":{"id":"l"},"options":{"format":1},"bundles":[{"file":"a.json","sha256":"0","session":"a","resources":[{"id":"x","role":"r"}]} , {"file":"b.json","session":"b"}],"leftOut":[{}],"root":"1"}`))
	f.Add([]byte(`{"format":1,"log":{"id":"l"},"bundles":[{"file":"../a.json","session":"a"}]}`))
	f.Add([]byte(`[]`))
	folder := f.TempDir()
	f.Fuzz(func(t *testing.T, text []byte) {
		if err := os.WriteFile(filepath.Join(folder, manifest.Name), text, 0o600); err != nil {
			t.Fatal(err)
		}
		read, err := OpenFolder(folder)
		if err != nil {
			return
		}
		for _, file := range read.Files {
			if strings.ContainsAny(file.File, "/") || file.Session == "" || read.LogID == "" {
				t.Errorf("%+v\n%s", file, text)
			}
		}
	})
}
