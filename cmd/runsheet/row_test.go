//go:build !mutants

package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const (
	madeUpRow = `
	{Field: "ankle_girth", Name: Words{"girth of the ankle", "Knöchelumfang"}, Heard: in("ankle", "knochel"),
		Limits:  within("cm", bounds{5, 80, 15, 40, CommonPractice, anyone}),
		Columns: number("ankle_girth_cm", "cm", "Ankle (cm)", PartBefore, BySome, 7, "girth of the ankle, in cm"),
		Codes:   []Measurement{named(ProfileMachineReading, PhasePre, AtMoment, in("cm"), "ankle-girth", "Girth of the ankle")}},
`
	lastSessionColumn = "\n\tonly(cell(KindText, \"time_zone\""
)

// A measurement is one row: a program built with a made-up one more knows it
// from the cell to the finding, the Bundle, the report, the template, the
// drafted map and the profiles.
func TestOneRowIsEnough(t *testing.T) {
	dir := t.TempDir()
	overlay := withRow(t, dir)
	program := filepath.Join(dir, "runsheet")
	run(t, "go", "build", "-overlay", overlay, "-o", program, ".")

	log := filepath.Join(dir, "log")
	run(t, program, "new", log)
	says(t, "template", read(t, filepath.Join(log, "sessions.csv")), "ankle_girth_cm")

	month := filepath.Join(dir, "month")
	if err := os.CopyFS(month, os.DirFS("../../testdata/month")); err != nil {
		t.Fatal(err)
	}
	addColumn(t, filepath.Join(month, "sessions.csv"), "ankle_girth_cm", "50")
	says(t, "finding", run(t, program, "check", month), "(ankle_girth_cm): the girth of the ankle is unusual", "usually 15 to 40 cm")
	says(t, "German finding", run(t, program, "check", "--lang", "de", month), "Knöchelumfang, höher als bei den meisten", "üblich sind 15 bis 40 cm")

	out := filepath.Join(dir, "out")
	run(t, program, "export", month, "-o", out)
	bundles, err := filepath.Glob(filepath.Join(out, "session-*.json"))
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(bundles, func(name string) bool { return strings.Contains(read(t, name), `"code":"ankle-girth"`) }) {
		t.Error("no Bundle has the value")
	}
	says(t, "report", run(t, program, "validate", out), "0 errors", "50 cm", "15 to 40 cm")

	sheet := filepath.Join(dir, "sheet.csv")
	write(t, sheet, "Datum,Beginn,Ende,Gewicht vorher kg,Knöchel cm\n2025-10-20,18:00,22:00,71.5,24\n2025-10-21,18:00,22:00,71.2,25\n")
	says(t, "drafted map", run(t, program, "check", "--suggest-map", sheet), `"sessions.ankle_girth"`)

	run(t, "go", "run", "-overlay", overlay, "../../profiles/fsh/gen", "-o", dir)
	says(t, "code system", read(t, filepath.Join(dir, "codes.fsh")), "#ankle-girth")
	says(t, "value set", read(t, filepath.Join(dir, "valuesets.fsh")), "#ankle-girth")
	says(t, "unit", read(t, filepath.Join(dir, "units.fsh")), "The unit is cm for Girth of the ankle")
}

// withRow writes the sources with the made-up row in the place of the real
// ones, for the compiler alone, and returns the file that says so.
func withRow(t *testing.T, dir string) string {
	t.Helper()
	source, err := filepath.Abs("../../profiles/rows_sessions.go")
	if err != nil {
		t.Fatal(err)
	}
	before, after, ok := strings.Cut(read(t, source), lastSessionColumn)
	if !ok {
		t.Fatalf("%s has no row %q", source, lastSessionColumn)
	}
	changed, overlay := filepath.Join(dir, "rows.go"), filepath.Join(dir, "overlay.json")
	write(t, changed, before+madeUpRow+lastSessionColumn[1:]+after)
	text, err := json.Marshal(map[string]map[string]string{"Replace": {source: changed}})
	if err != nil {
		t.Fatal(err)
	}
	write(t, overlay, string(text))
	return overlay
}

// addColumn adds a column with a value in its first row.
func addColumn(t *testing.T, file, heading, value string) {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(read(t, file))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, cell := range [...]string{heading, value} {
		rows[i] = append(rows[i], cell)
	}
	for i := 2; i < len(rows); i++ {
		rows[i] = append(rows[i], "")
	}
	var out strings.Builder
	if err := csv.NewWriter(&out).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	write(t, file, out.String())
}

func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", filepath.Base(name), args, err, out)
	}
	return string(out)
}

func says(t *testing.T, what, text string, parts ...string) {
	t.Helper()
	for _, part := range parts {
		if !strings.Contains(text, part) {
			t.Errorf("the %s does not have %q:\n%.2000s", what, part, text)
		}
	}
}

func read(t *testing.T, file string) string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func write(t *testing.T, file, text string) {
	t.Helper()
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}
