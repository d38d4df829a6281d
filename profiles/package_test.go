package profiles_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"flag"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/profiles"
)

var update = flag.Bool("update", false, "rewrite the pages")

var every = []profiles.Profile{
	profiles.ProfileSession, profiles.ProfileWeight, profiles.ProfileBloodPressure, profiles.ProfilePulse,
	profiles.ProfileTemperature, profiles.ProfileMachineReading, profiles.ProfileTotal, profiles.ProfileClinicValue,
	profiles.ProfileRecoveryTime, profiles.ProfileLaboratory, profiles.ProfileEvent, profiles.ProfileCheck, profiles.ProfileComputed,
	profiles.ProfileDosePanel, profiles.ProfileMedicine, profiles.ProfileDevice, profiles.ProfileProvenance,
	profiles.ProfileTransaction, profiles.ProfileWeekValue, profiles.ProfileWeek, profiles.ProfileWeeks,
	profiles.ProfileSummary, profiles.ProfileAttendance, profiles.ProfileReport,
}

func artifacts(t *testing.T) []profiles.Artifact {
	t.Helper()
	all, err := profiles.Artifacts()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// A profile named in Go and not compiled, or the other way round, would be
// claimed and not found.
func TestEveryProfileIsInThePackage(t *testing.T) {
	var compiled []string
	for _, a := range artifacts(t) {
		if a.Type == "StructureDefinition" {
			compiled = append(compiled, a.Name)
			if want := profiles.Profile(a.Name).URL(profiles.DefaultCanonical); a.URL != want {
				t.Errorf("%s has the canonical %s, want %s", a.Name, a.URL, want)
			}
		}
	}
	var named []string
	for _, p := range every {
		named = append(named, string(p))
	}
	slices.Sort(named)
	slices.Sort(compiled)
	if diff := cmp.Diff(named, compiled); diff != "" {
		t.Errorf("profiles in Go and in the package (-Go +package):\n%s", diff)
	}
}

// Validators read the snapshot, so it must be there, whole (R4 sdf-3: every
// element of a snapshot has a definition and a cardinality) and start at the
// resource.
func TestSnapshotsAreComplete(t *testing.T) {
	for _, p := range every {
		_, text, err := profiles.Find(string(p))
		if err != nil {
			t.Fatal(err)
		}
		var sd struct {
			Type, Version, FHIRVersion string
			Snapshot                   struct {
				Element []struct {
					ID, Path, Definition, Max string
					Min                       *int
					Base                      *struct{ Path string }
				}
			}
		}
		if err := json.Unmarshal(text, &sd); err != nil {
			t.Fatal(err)
		}
		if sd.Version == "" || sd.FHIRVersion != "4.0.1" {
			t.Errorf("%s: version %q of FHIR %q", p, sd.Version, sd.FHIRVersion)
		}
		if len(sd.Snapshot.Element) < 10 || sd.Snapshot.Element[0].Path != sd.Type {
			t.Errorf("%s: no snapshot of %s", p, sd.Type)
		}
		for _, e := range sd.Snapshot.Element {
			if e.Definition == "" || e.Min == nil || e.Max == "" || e.Base == nil {
				t.Errorf("%s: %s lacks a definition, a cardinality or a base", p, e.ID)
			}
		}
	}
}

// Every entered measurement fits one profile, and the value set bound to that
// profile's code holds its code.
func TestEveryMeasurementFitsAProfile(t *testing.T) {
	sets := map[profiles.Profile]string{
		profiles.ProfileMachineReading: "runsheet-machine-readings", profiles.ProfileTotal: "runsheet-totals",
		profiles.ProfileClinicValue: "runsheet-clinic-values", profiles.ProfileLaboratory: "runsheet-laboratory-tests",
		profiles.ProfileEvent: "runsheet-events", profiles.ProfileCheck: "runsheet-checks", "": "runsheet-computed-values",
	}
	for _, m := range profiles.Measurements() {
		p := m.Profile
		set, bound := sets[p]
		if !bound {
			if !slices.Contains(every, p) {
				t.Errorf("%s fits %q, which is no profile", m.Field, p)
			}
			continue // its code is fixed in the profile
		}
		_, text, err := profiles.Find(set)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Contains(text, []byte(`"code":"`+m.Principal().Code+`"`)) {
			t.Errorf("%s (%s) fits %s but is not in %s", m.Field, m.Principal().Code, p, set)
		}
	}
}

func pack(t *testing.T, canonical string) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := profiles.Pack(&b, canonical); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func unpack(t *testing.T, archive []byte) (names []string, files map[string][]byte) {
	t.Helper()
	zipped, err := gzip.NewReader(bytes.NewReader(archive))
	if err != nil {
		t.Fatal(err)
	}
	files = map[string][]byte{}
	for r := tar.NewReader(zipped); ; {
		header, err := r.Next()
		if errors.Is(err, io.EOF) {
			return names, files
		}
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if header.ModTime.Year() != 1985 || header.Uid != 0 || header.Uname != "" || header.Mode != 0o644 {
			t.Errorf("%s carries a time, an owner or a mode of this machine: %+v", header.Name, header)
		}
		names = append(names, header.Name)
		files[header.Name] = text
	}
}

func TestPackIsTheSameBytesEveryTime(t *testing.T) {
	first := pack(t, profiles.DefaultCanonical)
	if !bytes.Equal(first, pack(t, profiles.DefaultCanonical)) {
		t.Error("two archives differ")
	}
	names, files := unpack(t, first)
	if !slices.IsSorted(names) {
		t.Error("the files are not sorted")
	}
	for name, text := range files {
		if !json.Valid(text) {
			t.Errorf("%s is not JSON", name)
		}
		inside, below := strings.CutPrefix(name, "package/")
		if !below {
			t.Errorf("%s is not under package/", name)
		}
		if path.Base(name) == ".index.json" {
			continue
		}
		if have, err := fs.ReadFile(profiles.Package(), inside); err != nil || !bytes.Equal(have, text) {
			t.Errorf("%s is not what was compiled: %v", name, err)
		}
	}
}

// A loader finds resources by the index alone, so it must name every resource
// of its folder and nothing else.
func TestPackIndexes(t *testing.T) {
	_, files := unpack(t, pack(t, profiles.DefaultCanonical))
	for _, folder := range []string{"package", "package/views", "package/examples", "package/tests"} {
		var index struct {
			Version int `json:"index-version"`
			Files   []struct{ Filename, ResourceType, ID, URL, Version string }
		}
		if err := json.Unmarshal(files[folder+"/.index.json"], &index); err != nil {
			t.Fatalf("%s: %v", folder, err)
		}
		var listed, there []string
		for _, f := range index.Files {
			listed = append(listed, f.Filename)
			if f.ResourceType == "" || f.ID == "" || (f.URL == "") != (f.Version == "") {
				t.Errorf("%s/%s: incomplete in the index: %+v", folder, f.Filename, f)
			}
		}
		for name, text := range files {
			var r struct{ ResourceType string }
			if path.Dir(name) == folder && json.Unmarshal(text, &r) == nil && r.ResourceType != "" {
				there = append(there, path.Base(name))
			}
		}
		slices.Sort(there)
		if diff := cmp.Diff(there, listed); diff != "" {
			t.Errorf("%s (-files +index):\n%s", folder, diff)
		}
	}
}

// A publisher's own base replaces ours everywhere; the code systems, which
// are in records already sent, keep their names.
func TestPackUnderAnotherCanonical(t *testing.T) {
	const base = "https://fhir.clinic.example/dialysis"
	_, ours := unpack(t, pack(t, profiles.DefaultCanonical))
	_, theirs := unpack(t, pack(t, base))
	if len(ours) != len(theirs) {
		t.Fatalf("%d files, want %d", len(theirs), len(ours))
	}
	replaced := 0
	for name, text := range theirs {
		if bytes.Contains(text, []byte("runsheet.example")) {
			t.Errorf("%s still names our base", name)
		}
		back := bytes.ReplaceAll(text, []byte(base), []byte(profiles.DefaultCanonical))
		if !bytes.Equal(back, ours[name]) {
			t.Errorf("%s differs by more than the base", name)
		}
		replaced += bytes.Count(text, []byte(base))
	}
	if replaced < 100 {
		t.Errorf("only %d canonicals were replaced", replaced)
	}
	if !bytes.Contains(theirs["package/CodeSystem-runsheet-codes.json"], []byte(`"`+profiles.Local+`"`)) {
		t.Error("the local code system lost its name")
	}
}

func TestCheckCanonical(t *testing.T) {
	for base, ok := range map[string]bool{
		"https://runsheet.example/fhir": true, "http://clinic.example": true, "https://clinic.example:8443/a/b": true,
		"": false, "clinic.example/fhir": false, "ftp://clinic.example": false, "https://": false,
		"https://clinic.example/": false, "https://clinic.example/fhir?x=1": false, "https://clinic.example/fhir?": false,
		"https://clinic.example/fhir#x": false, "https://clinic.example/fhir|1": false,
		`https://clinic.example/"`: false, "https://clinic.example/a b": false, "https://klinik.example/ü": false,
		"urn:oid:2.25.1": false,
	} {
		err := profiles.CheckCanonical(base)
		if (err == nil) != ok {
			t.Errorf("CheckCanonical(%q) = %v", base, err)
		}
		if packErr := profiles.Pack(io.Discard, base); (packErr == nil) != ok {
			t.Errorf("Pack under %q: %v", base, packErr)
		}
	}
}

func TestFind(t *testing.T) {
	long, _, err := profiles.Find("runsheet-weight")
	if err != nil {
		t.Fatal(err)
	}
	short, _, err := profiles.Find("weight")
	if err != nil || short != long {
		t.Errorf("weight is %+v, %v; want %+v", short, err, long)
	}
	if _, _, err := profiles.Find("nothing"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("an unknown name gives %v", err)
	}
}

// Each invalid example says which profile must reject it, and why.
func TestInvalidExamplesSayWhy(t *testing.T) {
	expected, err := profiles.Expectations()
	if err != nil {
		t.Fatal(err)
	}
	rejects := map[string]bool{}
	for _, e := range expected {
		rejects[e.Profile] = true
		if e.Why == "" || e.Rule == "" || e.Expression == "" || e.Severity != "error" && e.Severity != "warning" {
			t.Errorf("%s: %+v", e.File, e)
		}
	}
	for _, p := range every {
		if strings.HasPrefix(string(p), "runsheet-week") {
			continue // changed weeks of an export are rejected in the tests of package validate
		}
		if !rejects[p.URL(profiles.DefaultCanonical)] {
			t.Errorf("no example must be rejected by %s", p)
		}
	}
	files := 0
	for _, a := range artifacts(t) {
		if a.Kind != profiles.Invalid {
			continue
		}
		files++
		if a.Title == "" {
			t.Errorf("%s has no expected finding", a.File)
		}
	}
	if files != len(expected) || files < 40 {
		t.Errorf("%d invalid examples, %d expected findings", files, len(expected))
	}
}

// The pages are made from the snapshots and stand in the repository to be
// read; they must be those of this package.
func TestPages(t *testing.T) {
	pages := map[string]string{}
	overview := "# Profiles of the home haemodialysis session record\n\n" +
		"Values were entered by the patient and calculated by software; they are not verified by a clinician and not for changing treatment.\n\n" +
		"| name | resource | what |\n|---|---|---|\n"
	for _, a := range artifacts(t) {
		if a.Kind != profiles.Definition {
			continue
		}
		hasPage := a.Type == "StructureDefinition" || a.Type == "CodeSystem" || a.Type == "ValueSet"
		name := a.Name
		if hasPage {
			name = "[" + a.Name + "](" + a.Name + ".md)"
		}
		overview += "| " + name + " | " + a.Type + " | " + a.Title + " |\n"
		if !hasPage {
			continue
		}
		var page strings.Builder
		if err := profiles.Page(&page, a.Name); err != nil {
			t.Fatalf("%s: %v", a.Name, err)
		}
		pages[a.Name+".md"] = page.String()
	}
	pages["README.md"] = overview
	if *update {
		if err := os.RemoveAll("pages"); err != nil {
			t.Fatal(err)
		}
		if err := os.Mkdir("pages", 0o755); err != nil {
			t.Fatal(err)
		}
		for name, text := range pages {
			if err := os.WriteFile(filepath.Join("pages", name), []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	entries, err := os.ReadDir("pages")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if _, made := pages[e.Name()]; !made {
			t.Errorf("pages/%s is of nothing in the package (-update removes it)", e.Name())
		}
	}
	for name, want := range pages {
		have, err := os.ReadFile(filepath.Join("pages", name))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(have), want); diff != "" {
			t.Errorf("pages/%s (-update rewrites):\n%s", name, diff)
		}
	}
}

// What can be read of anything in the package can be shown.
func TestEveryArtifactCanBeShown(t *testing.T) {
	for _, a := range artifacts(t) {
		var page bytes.Buffer
		if err := profiles.Page(&page, a.Name); err != nil {
			t.Errorf("%s: %v", a.Name, err)
		}
		if !bytes.HasPrefix(page.Bytes(), []byte("# ")) || page.Len() < 40 {
			t.Errorf("%s: page %q", a.Name, page.String())
		}
	}
}

func BenchmarkPack(b *testing.B) {
	for b.Loop() {
		if err := profiles.Pack(io.Discard, profiles.DefaultCanonical); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPackage(b *testing.B) {
	for b.Loop() {
		_ = profiles.Package() // what every start of the program pays: nothing is parsed
	}
}
