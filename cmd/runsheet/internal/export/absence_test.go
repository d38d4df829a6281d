package export

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// absences are the ways a log says that there is no value.
var absences = []string{"", "?", "-", "n/a", "not done"}

// needed are the cells that a row cannot do without: its place, and what the
// row is about. The unit of a number is needed as well, and so is which hour is
// meant in the one that comes twice, in which the demo month has an event. The
// sheet of answers is about findings, not about a treatment.
var needed = map[session.Sheet][]string{
	session.SheetSessions:  {"session", "date", "start", "status", "time_zone"},
	session.SheetChecks:    {"session"},
	session.SheetReadings:  {"session"},
	session.SheetMedicines: {"session", "medicine"},
	session.SheetLabs:      {"session", "when", "test"},
	session.SheetEvents:    {"session", "kind", "what", "clock_change"},
}

func sheetOf(t *testing.T, sheet session.Sheet) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(data, "month", string(sheet)+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// heldBack reads the demo month with the rows of one sheet changed, and lists
// the errors found and the sessions that they hold back. Only the session named
// is mapped and validated.
func heldBack(t *testing.T, v *validate.Validator, dir string, sheet session.Sheet, rows [][]string, only string) (broken, told []string) {
	t.Helper()
	var text strings.Builder
	if err := csv.NewWriter(&text).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, string(sheet)+".csv"), []byte(text.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	log, findings, err := session.ReadFolder(dir, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	findings = append(findings, check.Check(log, nil)...)
	mapping, err := newMappings(log, tool, tool)
	if err != nil {
		t.Fatal(err)
	}
	for at, s := range log.Sessions {
		var found []issue.Finding
		if s.ID == only && !s.Broken {
			found = mapping.session(v, at).found
			findings = append(findings, found...)
		}
		if s.Broken || found != nil {
			broken = append(broken, s.ID)
		}
	}
	for _, f := range findings {
		if f.Severity == issue.Error {
			told = append(told, f.Rule+": "+f.Details.String())
		}
	}
	return broken, told
}

// In a sound log no cell that a row can do without holds a session back when
// it says that there is no value, in whichever of the ways a log says so.
func TestAbsenceHoldsNothingBack(t *testing.T) {
	v := validate.New(validate.Options{Schema: true})
	for _, column := range session.Columns {
		if column.Sheet == session.SheetAnswers || slices.Contains(needed[column.Sheet], column.Name) || column.Kind == session.KindUnit && column.Sheet != session.SheetChecks {
			continue
		}
		dir := t.TempDir()
		if err := os.CopyFS(dir, os.DirFS(filepath.Join(data, "month"))); err != nil {
			t.Fatal(err)
		}
		rows := sheetOf(t, column.Sheet)
		at := slices.Index(rows[0], column.Name)
		if at < 0 {
			at = len(rows[0])
			for i := range rows {
				rows[i] = append(rows[i], "")
			}
			rows[0][at] = column.Name
		}
		row := 1 + max(0, slices.IndexFunc(rows[1:], func(r []string) bool { return r[at] != "" }))
		for _, absence := range absences {
			rows[row][at] = absence
			if broken, told := heldBack(t, v, dir, column.Sheet, rows, rows[row][0]); broken != nil {
				t.Errorf("%s, row %d, %s = %q holds back %v: %v", column.Sheet, row+1, column.Name, absence, broken, told)
			}
		}
	}
}
