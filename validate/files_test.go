package validate_test

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// folder writes files into a new folder.
func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func check(t *testing.T, opts validate.Options, paths ...string) *validate.Report {
	t.Helper()
	report, err := validate.Paths(context.Background(), paths, strings.NewReader(""), opts)
	if err != nil {
		t.Fatal(err)
	}
	return report
}

func rules(findings []issue.Finding) []string {
	var names []string
	for _, f := range findings {
		if f.Rule != "inv-dom-6" {
			names = append(names, f.Rule)
		}
	}
	return names
}

// manifest writes a manifest for files, as an export does.
func manifest(files map[string]string, extra string) string {
	var entries, lines []string
	for name, text := range files {
		sum := sha256.Sum256([]byte(text))
		hash := hex.EncodeToString(sum[:])
		entries = append(entries, fmt.Sprintf(`{"file":%q,"sha256":%q,"session":"S1","status":"done","resources":[
{"type":"Observation","id":"0ebcf501-51c9-5b64-be0b-bb930a24f62d","role":"pulse_before","cells":[{"file":"sessions.csv","row":9,"column":10,"heading":"pulse_before"}]}]}`, name, hash))
		lines = append(lines, name+"\x00"+hash+"  "+name+"\n")
	}
	sort.Strings(entries)
	sort.Strings(lines)
	h := sha256.New()
	for _, line := range lines {
		_, text, _ := strings.Cut(line, "\x00")
		h.Write([]byte(text))
	}
	return fmt.Sprintf(`{"format":1,"bundles":[%s],"leftOut":[%s],"expected":[{"from":"2025-01-01","sessionsPerWeek":5}],"root":%q}`,
		strings.Join(entries, ","), extra, hex.EncodeToString(h.Sum(nil)))
}

func TestManifestGivesCells(t *testing.T) {
	files := map[string]string{"a.json": strings.Replace(session(t), `"value": 71`, `"value": 710`, 1)}
	files["manifest.json"] = manifest(files, "")
	dir := folder(t, files)
	for _, path := range []string{dir, filepath.Join(dir, "a.json")} {
		report := check(t, validate.Options{}, path)
		if len(report.Findings) != 1 {
			t.Fatalf("findings: %+v", report.Findings)
		}
		f := report.Findings[0]
		want := issue.Cell{File: "sessions.csv", Row: 9, Column: 10, Heading: "pulse_before"}
		if f.Rule != "clin-record-impossible" || f.Session != "S1" || len(f.Cells) != 1 || f.Cells[0] != want {
			t.Errorf("finding: %+v", f)
		}
		if report.Files != 1 || report.Resources != 38 {
			t.Errorf("%d files, %d resources, want 1 and 38", report.Files, report.Resources)
		}
	}
}

func TestManifestRules(t *testing.T) {
	sound := session(t)
	cases := []struct {
		name   string
		change func(files map[string]string)
		want   []string
	}{
		{"nothing wrong", func(map[string]string) {}, nil},
		{"file changed", func(f map[string]string) { f["a.json"] += "\n" }, []string{"month-manifest-hash"}},
		{"file gone", func(f map[string]string) { delete(f, "a.json"); f["sub/b.json"] = sound }, []string{"month-manifest-missing"}},
		{"file too many", func(f map[string]string) { f["b.ndjson"] = "" }, []string{"month-manifest-extra"}},
		{"root changed", func(f map[string]string) {
			f["manifest.json"] = strings.Replace(f["manifest.json"], `"root":"`, `"root":"0`, 1)
		}, []string{"month-manifest-root"}},
		{"format unknown", func(f map[string]string) {
			f["manifest.json"] = strings.Replace(f["manifest.json"], `"format":1`, `"format":2`, 1)
		}, []string{"month-manifest-form"}},
		{"name leads out", func(f map[string]string) {
			f["manifest.json"] = strings.Replace(f["manifest.json"], `"a.json"`, `"../a.json"`, 1)
		}, []string{"month-manifest-extra", "month-manifest-form", "month-manifest-root"}},
		{"session left out", func(f map[string]string) {
			f["manifest.json"] = strings.Replace(f["manifest.json"], `"leftOut":[]`, `"leftOut":[{"session":"S2","rules":["log-x"],"cell":{"file":"sessions.csv","row":3}}]`, 1)
		}, []string{"month-manifest-left-out"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			files := map[string]string{"a.json": sound}
			files["manifest.json"] = manifest(files, "")
			c.change(files)
			got := rules(check(t, validate.Options{}, folder(t, files)).Findings)
			slices.Sort(got)
			if !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

func TestWhatCannotBeRead(t *testing.T) {
	dir := folder(t, map[string]string{"notes.txt": "x"})
	for _, path := range []string{dir, filepath.Join(dir, "absent.json")} {
		if _, err := validate.Paths(context.Background(), []string{path}, nil, validate.Options{}); err == nil {
			t.Errorf("%s: no error", path)
		}
	}
	stopped, stop := context.WithCancel(context.Background())
	stop()
	sound := folder(t, map[string]string{"a.json": session(t)})
	if _, err := validate.Paths(stopped, []string{sound}, nil, validate.Options{}); err == nil {
		t.Error("a stopped context gives no error")
	}
}

func TestWhatIsNoFHIR(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "json-empty"},
		{`{"a":1}`, "r4-resource-type"},
		{`[1,2]`, "r4-type"},
		{`{"resourceType":"Obs`, "json-syntax"},
		{`{"resourceType":"Obs`, "fhir-not-checked"},
	} {
		got := rules(validate.New(validate.Options{Schema: true}).Bytes([]byte(c.text), "x.json"))
		if !slices.Contains(got, c.want) || len(got) > 2 {
			t.Errorf("%q: %v, want %s and at most a word on what was not checked", c.text, got, c.want)
		}
	}
}

func TestFindingsAreLimited(t *testing.T) {
	text := `{"resourceType":"Bundle","type":"collection","entry":[` + many(50, `{"resource":{"resourceType":"Nothing"}}`) + `]}`
	report, err := validate.Paths(context.Background(), []string{"-"}, strings.NewReader(text), validate.Options{MaxFindings: 10})
	if err != nil {
		t.Fatal(err)
	}
	if len(report.Findings) != 10 || report.Dropped < 40 || report.DroppedErrors == 0 || !report.HasErrors() {
		t.Errorf("%d findings kept, %d dropped, %d of them errors", len(report.Findings), report.Dropped, report.DroppedErrors)
	}
}

// TestNotChecked holds that what was not checked is said, once.
func TestNotChecked(t *testing.T) {
	const line = `{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/1"},"meta":{"profile":["http://example.org/p"]},"code":{"coding":[{"system":"http://loinc.org","code":"93737-5"}]}}`
	report := fromStdin(t, line+"\n"+line+"\n"+"{\n")
	got := rules(report.Findings)
	slices.Sort(got)
	if want := []string{"fhir-not-checked", "json-syntax", "profile-unknown", "term-not-checked"}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if len(report.NotChecked) != 3 {
		t.Errorf("not checked: %q", report.NotChecked)
	}
}

// TestNotesAreLimited holds that an input that names another profile on each of its
// lines does not fill the list of what was not checked.
func TestNotesAreLimited(t *testing.T) {
	var lines strings.Builder
	for i := range 3000 {
		fmt.Fprintf(&lines, `{"resourceType":"Patient","active":true,"meta":{"profile":["http://example.org/p%d"]}}`+"\n", i)
	}
	report := fromStdin(t, lines.String())
	if n := len(report.NotChecked); n != 1001 || !slices.Contains(report.NotChecked, "more of this kind, which is not listed") {
		t.Errorf("%d notes", n)
	}
}

// TestWhatIsPassedOver holds that what a folder holds and is not read is said, and
// that the writing of an ending does not matter.
func TestWhatIsPassedOver(t *testing.T) {
	const sound = `{"resourceType":"Patient","active":true}`
	dir := folder(t, map[string]string{
		"A.JSON": sound, "b.NDJSON": sound, "c.json": sound, "notes.txt": "", "d.ndjson.gz": "", "e.json.GZ": "", "f.txt.gz": "",
		".kept/a.json": sound, "below/.git/b.json": sound,
		"received.json": "{}", "status.json": "{}", "people/1/x.receipt.json": "{}",
	})
	report := check(t, validate.Options{}, dir)
	want := []string{
		"compressed files, which are not unpacked: 2, the first " + filepath.Join(dir, "d.ndjson.gz"),
		"hidden folders: 2, the first " + filepath.Join(dir, ".kept"),
		"receipts, and what receive keeps of an inbox: 3, the first " + filepath.Join(dir, "people", "1", "x.receipt.json"),
		"whether anything is missing, in folders without a manifest: 1, the first " + dir,
	}
	if report.Files != 3 || !slices.Equal(report.NotChecked, want) {
		t.Errorf("%d files, not checked %q", report.Files, report.NotChecked)
	}
}

// TestManifestElsewhere holds that a manifest may stand outside the folder it
// describes, and that folders below are not taken for that folder.
func TestManifestElsewhere(t *testing.T) {
	files := map[string]string{"a.json": strings.Replace(session(t), `"value": 71`, `"value": 710`, 1)}
	text := manifest(files, "")
	files["below/manifest.json"] = text // of another export: no FHIR, and not asked for
	files["below/c.ndjson"] = ""
	path := filepath.Join(folder(t, map[string]string{"kept.json": text}), "kept.json")
	report := check(t, validate.Options{Manifest: path}, folder(t, files))
	if got := rules(report.Findings); !slices.Equal(got, []string{"clin-record-impossible"}) || len(report.Findings[0].Cells) != 1 {
		t.Errorf("findings: %+v", report.Findings)
	}
	if _, err := validate.Paths(context.Background(), []string{folder(t, files)}, nil, validate.Options{Manifest: "absent.json"}); err == nil {
		t.Error("an absent manifest gives no error")
	}
}

// TestCellsAreNotOfTheDocumentBefore holds that what is wrong with the bytes or
// the structure of a document gets the cells of its own resource: the
// documents before it are forgotten.
func TestCellsAreNotOfTheDocumentBefore(t *testing.T) {
	sound := session(t)
	files := map[string]string{
		"a.json": sound,
		"b.json": "{" + `"resourceType":"Bundle","resourceType":"Bundle","type":"collection","entry":[{"fullUrl":"urn:uuid:00000000-0000-4000-8000-000000000001"},{}]}`,
		"c.json": strings.Replace(renamed(sound), `"value": 71`, `"value": "71"`, 1),
	}
	files["manifest.json"] = strings.Replace(manifest(files, ""), `"expected":[{"from":"2025-01-01","sessionsPerWeek":5}],`, "", 1)
	for _, f := range check(t, validate.Options{}, folder(t, files)).Findings {
		if len(f.Cells) > 0 {
			t.Errorf("a finding of another document got a cell: %+v", f)
		}
	}
	own := strings.Replace(sound, `"value": 71`, `"value": "71"`, 1)
	files = map[string]string{"a.json": own, "b.json": renamed(strings.ReplaceAll(sound, "2025-10-29", "2025-10-31"))}
	files["manifest.json"] = strings.Replace(manifest(files, ""), `"expected":[{"from":"2025-01-01","sessionsPerWeek":5}],`, "", 1)
	report := check(t, validate.Options{}, folder(t, files))
	if len(report.Findings) == 0 {
		t.Fatal("a number in quotes was not found")
	}
	for _, f := range report.Findings {
		if len(f.Cells) != 1 {
			t.Errorf("no cell at %+v", f)
		}
	}
}

// TestLongDocuments holds that a document beyond the limit is one finding, be
// it a file, a line or standard input.
func TestLongDocuments(t *testing.T) {
	long := `{"resourceType":"Basic","text":"` + strings.Repeat("x", 1<<17) + `"}`
	short := `{"resourceType":"Patient","active":true}`
	for name, text := range map[string]string{"a.json": long, "a.ndjson": short + "\n" + long + "\n" + short, "-": long} {
		path := name
		if name != "-" {
			path = filepath.Join(folder(t, map[string]string{name: text}), name)
		}
		report, err := validate.Paths(context.Background(), []string{path}, strings.NewReader(text), validate.Options{MaxBytes: 1 << 16})
		if err != nil {
			t.Fatal(err)
		}
		got := rules(report.Findings)
		slices.Sort(got)
		if !slices.Equal(got, []string{"fhir-not-checked", "json-size"}) {
			t.Errorf("%s: %v", name, got)
		}
	}
}
