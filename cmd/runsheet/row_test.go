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
	{Field: "room_temperature", Name: Words{"room temperature", "Raumtemperatur", "temperatura camerae"}, Heard: in("room temperature", "raumtemperatur"),
		Limits:  within("Cel", bounds{0, 45, 15, 30, CommonPractice, anyone}),
		Columns: number("room_temperature_c", "Cel", "Room (°C)", PartBefore, BySome, 7, "temperature of the room, in °C"),
		Codes:   []Measurement{named(ProfileMachineReading, PhasePre, in("Cel"), "room-temperature", "Room temperature")}},
`
	madeUpCatalogue = `
// madeUp has a mark before every English text.
func madeUp() map[string]string {
	texts := map[string]string{}
	for _, known := range []map[string]string{germanTexts, germanReport, germanColumns, germanPages, germanWorkbookTexts} {
		for key := range known {
			texts[key] = "~" + key
		}
	}
	return texts
}
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
	says(t, "template", read(t, filepath.Join(log, "sessions.csv")), "room_temperature_c")

	month := filepath.Join(dir, "month")
	if err := os.CopyFS(month, os.DirFS("../../testdata/month")); err != nil {
		t.Fatal(err)
	}
	addColumn(t, filepath.Join(month, "sessions.csv"), "room_temperature_c", "40")
	says(t, "finding", run(t, program, "check", month), "(room_temperature_c): the room temperature is unusual", "usually 15 to 30 °C")
	says(t, "German finding", run(t, program, "check", "--lang", "de", month), "Raumtemperatur, höher als bei den meisten", "üblich sind 15 bis 30 °C")

	out := filepath.Join(dir, "out")
	run(t, program, "export", month, "-o", out)
	bundles, err := filepath.Glob(filepath.Join(out, "session-*.json"))
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(bundles, func(name string) bool { return strings.Contains(read(t, name), `"code":"room-temperature"`) }) {
		t.Error("no Bundle has the value")
	}
	says(t, "report", run(t, program, "validate", out), "0 errors", "40 Cel", "15 to 30 Cel")

	// The third language is one more column and one more catalogue.
	says(t, "finding in a third language", run(t, program, "check", "--lang", "xx", month), "temperatura camerae")
	page, book := filepath.Join(dir, "visit.html"), filepath.Join(dir, "log.xlsx")
	run(t, program, "report", month, "-o", page, "--lang", "xx")
	says(t, "report in a third language", read(t, page), "~Numbers", "0;10", "lang=\"xx\"")
	run(t, program, "new", book, "--lang", "xx")
	says(t, "workbook in a third language", run(t, "unzip", "-p", book, "xl/sharedStrings.xml"), "~How to begin", "~Weight before (", "~Sex")
	run(t, program, "new", filepath.Join(dir, "form.pdf"), "--lang", "xx")

	sheet := filepath.Join(dir, "sheet.csv")
	write(t, sheet, "Datum,Beginn,Ende,Gewicht vorher kg,Raumtemperatur °C\n2025-10-20,18:00,22:00,71.5,21\n2025-10-21,18:00,22:00,71.2,22\n")
	says(t, "drafted map", run(t, program, "check", "--suggest-map", sheet), `"sessions.room_temperature"`)

	run(t, "go", "run", "-overlay", overlay, "../../profiles/fsh/gen", "-o", dir)
	says(t, "code system", read(t, filepath.Join(dir, "codes.fsh")), "#room-temperature")
	says(t, "value set", read(t, filepath.Join(dir, "valuesets.fsh")), "#room-temperature")
	says(t, "unit", read(t, filepath.Join(dir, "units.fsh")), "The unit is Cel for Room temperature")
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
	replaced := map[string]string{source: changed}
	for name, parts := range map[string][2]string{
		"../../profiles/row.go":            {`[]string{"en", "de"}`, `[]string{"en", "de", "xx"}`},
		"../../validate/issue/messages.go": {"var vocabularies = map[Language]vocabulary{", "var vocabularies = map[Language]vocabulary{\n\t\"xx\": {[]map[string]string{madeUp()}, nil, englishWorkbook, \"linea\", \"columna\", \";\", \"\"},"},
	} {
		path, err := filepath.Abs(name)
		if err != nil {
			t.Fatal(err)
		}
		text := strings.Replace(read(t, path), parts[0], parts[1], 1)
		if !strings.Contains(text, parts[1]) {
			t.Fatalf("%s has no %q", name, parts[0])
		}
		if strings.HasSuffix(name, "messages.go") {
			text += madeUpCatalogue
		}
		replaced[path] = filepath.Join(dir, filepath.Base(name)+".go")
		write(t, replaced[path], text)
	}
	text, err := json.Marshal(map[string]map[string]string{"Replace": replaced})
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
