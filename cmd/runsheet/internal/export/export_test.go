package export

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"filippo.io/age"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/fhirmap/session/columnmap"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

const data = "../../../../testdata"

var tool = fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "test"}}

// everyLog is a reader for each log folder, workbook and mapped sheet of the
// repository's test data.
func everyLog(t *testing.T) map[string]func() (*session.Log, []issue.Finding, error) {
	t.Helper()
	logs := map[string]func() (*session.Log, []issue.Finding, error){}
	err := filepath.WalkDir("../../../..", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".git"):
			return fs.SkipDir
		case d.Name() == "log.toml":
			dir := filepath.Dir(path)
			if _, err := os.Stat(filepath.Join(dir, "map.toml")); err == nil {
				return mapped(dir, logs)
			}
			logs[dir] = func() (*session.Log, []issue.Finding, error) {
				return session.ReadFolder(dir, session.Options{})
			}
		case filepath.Ext(path) == ".xlsx":
			logs[path] = func() (*session.Log, []issue.Finding, error) {
				return workbook.ReadFile(path, session.Options{})
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return logs
}

// mapped adds the sheet of a folder that has a column map beside its log.toml.
func mapped(dir string, logs map[string]func() (*session.Log, []issue.Finding, error)) error {
	m, err := columnmap.Load(filepath.Join(dir, "map.toml"))
	if err != nil {
		return err
	}
	about, err := os.ReadFile(filepath.Join(dir, "log.toml"))
	if err != nil {
		return err
	}
	sheets, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	for _, sheet := range sheets {
		logs[sheet] = func() (*session.Log, []issue.Finding, error) {
			return columnmap.Read(sheet, m, &columnmap.About{Name: "log.toml", Text: about}, session.Options{})
		}
	}
	return err
}

// ids lists the sessions that are not held back.
func ids(log *session.Log) []string {
	var out []string
	for _, s := range log.Sessions {
		if !s.Broken {
			out = append(out, s.ID)
		}
	}
	return out
}

// readAndChecked reads a log as the commands do, up to the gate.
func readAndChecked(t *testing.T, read func() (*session.Log, []issue.Finding, error)) (*session.Log, []issue.Finding) {
	t.Helper()
	log, findings, err := read()
	if err != nil {
		return nil, nil // no log: a workbook of another kind
	}
	return log, append(findings, check.Check(log, nil)...)
}

// The sessions that the gate calls ready are the sessions that an export
// writes, in every log there is, and what is told stands at a cell of the log.
func TestReadyIsWhatIsWritten(t *testing.T) {
	logs := everyLog(t)
	sessions := 0
	for name, read := range logs {
		log, findings := readAndChecked(t, read)
		if log == nil {
			continue
		}
		found, err := Check(context.Background(), log, findings, tool)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		atCells(t, name, slices.DeleteFunc(found, func(f issue.Finding) bool { return f.Rule != "log-record" }))
		again, findings := readAndChecked(t, read)
		out := filepath.Join(t.TempDir(), "out")
		result, _, err := Write(context.Background(), again, findings, Options{Mapping: tool, Form: Sessions, Out: out})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		want := ids(log)
		if !slices.Equal(want, ids(again)) || result.Sessions != len(want) {
			t.Errorf("%s: ready %v, written %d of %v", name, want, result.Sessions, ids(again))
		}
		sessions += len(want)
		if files, _ := filepath.Glob(filepath.Join(out, "session-*.json")); len(files) != len(want) {
			t.Errorf("%s: %d files for %d sessions", name, len(files), len(want))
		}
	}
	if len(logs) < 8 || sessions < 40 {
		t.Errorf("only %d logs with %d sessions", len(logs), sessions)
	}
}

// atCells holds that findings of the gate are about the log, not about a Bundle.
func atCells(t *testing.T, name string, found []issue.Finding) {
	t.Helper()
	for _, f := range found {
		if f.Rule != "log-record" || len(f.Cells) == 0 || f.Cells[0].IsZero() || f.Expression != "" || f.Line != 0 || f.Session == "" {
			t.Errorf("%s: told of the record, not of the log: %+v", name, f)
		}
		if issue.German.Text(f.Details) == f.Details.String() {
			t.Errorf("%s: not in German: %s", name, f.Details)
		}
		t.Logf("%s: %s %v", name, f.Details, f.Cells[0])
	}
}

// spoiltLog is the demo month with a session that the checks of the log let
// pass and the validator does not.
func spoiltLog(t *testing.T) (*session.Log, []issue.Finding, *session.Session) {
	t.Helper()
	log, findings, err := session.ReadFolder(data+"/month", session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	findings = append(findings, check.Check(log, nil)...)
	s := log.Sessions[4]
	m := s.Medicines[0]
	m.Until = m.At
	m.Until.Time = m.At.Time.Add(-time.Hour) // an end before its beginning: inv-per-1
	return log, findings, s
}

// A session whose record does not pass is held back and told at its cell, and
// the sessions after it are computed and validated again without it: what is
// written passes as if the session had never been ready.
func TestHeldBackSession(t *testing.T) {
	log, findings, spoilt := spoiltLog(t)
	out := filepath.Join(t.TempDir(), "out")
	result, findings, err := Write(context.Background(), log, findings, Options{Mapping: tool, Form: Sessions, Out: out})
	if err != nil {
		t.Fatal(err)
	}
	var told []issue.Finding
	for _, f := range findings {
		if f.Rule == "log-record" {
			told = append(told, f)
		}
	}
	if len(told) == 0 || told[0].Session != spoilt.ID || told[0].Cells[0] != spoilt.Medicines[0].Name.Cell || !strings.Contains(told[0].Details.String(), "inv-per-1") {
		t.Errorf("told %+v", told)
	}
	atCells(t, "spoilt", told)
	if result.LeftOut != 1 || result.Sessions != len(log.Sessions)-1 {
		t.Errorf("%+v", result)
	}
	manifest, err := os.ReadFile(filepath.Join(out, manifest.Name))
	if err != nil || !strings.Contains(string(manifest), `"log-record"`) {
		t.Errorf("the manifest does not name the rule (%v)", err)
	}

	before, findings2, other := spoiltLog(t)
	other.Broken = true
	elsewhere := filepath.Join(t.TempDir(), "out")
	if _, _, err := Write(context.Background(), before, findings2, Options{Mapping: tool, Form: Sessions, Out: elsewhere}); err != nil {
		t.Fatal(err)
	}
	sameFiles(t, out, elsewhere)
}

// sameFiles holds that two exports hold the same Bundles.
func sameFiles(t *testing.T, a, b string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(a, "session-*.json"))
	others, _ := filepath.Glob(filepath.Join(b, "session-*.json"))
	if err != nil || len(files) == 0 || len(files) != len(others) {
		t.Fatalf("%d files and %d (%v)", len(files), len(others), err)
	}
	for _, name := range files {
		one, _ := os.ReadFile(name)
		other, err := os.ReadFile(filepath.Join(b, filepath.Base(name)))
		if err != nil || !bytes.Equal(one, other) {
			t.Errorf("%s differs (%v)", filepath.Base(name), err)
		}
	}
}

// Days asked for are written with the same bytes as in the whole export: the
// other sessions still count for what is computed.
func TestDaysAskedFor(t *testing.T) {
	read := func() (*session.Log, []issue.Finding) {
		return readAndChecked(t, func() (*session.Log, []issue.Finding, error) {
			return session.ReadFolder(data+"/month", session.Options{})
		})
	}
	dir := t.TempDir()
	log, findings := read()
	whole, part := filepath.Join(dir, "whole"), filepath.Join(dir, "part")
	if _, _, err := Write(context.Background(), log, findings, Options{Mapping: tool, Form: Sessions, Out: whole}); err != nil {
		t.Fatal(err)
	}
	log, findings = read()
	from, to := log.Sessions[3].Date.Time, log.Sessions[9].Date.Time
	result, _, err := Write(context.Background(), log, findings, Options{Mapping: tool, Form: Sessions, Out: part, From: from, To: to})
	if err != nil || result.Sessions != 7 || result.LeftOut != 0 {
		t.Fatalf("%+v, %v", result, err)
	}
	files, _ := filepath.Glob(filepath.Join(part, "session-*.json"))
	for _, name := range files {
		one, _ := os.ReadFile(name)
		if other, err := os.ReadFile(filepath.Join(whole, filepath.Base(name))); err != nil || !bytes.Equal(one, other) {
			t.Errorf("%s differs (%v)", filepath.Base(name), err)
		}
	}
	manifest, err := os.ReadFile(filepath.Join(part, manifest.Name))
	want := fmt.Sprintf("\"period\": {\n  \"from\": %q,\n  \"to\": %q\n }", dayOf(from), dayOf(to))
	if err != nil || !strings.Contains(string(manifest), want) {
		t.Errorf("the manifest does not say %s (%v)", want, err)
	}
}

// An older export is recognised in every form, and nothing else is.
func TestOlderExportsAreRecognised(t *testing.T) {
	key, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	for name, opts := range map[string]Options{
		"collection": {Form: Collection}, "document": {Form: Document, Pretty: true}, "created patient": {Form: Collection, Mapping: fhirmap.Options{Options: manifest.Options{CreatePatient: true}}},
		"sealed": {Form: Sessions, Recipients: []age.Recipient{key.Recipient()}},
	} {
		opts.Mapping.Tool, opts.Force = tool.Tool, true
		opts.Out = filepath.Join(t.TempDir(), "out")
		write := func() error {
			log, findings := readAndChecked(t, func() (*session.Log, []issue.Finding, error) {
				return session.ReadFolder("../../../../fhirmap/testdata/small", session.Options{})
			})
			_, _, err := Write(context.Background(), log, findings, opts)
			return err
		}
		if err := write(); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		opts.Mapping.NoComputed = true
		if err := write(); err != nil {
			t.Errorf("%s is not recognised: %v", name, err)
		}
		for _, foreign := range []string{"a thesis", `{"resourceType":"Bundle","type":"collection"}`, "age-encryption.org/v1\n-> X25519 abc\nxyz\n--- mac\n"} {
			if err := os.WriteFile(opts.Out, []byte(foreign), 0o600); err != nil {
				t.Fatal(err)
			}
			if err := write(); !errors.Is(err, output.ErrExists) {
				t.Errorf("%s: %q would be replaced: %v", name, foreign, err)
			}
		}
	}
}

// A record that fails for a number that the checks of the log warn of makes an
// error of that warning, and adds no second one.
func TestARecordFailsForAWarning(t *testing.T) {
	for _, tt := range []struct{ name, file, from, to, heading string }{
		{"hours for minutes", "sessions.csv", ",56.8,167,", ",56.8,2.8,", "treated_min"},
		{"residual clearance without its point", "log.toml", "residual_urea_clearance_ml_min = 1.1", "residual_urea_clearance_ml_min = 58", "prescription.residual_urea_clearance_ml_min"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := changed(t, tt.file, tt.from, tt.to)
			log, findings := readAndChecked(t, func() (*session.Log, []issue.Finding, error) { return session.ReadFolder(dir, session.Options{}) })
			ready := len(ids(log))
			found, err := Check(context.Background(), log, findings, tool)
			var errs []issue.Finding
			for _, f := range found {
				if f.Severity == issue.Error {
					errs = append(errs, f)
				}
			}
			if err != nil || len(errs) != 1 || errs[0].Cells[0].Heading != tt.heading || len(found) != len(findings) {
				t.Errorf("errors %+v of %+v (%v)", errs, found, err)
			}
			if now := len(ids(log)); tt.file == "log.toml" && now != 0 || tt.file != "log.toml" && now != ready-1 {
				t.Errorf("%d of %d sessions are ready", now, ready)
			}
		})
	}
}

// Of two warnings that name a cell, the one about that cell with a proposal is
// the cause; one of another session, or a note, is none.
func TestTheCauseOfAFailedRecord(t *testing.T) {
	a, b := issue.Cell{File: "sessions.csv", Row: 2, Column: 3}, issue.Cell{File: "sessions.csv", Row: 2, Column: 4}
	warning := func(rule, expected string, cells ...issue.Cell) issue.Finding {
		return issue.Finding{Rule: rule, Severity: issue.Warning, Cells: cells, Expected: issue.T(expected)}
	}
	plan := warning("clin-unusual", "", issue.Cell{File: "log.toml", Row: 9, Heading: "prescription.blood_flow_ml_min"})
	note := warning("clin-unusual", "", a)
	note.Severity = issue.Information
	for _, tt := range []struct {
		name  string
		known []issue.Finding
		want  int
	}{
		{"none", []issue.Finding{note, warning("month-copied", "", a), warning("clin-unusual", "", b)}, -1},
		{"with a proposal", []issue.Finding{warning("clin-uf-rate", "about 2", a), warning("clin-unit", "perhaps 3", a)}, 1},
		{"second of two exchanged cells", []issue.Finding{plan, warning("clin-exchanged", "perhaps 3 and 1.25", b, a)}, 1},
		{"a number of log.toml", []issue.Finding{note, plan}, 1},
	} {
		g := gate{log: &session.Log{}, findings: slices.Clone(tt.known)}
		blamed := g.blame(issue.Finding{Rule: "log-record", Severity: issue.Error, Cells: []issue.Cell{a}})
		at := slices.IndexFunc(g.findings, func(f issue.Finding) bool { return f.Severity == issue.Error })
		if at != tt.want || blamed != (at >= 0) {
			t.Errorf("%s: blamed %v, at %d, want %d", tt.name, blamed, at, tt.want)
		}
	}
}

// changed is the demo month with one change of a file.
func changed(t *testing.T, file, from, to string) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Join(data, "month"))); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, file)
	text, err := os.ReadFile(path)
	if err != nil || !bytes.Contains(text, []byte(from)) {
		t.Fatalf("no %q in %s (%v)", from, file, err)
	}
	if err := os.WriteFile(path, bytes.Replace(text, []byte(from), []byte(to), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	return dir
}

// What is impossible of a week is told at cells, and keeps back the weeks alone.
func TestImpossibleWeekIsTold(t *testing.T) {
	dir := changed(t, "log.toml", "residual_urea_clearance_ml_min = 1.1", "residual_urea_clearance_ml_min = 58")
	read := func() (*session.Log, []issue.Finding, error) { return session.ReadFolder(dir, session.Options{}) }
	log, _ := readAndChecked(t, read)
	out := filepath.Join(t.TempDir(), "out")
	result, found, err := Write(context.Background(), log, nil, Options{Mapping: tool, Form: Sessions, Out: out})
	if err != nil || result.Sessions < 10 {
		t.Fatalf("%+v, %v", result, err)
	}
	at := slices.IndexFunc(found, func(f issue.Finding) bool { return f.Rule == "log-record" })
	if at < 0 || len(found[at].Cells) == 0 || found[at].Session != "" {
		t.Fatalf("the weeks are not told of: %+v", found)
	}
	for _, text := range []issue.Text{found[at].Details, found[at].Mend} {
		if issue.German.Text(text) == text.String() {
			t.Errorf("not in German: %s", text)
		}
	}
	if weeks, _ := filepath.Glob(filepath.Join(out, "weeks-*.json")); len(weeks) != 0 {
		t.Errorf("written all the same: %v", weeks)
	}
}
