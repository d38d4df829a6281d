package audit_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap"
	"runsheet.example/validate/manifest"
)

const (
	month  = "../../../../testdata/month"
	system = "urn:oid:2.25.331383638406541845489215601853980652438"
	// The month is 28 days from a Monday on; three of them, moved, are the weeks
	// from first to last.
	first, last = "2025-01-06", "2025-03-30"
)

var date = regexp.MustCompile(`\b2025-(09|10|11|12)-\d\d`)

// shifted moves the dates of a text.
func shifted(text string, days int) string {
	return date.ReplaceAllStringFunc(text, func(text string) string {
		at, err := time.Parse(time.DateOnly, text)
		if err != nil {
			return text
		}
		return at.AddDate(0, 0, days).Format(time.DateOnly)
	})
}

// writeLog writes the month some times in a row as the log of one patient.
func writeLog(t *testing.T, dir, number, id string, times int) {
	t.Helper()
	const moved = -41 * 7
	names, err := filepath.Glob(filepath.Join(month, "*.csv"))
	must(t, err)
	for _, path := range names {
		text, err := os.ReadFile(path)
		must(t, err)
		heading, rows, _ := strings.Cut(string(text), "\n")
		out := heading + "\n"
		for block := range times {
			out += shifted(rows, moved+28*block)
		}
		must(t, os.WriteFile(filepath.Join(dir, filepath.Base(path)), []byte(out), 0o600))
	}
	text, err := os.ReadFile(filepath.Join(month, "log.toml"))
	must(t, err)
	about := strings.Replace(shifted(string(text), moved), "HHD-00042", number, 1)
	about = strings.Replace(about, "0ee84880-ea27-4eaa-a5d9-a0c472f1caf2", uuid.NewSHA1(uuid.NameSpaceURL, []byte(id)).String(), 1)
	must(t, os.WriteFile(filepath.Join(dir, "log.toml"), []byte(about), 0o600))
}

// exportLog exports the log of a patient, month by month or, for no month, as one.
func exportLog(t *testing.T, to, number, id string, months ...string) {
	t.Helper()
	dir := t.TempDir()
	times := 3
	if len(months) > times {
		times = 13 // a year
	}
	writeLog(t, dir, number, id, times)
	log, findings, err := export.Input{Path: dir}.Read()
	must(t, err)
	opts := export.Options{Mapping: fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "0.1.0"}}, Form: export.Sessions, Out: filepath.Join(to, "all")}
	opts.Mapping.Series = fhirmap.FirstAndLast
	if len(months) == 0 {
		_, _, err = export.Write(t.Context(), log, findings, opts)
		must(t, err)
	}
	for _, name := range months {
		opts.From, opts.Out = day(t, name+"-01"), filepath.Join(to, name)
		opts.To = opts.From.AddDate(0, 1, -1)
		_, _, err = export.Write(t.Context(), log, findings, opts)
		must(t, err)
	}
}

func day(t *testing.T, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.DateOnly, text)
	must(t, err)
	return at
}

// made is a unit of six patients in three months, which tests link to. The last
// patient's are one export, with weeks.
var made = struct {
	sync.Once
	dir string
}{}

const patients = 6

func TestMain(m *testing.M) {
	code := m.Run()
	if made.dir != "" {
		_ = os.RemoveAll(made.dir)
	}
	os.Exit(code)
}

// unit returns a new unit: folders N-1/2025-01 and so on. Its files are links to
// those of all units, so that a test replaces a file and never writes into it.
func unit(t *testing.T) string {
	t.Helper()
	made.Do(func() {
		dir, err := os.MkdirTemp("", "audit-unit-")
		must(t, err)
		made.dir = dir
		for i := range patients {
			number := fmt.Sprintf("N-%d", i+1)
			must(t, os.Mkdir(filepath.Join(dir, number), 0o700))
			months := []string{"2025-01", "2025-02", "2025-03"}
			if i == patients-1 {
				months = nil
			}
			exportLog(t, filepath.Join(dir, number), number, number, months...)
		}
	})
	out := filepath.Join(t.TempDir(), "unit")
	linkAll(t, made.dir, out)
	return out
}

// linkAll makes a folder with links to all files of another.
func linkAll(t *testing.T, from, to string) {
	t.Helper()
	must(t, filepath.WalkDir(from, func(path string, entry os.DirEntry, err error) error {
		rel, relErr := filepath.Rel(from, path)
		switch {
		case err != nil || relErr != nil:
			return err
		case entry.IsDir():
			return os.Mkdir(filepath.Join(to, rel), 0o700)
		}
		return os.Link(path, filepath.Join(to, rel))
	}))
}

// roster is all patients with the plan of the month, five a week.
func rosterOf(t *testing.T, more map[string]string) string {
	t.Helper()
	text := "identifier_system,identifier_value,from,to,sessions_per_week,leave\n"
	for i := range patients {
		number := fmt.Sprintf("N-%d", i+1)
		text += system + "," + number + ",,,5," + more[number] + "\n"
	}
	path := filepath.Join(t.TempDir(), "roster.csv")
	must(t, os.WriteFile(path, []byte(text+more[""]), 0o600))
	return path
}

// replace puts another text into the place of a file.
func replace(t *testing.T, path string, text []byte) {
	t.Helper()
	must(t, os.Remove(path))
	must(t, os.WriteFile(path, text, 0o600))
}

// edit changes the manifest of an export and mends its root.
func edit(t *testing.T, dir string, change func(m *manifest.Manifest)) {
	t.Helper()
	path := filepath.Join(dir, manifest.Name)
	text, err := os.ReadFile(path)
	must(t, err)
	var m manifest.Manifest
	must(t, json.Unmarshal(text, &m))
	change(&m)
	m.Root = manifest.Root(m.Files)
	text, err = json.MarshalIndent(m, "", " ")
	must(t, err)
	replace(t, path, text)
}

// sessions are the files of an export with a session that was done, in their
// order.
func sessions(t *testing.T, dir string) (out []string) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, manifest.Name))
	must(t, err)
	var m manifest.Manifest
	must(t, json.Unmarshal(text, &m))
	for _, f := range m.Files {
		if f.Status == "done" {
			out = append(out, filepath.Join(dir, f.File))
		}
	}
	return out
}

func sum(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
