package workbook

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// bookOf writes a log folder as a workbook.
func bookOf(t testing.TB, folder fstest.MapFS, opts Options) []byte {
	t.Helper()
	grid, _, err := session.ReadGrid(folder)
	if err != nil {
		t.Fatal(err)
	}
	opts.Content = grid
	data, err := Bytes(opts)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func readBook(t testing.TB, data []byte) (*session.Log, []issue.Finding) {
	t.Helper()
	log, findings, err := Read(data, "november.xlsx", session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return log, findings
}

// folder loads a log folder of the test data.
func folder(t testing.TB, name string) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{}
	dir := "../../../testdata/" + name
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		data, err := os.ReadFile(dir + "/" + e.Name())
		if err != nil {
			t.Fatal(err)
		}
		files[e.Name()] = &fstest.MapFile{Data: data}
	}
	return files
}

var places = regexp.MustCompile(`(?s)"(Unit)?Cell": \{[^{}]*\},?`)

// written is everything a log says, without where it stands: a column that is
// there and empty says the same as no column.
func written(t fataler, log *session.Log) string {
	log.Sources, log.Tally = nil, session.Tally{} // both name files and rows
	var out strings.Builder
	decimals := func(values map[session.Field]session.Value) {
		maps.DeleteFunc(values, func(_ session.Field, v session.Value) bool { return v.Text == "" && v.Absence == session.NotRecorded })
		for _, field := range slices.Sorted(maps.Keys(values)) {
			fmt.Fprintln(&out, field, values[field].Decimal.String())
		}
	}
	for _, p := range log.About.Prescriptions {
		decimals(p.Values)
	}
	for _, s := range log.Sessions {
		maps.DeleteFunc(s.Texts, func(_ session.Field, v session.Text) bool { return v.Text == "" && v.Absence == session.NotRecorded })
		decimals(s.Values)
		for _, r := range s.Readings {
			decimals(r.Values)
		}
		for _, l := range s.Labs {
			fmt.Fprintln(&out, l.Value.Decimal.String())
		}
	}
	text, err := json.MarshalIndent(log, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	out.Write(places.ReplaceAll(text, nil))
	return out.String()
}

type fataler interface{ Fatal(args ...any) }

// diff is the first few lines that differ, or "".
func diff(want, got string) string {
	if want == got {
		return ""
	}
	a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
	i := 0
	for i < len(a) && i < len(b) && a[i] == b[i] {
		i++
	}
	return fmt.Sprintf("line %d:\n-%s\n+%s", i+1,
		strings.Join(a[max(0, i-3):min(len(a), i+3)], "\n-"), strings.Join(b[max(0, i-3):min(len(b), i+3)], "\n+"))
}

func TestTheDemoMonthIsTheSameFromAWorkbook(t *testing.T) {
	for _, name := range []string{"month", "mistakes"} {
		files := folder(t, name)
		want, wantFindings, err := session.ReadFS(files, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got, gotFindings := readBook(t, bookOf(t, files, Options{}))
		if d := diff(written(t, want), written(t, got)); d != "" {
			t.Errorf("%s: the workbook says something else (-folder +workbook):\n%s", name, d)
		}
		if d := diff(said(wantFindings), said(gotFindings)); d != "" {
			t.Errorf("%s: findings differ (-folder +workbook):\n%s", name, d)
		}
		// And in a folder again, which the workbook was copied to.
		grid, err := ReadGrid(bookOf(t, files, Options{}))
		if err != nil {
			t.Fatal(err)
		}
		copied := filepath.Join(t.TempDir(), "copied")
		if err := session.WriteGrid(copied, grid); err != nil {
			t.Fatal(err)
		}
		again, againFindings, err := session.ReadFolder(copied, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if d := diff(written(t, want), written(t, again)) + diff(said(wantFindings), said(againFindings)); d != "" {
			t.Errorf("%s: the copy says something else (-folder +copy):\n%s", name, d)
		}
		if err := session.WriteGrid(copied, grid); !errors.Is(err, fs.ErrExist) {
			t.Errorf("%s: a log was written over: %v", name, err)
		}
		for i, s := range want.Sessions {
			if s.Entry() != got.Sessions[i].Entry() {
				t.Errorf("%s: the entry of session %s differs", name, s.ID)
			}
		}
	}
}

// said are the findings as rule, heading and value, without those that a
// workbook cannot have: it has no empty rows and no lines.
func said(findings []issue.Finding) string {
	var all []string
	for _, f := range findings {
		if f.Rule == "log-row-empty" {
			continue
		}
		all = append(all, fmt.Sprintf("%s %s %q %s", f.Rule, f.Cells[0].Heading, f.Value, f.Session))
	}
	slices.Sort(all)
	return strings.Join(all, "\n")
}

// cellText draws what a person may write in any cell, or what a spreadsheet
// makes of it.
func cellText() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"", "-", "n/a", "?", "not done", "72.0", "72.50", "0.10", "1e5", "-0", "007", "1,5", "72,50", "1.250", "=1+1", "+72", "-180", "@sum", "\u2212175",
			"2025-11-03", "2025-02-30", "03/04/2025", "18:30", "7:05", "24:00", "18:30:15", "18:30:00", "00:00", "_x0041_", "TRUE", "#REF!", "<b>&amp;", "12345678901234567.0", "0.1000000", "1899-12-31", "1900-02-28", "1900-03-01"}),
		rapid.StringMatching(`-?[0-9]{1,4}(\.[0-9]{1,4})?`),
		rapid.StringMatching(`[ -~äöüßé€\n]{0,20}`),
		rapid.StringMatching(`20[0-9]{2}-[01][0-9]-[0-3][0-9]`),
		rapid.StringMatching(`[0-2][0-9]:[0-5][0-9]`),
	)
}

func TestCSVThroughAWorkbookKeepsEveryText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mark := rapid.SampledFrom([]string{".", ",", ""}).Draw(t, "mark")
		grid := &session.Grid{About: []*session.AboutPart{{Name: "log", Entries: []*session.AboutEntry{{Key: "decimal_mark", Text: mark}}}}}
		sheet := rapid.SampledFrom(dataSheets).Draw(t, "sheet").sheet
		columns := session.Units("").ColumnsOf(sheet)
		table := session.GridTable{Sheet: sheet}
		for _, c := range columns {
			table.Headings = append(table.Headings, c.Name)
		}
		for range rapid.IntRange(0, 4).Draw(t, "rows") {
			var row []string
			for range columns {
				row = append(row, rapid.OneOf(rapid.Just(""), cellText()).Draw(t, "cell"))
			}
			table.Rows = append(table.Rows, row)
		}
		grid.Tables = append(grid.Tables, table)
		data, err := Bytes(Options{Content: grid})
		if err != nil {
			t.Fatal(err)
		}
		got, err := ReadGrid(data)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range grid.Tables {
			have, _ := got.Table(want.Sheet)
			if d := diff(asCSV(want), asCSV(have)); d != "" {
				t.Errorf("%s (-before +after):\n%s", want.Sheet, d)
			}
		}
	})
}

// asCSV writes a table as CSV, without rows that have nothing in them and
// without the white space around cells that no reader keeps.
func asCSV(t session.GridTable) string {
	var out strings.Builder
	w := csv.NewWriter(&out)
	_ = w.Write(t.Headings)
	for _, row := range t.Rows {
		cells := make([]string, len(t.Headings))
		for i, cell := range row {
			cells[i] = strings.TrimSpace(cell)
		}
		if strings.Join(cells, "") != "" {
			_ = w.Write(cells)
		}
	}
	w.Flush()
	return out.String()
}

func TestALogThroughAWorkbookKeepsEveryValueAndAbsence(t *testing.T) {
	month := firstRows(t, folder(t, "month"), 8)
	rapid.Check(t, func(t *rapid.T) {
		files := fstest.MapFS{}
		mark := rapid.SampledFrom([]string{".", ","}).Draw(t, "mark")
		for _, name := range slices.Sorted(maps.Keys(month)) {
			files[name] = &fstest.MapFile{Data: changeCells(t, name, month[name].Data, mark)}
		}
		want, wantFindings, err := session.ReadFS(files, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		grid, _, err := session.ReadGrid(files)
		if err != nil {
			t.Fatal(err)
		}
		locale := rapid.SampledFrom(locales).Draw(t, "locale")
		data, err := Bytes(Options{Content: grid, Locale: locale, LargePrint: rapid.Bool().Draw(t, "large")})
		if err != nil {
			t.Fatal(err)
		}
		got, gotFindings, err := Read(data, "november.xlsx", session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if d := diff(written(t, want), written(t, got)); d != "" {
			t.Errorf("the workbook says something else (-folder +workbook):\n%s", d)
		}
		if d := diff(said(wantFindings), said(gotFindings)); d != "" {
			t.Errorf("findings differ (-folder +workbook):\n%s", d)
		}
	})
}

// firstRows cuts the CSV files of a log to their first rows.
func firstRows(t *testing.T, files fstest.MapFS, rows int) fstest.MapFS {
	t.Helper()
	for name, file := range files {
		if lines := bytes.SplitAfter(file.Data, []byte("\n")); strings.HasSuffix(name, ".csv") && len(lines) > rows {
			files[name] = &fstest.MapFile{Data: bytes.Join(lines[:rows+1], nil)}
		}
	}
	return files
}

var decimals = regexp.MustCompile(`^(-?\d+)\.(\d+)$`)

// changeCells writes other texts into a few cells of a CSV file, but for the
// names of sessions, and its numbers with a decimal mark, which log.toml
// declares: without, a CSV file full of points makes 72,50 doubtful, and a
// workbook full of numbers does not.
func changeCells(t *rapid.T, name string, data []byte, mark string) []byte {
	if name == "log.toml" {
		return bytes.Replace(data, []byte(`decimal_mark = "."`), []byte(`decimal_mark = "`+mark+`"`), 1)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		for i, cell := range row {
			row[i] = decimals.ReplaceAllString(cell, "${1}"+mark+"${2}")
		}
	}
	for range rapid.IntRange(0, 5).Draw(t, "changes") {
		row := rapid.IntRange(1, len(rows)-1).Draw(t, "row")
		column := rapid.IntRange(1, len(rows[row])-1).Draw(t, "column")
		rows[row][column] = strings.TrimSpace(cellText().Draw(t, "text"))
	}
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
