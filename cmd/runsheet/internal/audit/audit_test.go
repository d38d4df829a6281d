package audit_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/crypto/ssh"

	"runsheet.example/cmd/runsheet/internal/audit"
	"runsheet.example/cmd/runsheet/internal/seal"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

func run(t *testing.T, opts audit.Options, dirs ...string) *audit.Report {
	t.Helper()
	r, err := audit.Run(t.Context(), dirs, opts)
	must(t, err)
	return r
}

// answers are the verdicts in a line.
func answers(r *audit.Report) string {
	var out []string
	for _, v := range r.Verdicts {
		out = append(out, fmt.Sprintf("%s: %s", v.Question, v.Answer))
	}
	return strings.Join(out, ", ")
}

// found are the findings that are listed, each with its question and where it
// is, below a folder.
func found(r *audit.Report, dir string) (out []string) {
	for _, f := range r.Findings {
		place := strings.TrimPrefix(f.File, dir+"/")
		if f.Line > 0 && strings.HasSuffix(f.File, ".csv") {
			place = fmt.Sprintf("row %d", f.Line)
		}
		if at := strings.Index(place, "/session-"); at > 0 {
			place = place[:at] + "/session"
		}
		out = append(out, fmt.Sprintf("%s %s %s", issue.QuestionOf(f.Rule), f.Rule, place))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// A unit that is complete has no finding of an audit, and every value is equal,
// also where its inputs are in the export of the month before.
func TestComplete(t *testing.T) {
	u := unit(t)
	r := run(t, audit.Options{From: first, To: last, Roster: rosterOf(t, nil)}, u)
	if got := answers(r); got != "complete: yes, whole: yes, signed: cannot be told, recomputed: yes, valid: yes" {
		t.Error(got)
	}
	if len(r.Findings) > 0 || len(r.NotTold) != 1 || len(r.Patients) != patients {
		t.Errorf("%v %v %d", found(r, u), r.NotTold, len(r.Patients))
	}
	for _, p := range r.Patients {
		if p.Counts != (audit.Counts{Done: 57, CutShort: 3, NotDone: 3}) || p.Planned != "60" || len(p.Weeks) != 12 {
			t.Errorf("%+v", p)
		}
	}
	for _, m := range r.Methods {
		if m.Differ+m.NotAgain > 0 || m.N != m.Equal+m.NoValue {
			t.Errorf("%+v", m)
		}
	}
}

// Each planted fault is found by its verdict, and none by another.
func TestFaults(t *testing.T) {
	u := unit(t)
	at := func(parts ...string) string { return filepath.Join(append([]string{u}, parts...)...) }
	// A missing month and a missing patient.
	must(t, os.RemoveAll(at("N-1", "2025-02")))
	must(t, os.RemoveAll(at("N-2")))
	// Two files in each other's place, and one byte.
	list := sessions(t, at("N-3", "2025-01"))
	must(t, os.Rename(list[2], list[2]+"-"))
	must(t, os.Rename(list[3], list[2]))
	must(t, os.Rename(list[2]+"-", list[3]))
	byteOf(t, sessions(t, at("N-3", "2025-03"))[4])
	// An edited value whose digest is mended, other rules, and a manifest that
	// does not name a file.
	editValue(t, at("N-4", "2025-01"))
	edit(t, at("N-4", "2025-02"), func(m *manifest.Manifest) { m.Rules = sum(nil) })
	edit(t, at("N-4", "2025-03"), func(m *manifest.Manifest) { m.Files = slices.Delete(m.Files, 5, 6) })
	// A week that was taken out, with a reason and without.
	drop(t, at("N-5", "2025-01"), "2025-01-13", "2025-01-19")
	drop(t, at("N-5", "2025-03"), "2025-03-10", "2025-03-16")
	// A second log of one person, and a person who is not on the roster.
	exportLog(t, at("N-6"), "N-6", "another log", "2025-01")
	exportLog(t, at("N-7"), "N-7", "N-7", "2025-01")

	opts := audit.Options{From: first, To: last, Roster: rosterOf(t, map[string]string{"N-5": "2025-01-13/2025-01-19 hospital"})}
	r := run(t, opts, u)
	sameByParts(t, r, []string{u}, opts)
	want := []string{
		"complete audit-log-second row 7",
		"complete audit-month-absent row 2",
		"complete audit-patient-absent row 3",
		"complete audit-patient-unknown N-7/2025-01",
		"complete audit-week-unexplained row 6",
		"complete month-record-session-twice N-6/2025-01/session",
		"complete month-record-session-twice N-6/all/session",
		"recomputed calc-value-differs N-4/2025-01/session",
		"whole audit-file-extra N-4/2025-03/session",
		"whole audit-resource-extra N-3/2025-01/session",
		"whole audit-resource-missing N-3/2025-01/session",
		"whole audit-versions N-4/2025-02/manifest.json",
		"whole month-manifest-hash N-3/2025-01/manifest.json",
		"whole month-manifest-hash N-3/2025-03/manifest.json",
	}
	if diff := cmp.Diff(want, found(r, u)); diff != "" {
		t.Error(diff)
	}
	if got := answers(r); got != "complete: no, whole: no, signed: cannot be told, recomputed: no, valid: yes" {
		t.Error(got)
	}
	counts := map[string]int{}
	for _, c := range r.Rules {
		if c.Severity > issue.Information && !strings.HasPrefix(c.Rule, "clin-record-") { // the month has its own
			counts[c.Rule] = c.N
		}
	}
	wanted := map[string]int{
		"audit-log-second": 1, "audit-month-absent": 1, "audit-patient-absent": 1, "audit-patient-unknown": 1, "audit-week-unexplained": 1,
		"month-record-session-twice": 19, "month-record-value-twice": 1044, "calc-value-differs": 2, "audit-file-extra": 1,
		"audit-resource-extra": 2, "audit-resource-missing": 2, "audit-versions": 1, "month-manifest-hash": 3,
	}
	if diff := cmp.Diff(wanted, counts); diff != "" {
		t.Error(diff)
	}
	for _, p := range r.Patients {
		if p.Number == "N-5" && (p.Planned != "55" || p.Unexplained != 5 || p.Weeks[1].Leave != "hospital" || p.Weeks[1].Unexplained != 0) {
			t.Errorf("%+v", p)
		}
	}
}

// byteOf changes a letter of a text.
func byteOf(t *testing.T, path string) {
	t.Helper()
	text, err := os.ReadFile(path)
	must(t, err)
	replace(t, path, bytes.Replace(text, []byte("Home haemodialysis session"), []byte("Home haemodialysis sessiom"), 1))
}

var weight = regexp.MustCompile(`"value":(7\d\.\d),"unit":"kg"`)

// editValue raises the first weight of a session by some kg, and mends the
// manifest.
func editValue(t *testing.T, dir string) {
	t.Helper()
	path := sessions(t, dir)[6]
	text, err := os.ReadFile(path)
	must(t, err)
	at := weight.FindSubmatchIndex(text)
	if at == nil {
		t.Fatal("the session has no weight")
	}
	text[at[3]-1] = '0' + ('9'-text[at[3]-1])%10
	replace(t, path, text)
	edit(t, dir, func(m *manifest.Manifest) {
		for i := range m.Files {
			if m.Files[i].File == filepath.Base(path) {
				m.Files[i].SHA256 = sum(text)
			}
		}
	})
}

var started = regexp.MustCompile(`"performed(?:Period":\{"start|DateTime)":"(\d{4}-\d\d-\d\d)`)

// drop takes the sessions of some days out of an export, and of its manifest.
func drop(t *testing.T, dir, from, to string) {
	t.Helper()
	edit(t, dir, func(m *manifest.Manifest) {
		m.Files = slices.DeleteFunc(m.Files, func(f manifest.File) bool {
			if f.Status == "" {
				return false // the weeks
			}
			path := filepath.Join(dir, f.File)
			text, err := os.ReadFile(path)
			must(t, err)
			day := string(started.FindSubmatch(text)[1])
			gone := from <= day && day <= to
			if gone {
				must(t, os.Remove(path))
			}
			return gone
		})
	})
}

// A session taken out of an export, with its line in the manifest, is missed by
// the weeks, which cannot be computed again; one that was invented from another
// has no row of the log of its own; and a weight that the next session repeats is
// compared with that of the session itself.
func TestSessionsAndRows(t *testing.T) {
	u := unit(t)
	dir := filepath.Join(u, "N-6", "all")
	drop(t, dir, "2025-01-20", "2025-01-26")
	r := run(t, audit.Options{}, dir)
	contains(t, r.Verdicts[0].Reason, "1 audit-session-absent")
	for _, m := range r.Methods {
		if m.Method == "sessions-done-1" && (m.NotAgain == 0 || m.WhyNot["calc-week-elsewhere"] != m.NotAgain || m.Differ > 0) {
			t.Errorf("a week without its sessions: %+v", m)
		}
	}

	dir = filepath.Join(u, "N-1", "2025-01")
	list := sessions(t, dir)
	text, err := os.ReadFile(list[1])
	must(t, err)
	at := regexp.MustCompile(`"code":"input-previous-weight-after"[^{]*"valueQuantity":\{"value":(\d+\.\d)`).FindSubmatchIndex(text)
	if at == nil {
		t.Fatal("no weight of the session before")
	}
	text[at[3]-1] = '0' + ('9'-text[at[3]-1])%10
	replace(t, list[1], text)
	edit(t, dir, func(m *manifest.Manifest) {
		for i := range m.Files {
			if m.Files[i].File == filepath.Base(list[1]) {
				m.Files[i].SHA256 = sum(text)
			}
		}
		other := m.Files[2]
		other.Resources = m.Files[4].Resources
		m.Files[2] = other
	})
	r = run(t, audit.Options{}, dir)
	contains(t, r.Verdicts[1].Reason, "1 audit-row-twice")
	contains(t, r.Verdicts[3].Reason, "calc-input-differs")
}

func contains(t *testing.T, text, want string) {
	t.Helper()
	if !strings.Contains(text, want) {
		t.Errorf("%q, want %q in it", text, want)
	}
}

// What is wrong with one export is found, and what it is called.
func TestWhole(t *testing.T) {
	u := unit(t)
	export := filepath.Join(u, "N-1", "2025-01")
	file := func(name, text string) func(*testing.T, string) {
		return func(t *testing.T, dir string) {
			must(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o700))
			must(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
		}
	}
	changed := func(change func(m *manifest.Manifest)) func(*testing.T, string) {
		return func(t *testing.T, dir string) { edit(t, dir, change) }
	}
	for name, c := range map[string]struct {
		plant func(t *testing.T, dir string)
		want  string
	}{
		"nothing":        {func(*testing.T, string) {}, ""},
		"an extra file":  {file("note.txt", "x"), "audit-file-extra"},
		"a folder in it": {file("more/note.txt", "x"), "audit-file-extra"},
		"a folder with records and no manifest in it": {func(t *testing.T, dir string) {
			text, err := os.ReadFile(sessions(t, dir)[0])
			must(t, err)
			file("more/x.json", string(text))(t, dir)
		}, "audit-manifest-absent audit-session-twice"},
		"a link": {func(t *testing.T, dir string) {
			path := sessions(t, dir)[0]
			away := filepath.Join(t.TempDir(), "away.json")
			must(t, os.Rename(path, away))
			must(t, os.Symlink(away, path))
		}, "audit-link month-manifest-missing"},
		"a link to a folder": {func(t *testing.T, dir string) { must(t, os.Symlink(t.TempDir(), filepath.Join(dir, "more"))) }, "audit-link"},
		"no manifest":        {func(t *testing.T, dir string) { must(t, os.Remove(filepath.Join(dir, manifest.Name))) }, "audit-manifest-absent"},
		"a broken manifest":  {func(t *testing.T, dir string) { replace(t, filepath.Join(dir, manifest.Name), []byte("{")) }, "audit-manifest-absent"},
		"a manifest of another kind": {func(t *testing.T, dir string) {
			replace(t, filepath.Join(dir, manifest.Name), []byte(`{"resourceType":"Basic"}`))
		}, "audit-manifest-absent"},
		"a missing file": {func(t *testing.T, dir string) { must(t, os.Remove(sessions(t, dir)[3])) }, "month-manifest-missing"},
		"a path out of the folder": {changed(func(m *manifest.Manifest) {
			m.Files = append(m.Files, manifest.File{File: "../x.json", SHA256: sum(nil)})
		}), "month-manifest-form month-manifest-root"},
		"a file named twice":                         {changed(func(m *manifest.Manifest) { m.Files = append(m.Files, m.Files[0]) }), "month-manifest-form"},
		"a resource that the manifest does not have": {changed(func(m *manifest.Manifest) { m.Files[1].Resources = m.Files[1].Resources[1:] }), "audit-resource-extra"},
		"a resource that the file does not have": {changed(func(m *manifest.Manifest) {
			m.Files[1].Resources = append(m.Files[1].Resources, manifest.Resource{Type: "Observation", ID: "x"})
		}), "audit-resource-missing"},
		"another root": {func(t *testing.T, dir string) {
			text, err := os.ReadFile(filepath.Join(dir, manifest.Name))
			must(t, err)
			replace(t, filepath.Join(dir, manifest.Name), regexp.MustCompile(`"root": "[0-9a-f]{8}`).ReplaceAll(text, []byte(`"root": "00000000`)))
		}, "month-manifest-root"},
		"two exports of one session": {func(t *testing.T, dir string) { must(t, os.CopyFS(filepath.Join(dir, "again"), os.DirFS(export))) }, "audit-session-twice"},
		"a session of somebody else": {func(t *testing.T, dir string) {
			path := sessions(t, filepath.Join(u, "N-2", "2025-01"))[0]
			text, err := os.ReadFile(path)
			must(t, err)
			file(filepath.Base(path), string(text))(t, dir)
			edit(t, dir, func(m *manifest.Manifest) {
				m.Files = append(m.Files, manifest.File{File: filepath.Base(path), SHA256: sum(text)})
			})
		}, "audit-patients-mixed"},
		"no record at all": {func(t *testing.T, dir string) {
			for _, path := range glob(t, dir, "session-*") {
				must(t, os.Remove(path))
			}
		}, "audit-unread month-manifest-missing"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "export")
			must(t, os.CopyFS(dir, os.DirFS(export)))
			c.plant(t, dir)
			r := run(t, audit.Options{}, dir)
			sameByParts(t, r, []string{dir}, audit.Options{})
			var got []string
			for _, rule := range r.Rules {
				if rule.Question == issue.Whole && rule.Severity == issue.Error {
					got = append(got, rule.Rule)
				}
			}
			if strings.Join(got, " ") != c.want {
				t.Errorf("found %v, want %s", got, c.want)
			}
			if answer := r.Verdicts[1].Answer; (answer == audit.Yes) != (c.want == "") {
				t.Errorf("whole: %s", answer)
			}
		})
	}
}

func glob(t *testing.T, dir, pattern string) []string {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(dir, pattern))
	must(t, err)
	return paths
}

// A version of a method that is not known is an error, and never equal.
func TestUnknownMethod(t *testing.T) {
	dir := filepath.Join(unit(t), "N-1", "2025-01")
	path := sessions(t, dir)[0]
	text, err := os.ReadFile(path)
	must(t, err)
	text = bytes.ReplaceAll(text, []byte(`"uf-rate-per-kg-1"`), []byte(`"uf-rate-per-kg-7"`))
	replace(t, path, text)
	r := run(t, audit.Options{}, dir)
	if r.Verdicts[3].Answer != audit.No || !strings.Contains(r.Verdicts[3].Reason, "1 audit-method-unknown") {
		t.Errorf("%+v", r.Verdicts[3])
	}
	for _, m := range r.Methods {
		if m.Method == "uf-rate-per-kg-7" && (m.N != 1 || m.Equal != 0 || m.NotAgain != 1 || m.WhyNot["calc-method-unknown"] != 1) {
			t.Errorf("%+v", m)
		}
	}
}

// The report is the same each time, in every form, and the page has no finding of
// axe-core, does not scroll sideways and asks nobody for anything.
func TestForms(t *testing.T) {
	u := unit(t)
	must(t, os.WriteFile(filepath.Join(u, "N-1", "2025-01", "=x<script>.txt"), nil, 0o600))
	opts := audit.Options{From: first, To: last, Roster: rosterOf(t, nil), Sample: 2, Seed: "a seed"}
	dirs := []string{filepath.Join(u, "N-1", "2025-01"), filepath.Join(u, "N-2", "2025-02")}
	r, again := run(t, opts, dirs...), run(t, opts, dirs...)
	for _, format := range audit.Formats {
		var out, twice bytes.Buffer
		must(t, r.Print(&out, format, true))
		must(t, again.Print(&twice, format, true))
		if !bytes.Equal(out.Bytes(), twice.Bytes()) || out.Len() < 1000 {
			t.Errorf("%s differs, or is short: %d", format, out.Len())
		}
		asked := []string{"complete", "whole", "signed", "recomputed", "valid"}
		if format != "fhir" { // which has no sample
			asked = append(asked, "weight_before_kg")
		}
		for _, q := range asked {
			if !strings.Contains(out.String(), q) {
				t.Errorf("%s has no %s", format, q)
			}
		}
		if format == "html" && strings.Contains(out.String(), "<script") {
			t.Error("a name stands in the page as HTML")
		}
	}
	path := filepath.Join(t.TempDir(), "audit.html")
	file, err := os.Create(path)
	must(t, err)
	must(t, r.Print(file, "html", false))
	must(t, file.Close())
	out, err := exec.Command("node", "../../../../testdata/oracle/page.mjs", path, path+".pdf").Output()
	must(t, err)
	var seen struct {
		Violations, Requests, Errors []string
		Sideways                     map[string]int
	}
	must(t, json.Unmarshal(out, &seen))
	if len(seen.Violations)+len(seen.Requests)+len(seen.Errors) > 0 || seen.Sideways["320"] > 0 || len(seen.Sideways) != 3 {
		t.Errorf("%s", out)
	}
}

// A draw depends on the seed and the sessions, not on the order of the folders,
// and names the cell of each value.
func TestSample(t *testing.T) {
	u := unit(t)
	draw := func(seed string, dirs ...string) (out []string) {
		for _, s := range run(t, audit.Options{Sample: 4, Seed: seed}, dirs...).Sample {
			out = append(out, s.Session)
			if len(s.Entries) == 0 || len(s.Entries[0].Cells) == 0 || s.Entries[0].Value == "" {
				t.Errorf("%+v", s)
			}
		}
		return out
	}
	a, b := filepath.Join(u, "N-1", "2025-02"), filepath.Join(u, "N-3", "2025-01")
	one := draw("one", a, b)
	if len(one) != 4 || !slices.Equal(one, draw("one", b, a)) || slices.Equal(one, draw("two", a, b)) {
		t.Errorf("drawn: %v", one)
	}
}

// Who signed is found beside the manifest or in a signed list; without a file of
// signers nobody vouches for a key.
func TestSigned(t *testing.T) {
	u := filepath.Join(unit(t), "N-1")
	secret, public := keyPair(t)
	away := t.TempDir()
	signers := func(line string) string {
		path := filepath.Join(t.TempDir(), "signers")
		must(t, os.WriteFile(path, []byte(line+public), 0o600))
		return path
	}
	sign := func(path string) {
		text, err := os.ReadFile(path)
		must(t, err)
		signature, err := seal.Sign(bytes.NewReader(text), secret)
		must(t, err)
		must(t, os.WriteFile(path+seal.Ending, signature, 0o600))
	}
	verdict := func(opts audit.Options, want audit.Answer, text string) {
		t.Helper()
		opts.Now = day(t, "2026-01-15")
		r := run(t, opts, filepath.Join(u, "2025-01"), filepath.Join(u, "2025-02"))
		if v := r.Verdicts[2]; v.Answer != want || !strings.Contains(v.Reason+v.Counts, text) {
			t.Errorf("%+v, want %s with %q", v, want, text)
		}
		if whole := r.Verdicts[1].Answer; (whole == audit.Yes) != (text != "not there") {
			t.Errorf("whole: %s %v", whole, found(r, u))
		}
	}
	list := filepath.Join(away, "year.json")
	text, err := seal.Make(u)
	must(t, err)
	must(t, os.WriteFile(list, text, 0o600))
	sign(list)
	verdict(audit.Options{}, audit.Unknown, "no signature was found")
	verdict(audit.Options{Signers: signers("unit ")}, audit.No, "2 audit-signature-absent")
	sign(filepath.Join(u, "2025-01", manifest.Name))
	verdict(audit.Options{}, audit.Unknown, "1 manifest has no signature; without a file of signers")
	verdict(audit.Options{Signers: signers("unit ")}, audit.No, "1 audit-signature-absent")
	sign(filepath.Join(u, "2025-02", manifest.Name))
	verdict(audit.Options{Signers: signers("unit ")}, audit.Yes, "2 signed by unit (key SHA256:")
	verdict(audit.Options{Signers: signers(`unit valid-before="20260101Z" `)}, audit.No, "2 audit-signer-unknown")
	edit(t, filepath.Join(u, "2025-02"), func(m *manifest.Manifest) { m.Tool.Version = "x" })
	verdict(audit.Options{Signers: signers("unit ")}, audit.No, "1 audit-signature-wrong")
	must(t, os.Remove(filepath.Join(u, "2025-02", manifest.Name+seal.Ending)))

	// A list covers what has no signature of its own, and names what is gone.
	opts := audit.Options{Signers: signers("unit "), Seals: []string{list}, Now: day(t, "2026-01-15")}
	r := run(t, opts, u)
	sameByParts(t, r, []string{u}, opts)
	if got := found(r, u); len(got) != 3 || r.Verdicts[2].Answer != audit.No {
		t.Errorf("%v %+v", got, r.Verdicts[2])
	}
	must(t, os.RemoveAll(filepath.Join(u, "2025-02")))
	r = run(t, opts, u)
	if got := r.Verdicts[1]; got.Reason != "1 audit-sealed-absent" || r.Verdicts[2].Answer != audit.Yes {
		t.Errorf("%+v %+v", got, r.Verdicts[2])
	}
	replace(t, list, append(text, ' '))
	r = run(t, audit.Options{Seals: []string{list}}, u)
	if got := r.Verdicts[2]; got.Reason != "1 audit-signature-wrong" {
		t.Errorf("%+v", got)
	}
}

// keyPair is a new SSH key.
func keyPair(t *testing.T) (secret []byte, public string) {
	t.Helper()
	_, key, err := ed25519.GenerateKey(rand.Reader)
	must(t, err)
	block, err := ssh.MarshalPrivateKey(key, "")
	must(t, err)
	signer, err := ssh.NewSignerFromKey(key)
	must(t, err)
	return pem.EncodeToMemory(block), string(ssh.MarshalAuthorizedKey(signer.PublicKey()))
}
