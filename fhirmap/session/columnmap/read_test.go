package columnmap_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/fhirmap/session/columnmap"
	"runsheet.example/validate/issue"
)

const aboutText = `[log]
format = 1
id = "5b0a3f06-7f1e-4b9c-9f57-0c6f2a5f6aff"
time_zone = "Europe/London"
[patient]
identifier_system = "urn:oid:2.25.1"
identifier_value = "X1"
`

// small is a map for a CSV file with a few columns.
const small = `format = 1
[[table]]
date_form = "dmy"
[table.set]
"sessions.status" = "done"
[[table.column]]
heading = "Date"
to = "sessions.date"
[[table.column]]
heading = "On"
to = "sessions.start"
[[table.column]]
heading = "Off"
to = "sessions.end"
[[table.column]]
heading = "Weight"
to = "sessions.weight_before"
unit = "lb"
[[table.column]]
heading = "BP"
to = ["sessions.bp_before_systolic", "sessions.bp_before_diastolic"]
split = "/"
optional = true
`

const head = "Date,On,Off,Weight,BP\n"

// read reads files by a map and returns the findings as "rule cell".
func read(t *testing.T, mapText string, files map[string]string) (*session.Log, []string, []issue.Finding) {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return readAt(t, mapText, dir)
}

func parse(text string) (*columnmap.Map, error) { return columnmap.Parse([]byte(text), "map.toml") }

func readAt(t *testing.T, mapText, path string) (*session.Log, []string, []issue.Finding) {
	t.Helper()
	m, err := parse(mapText)
	if err != nil {
		t.Fatal(err)
	}
	log, findings, err := columnmap.Read(path, m, &columnmap.About{Name: "log.toml", Text: []byte(aboutText)}, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var said []string
	for _, f := range findings {
		if f.Rule != "map-session-names" && f.Rule != "about-empty" {
			said = append(said, strings.TrimSpace(f.Rule+" "+f.Cells[0].String()))
		}
	}
	return log, said, findings
}

// Each mistake in a sheet gives one finding, at the cell as it stands in the
// sheet.
func TestFindings(t *testing.T) {
	tests := []struct {
		name, text, sheet string
		want              []string
	}{
		{"nothing wrong", small, head + "03/11/2025,18:00,22:00,160.5,142/78\n", nil},
		{"no value in both", small, head + "03/11/2025,18:00,22:00,?,-\n", nil},
		{"no number", small, head + "03/11/2025,18:00,22:00,160..5,142/78\n", []string{"log-number a.csv D2 (Weight)"}},
		{"unit again in the cell", small, head + "03/11/2025,18:00,22:00,160.5 lb,142/78\n", []string{"log-unit-in-cell a.csv D2 (Weight)"}},
		{"another unit in the cell", small, head + "03/11/2025,18:00,22:00,72.6 kg,142/78\n", []string{"log-number a.csv D2 (Weight)"}},
		{"three values for two", small, head + "03/11/2025,18:00,22:00,160.5,142/78/70\n", []string{"map-split a.csv E2 (BP)"}},
		{"one value for two", small, head + "03/11/2025,18:00,22:00,160.5,142\n", []string{"map-split a.csv E2 (BP)"}},
		{"half of a pair missing", small, head + "03/11/2025,18:00,22:00,160.5,142/?\n", nil},
		{"a day that is none", small, head + "31/11/2025,18:00,22:00,160.5,142/78\n", []string{"log-date a.csv A2 (Date)"}},
		{"no date", small, head + ",18:00,22:00,160.5,142/78\n", []string{"log-cell-missing a.csv A2 (Date)"}},
		{"column without an entry", small, "Date,On,Off,Weight,BP,Mood\n03/11/2025,18:00,22:00,160.5,142/78,fine\n", []string{"log-heading-unknown a.csv F1 (Mood)"}},
		{"cells without a heading", small, head + "03/11/2025,18:00,22:00,160.5,142/78,fine\n", []string{"log-heading-unknown a.csv F1"}},
		{"entry without a column", small, "Date,On,Off,BP\n03/11/2025,18:00,22:00,142/78\n", []string{"map-heading-missing a.csv row 1"}},
		{"optional entry without a column", small, "Date,On,Off,Weight\n03/11/2025,18:00,22:00,160.5\n", nil},
		{"heading twice", small, "Date,On,Off,Weight,Weight\n03/11/2025,18:00,22:00,160.5,161.0\n", []string{"map-heading-ambiguous a.csv D1 (Weight)"}},
		{"empty rows and titles", small, "My log,,,,\n,,,,\n" + head + "03/11/2025,18:00,22:00,160.5,142/78\n,,,,\n", nil},
		{"quotation mark", small, head + "03/11/2025,18:00,22:00,160.5,142/78\n04/11/2025,18:00,22:00,\"160.5,1\n", []string{"log-quote a.csv row 3"}},
		{"stones where pounds are declared", small, head + "03/11/2025,18:00,22:00,11 st 4,142/78\n", []string{"log-number a.csv D2 (Weight)"}},
		{"stones", strings.Replace(small, `"lb"`, `"st lb"`, 1), head + "03/11/2025,18:00,22:00,11 st 4 lb,142/78\n", []string{"map-converted a.csv D2 (Weight)"}},
		{"fourteen pounds", strings.Replace(small, `"lb"`, `"st lb"`, 1), head + "03/11/2025,18:00,22:00,11 st 14 lb,142/78\n", []string{"log-number a.csv D2 (Weight)"}},
		{"two rows of one session differ", strings.Replace(small, "date_form", "key = [\"Date\"]\ndate_form", 1),
			head + "03/11/2025,18:00,22:00,160.5,\n,,,161.5,142/78\n", []string{"map-rows-differ a.csv D3 (Weight)"}},
		{"a session of its own without its date", strings.Replace(small, "date_form", "key = [\"Date\"]\ndate_form", 1),
			head + "03/11/2025,18:00,22:00,160.5,\n,18:10,22:15,161.5,142/78\n", []string{"log-cell-missing a.csv A3 (Date)"}},
		{"two rows of one session complete each other", strings.Replace(small, "date_form", "key = [\"Date\"]\ndate_form", 1),
			head + "03/11/2025,18:00,22:00,160.5,\n,,,160.5,142/78\n", nil},
		{"a session's rows apart", strings.Replace(small, "date_form", "key = [\"Date\"]\ndate_form", 1),
			head + "03/11/2025,18:00,22:00,160.5,\n04/11/2025,18:00,22:00,160.5,\n03/11/2025,,,,142/78\n", []string{"map-key-twice a.csv row 4", "log-cell-missing a.csv B4 (On)"}},
		{"decimal commas unseen", strings.Replace(small, "date_form", "decimal_mark = \",\"\ndate_form", 1), head + "03/11/2025,18:00,22:00,160.5,142/78\n", []string{"log-decimal-mark a.csv D2 (Weight)"}},
		{"no sessions", small, head, []string{"log-empty a.csv"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, got, findings := read(t, tt.text, map[string]string{"a.csv": tt.sheet})
			slices.Sort(tt.want)
			slices.Sort(got)
			if !slices.Equal(got, tt.want) {
				t.Errorf("found %q, want %q", got, tt.want)
			}
			for _, f := range findings {
				if strings.HasSuffix(f.Details.String(), ".") || f.Details.String() == "" {
					t.Errorf("details %q", f.Details)
				}
				inGerman(t, f)
			}
		})
	}
}

func TestBrokenByTheMap(t *testing.T) {
	for _, text := range []string{
		head + "03/11/2025,18:00,22:00,160.5,142\n",
		head + "03/11/2025,18:00,22:00,160.5,142/78\n04/11/2025,18:00,22:00,16\"0.5,142/78\n",
		"Date,On,Off,Weight,Weight\n03/11/2025,18:00,22:00,160.5,161.0\n",
	} {
		log, _, findings := read(t, small, map[string]string{"a.csv": text})
		if len(log.Sessions) == 0 {
			t.Error("nothing was read")
		}
		for _, s := range log.Sessions {
			if !s.Broken || !issue.HasErrors(findings) {
				t.Errorf("session %s is not held back: %v", s.ID, findings)
			}
		}
	}
}

// A whole folder: two months, a file the map does not name, and whose log it
// is in log.toml. Sessions of both files are one log.
func TestFolder(t *testing.T) {
	text := strings.Replace(small, "date_form", "file = \"log-*.csv\"\ndate_form", 1)
	log, got, _ := read(t, text, map[string]string{
		"log-10.csv": head + "30/10/2025,18:00,22:00,160.5,142/78\n",
		"log-11.csv": head + "03/11/2025,18:00,22:00,160.5,142/78\n03/11/2025,23:00,23:50,160.0,140/78\n",
		"other.csv":  "a,b\n1,2\n",
	})
	if !slices.Equal(got, []string{"log-file-unknown other.csv"}) {
		t.Errorf("found %q", got)
	}
	var ids []string
	for _, s := range log.Sessions {
		ids = append(ids, s.ID)
	}
	if want := []string{"2025-10-30-1", "2025-11-03-1", "2025-11-03-2"}; !slices.Equal(ids, want) {
		t.Errorf("sessions %q, want %q", ids, want)
	}
	if len(log.Sources) != 5 { // three files, the map and log.toml
		t.Errorf("sources %+v", log.Sources)
	}
}

func TestNothingThatTheMapNames(t *testing.T) {
	text := strings.Replace(small, "date_form", "file = \"log-*.csv\"\ndate_form", 1)
	_, got, _ := read(t, text, map[string]string{"a.csv": head})
	if !slices.Contains(got, "map-table-missing map.toml") {
		t.Errorf("found %q", got)
	}
}

// Readings in a table of their own are tied to their session by the key.
func TestTwoTablesByKey(t *testing.T) {
	text := strings.Replace(small, "date_form", "file = \"s.csv\"\nkey = [\"Date\"]\ndate_form", 1) + `
[[table]]
file = "r.csv"
key = ["Day"]
[[table.column]]
heading = "At"
to = "readings.time"
[[table.column]]
heading = "VP"
to = "readings.venous_line_pressure"
`
	log, got, _ := read(t, text, map[string]string{
		"s.csv": head + "03/11/2025,22:00,05:00,160.5,142/78\n05/11/2025,22:00,05:00,160.5,142/78\n",
		"r.csv": "Day,At,VP\n03/11/2025,23:00,150\n03/11/2025,01:00,152\n05/11/2025,23:30,148\n09/11/2025,23:30,149\n",
	})
	if !slices.Equal(got, []string{"log-session-unknown r.csv A5 (Day)"}) && !slices.Equal(got, []string{"log-session-unknown r.csv B5 (At)"}) {
		t.Errorf("found %q", got)
	}
	if len(log.Sessions) != 2 || len(log.Sessions[0].Readings) != 2 || log.Sessions[0].Readings[1].At.Time.Format("02 15:04") != "04 01:00" {
		t.Errorf("readings are at the wrong session or time")
	}
}

// Times counted from the start are elapsed time: on the night the clocks go
// back, two hours after 00:30 summer time is 01:30 winter time.
func TestIntervalOverAClockChange(t *testing.T) {
	text := small + `
[[table.group]]
to = "readings"
at = "start"
every_min = 60
[[table.group.column]]
heading = "VP {n}"
to = "venous_line_pressure"
`
	log, got, _ := read(t, text, map[string]string{"a.csv": "Date,On,Off,Weight,VP 1,VP 2\n26/10/2025,00:30,05:00,160.5,150,152\n"})
	if len(got) != 0 {
		t.Errorf("found %q", got)
	}
	r := log.Sessions[0].Readings
	if len(r) != 2 || r[0].At.Time.Format("15:04Z07:00") != "01:30+01:00" || r[1].At.Time.Format("15:04Z07:00") != "01:30Z" {
		t.Errorf("readings at %v and %v", r[0].At.Time, r[1].At.Time)
	}
}

// A form that was shifted by a row is not read at the wrong cells.
func TestShiftedForm(t *testing.T) {
	f := excelize.NewFile()
	for cell, value := range map[string]any{"A3": "Date", "B3": "2025-11-03", "A4": "On", "B4": "18:00", "A5": "Off", "B5": "22:00", "A7": "Weight", "B7": 72.5, "A6": "Note", "B6": 17} {
		if err := f.SetCellValue("Sheet1", cell, value); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(t.TempDir(), "forms.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	form := "format = 1\n[[table]]\nlayout = \"form\"\n[table.set]\n\"sessions.status\" = \"done\"\n"
	for _, one := range [][3]string{{"B3", "Date", "date"}, {"B4", "On", "start"}, {"B5", "Off", "end"}, {"B6", "Weight", "weight_before"}} {
		form += "[[table.column]]\ncell = \"" + one[0] + "\"\nheading = \"" + one[1] + "\"\nto = \"sessions." + one[2] + "\"\n"
	}
	log, got, _ := readAt(t, form, path)
	if want := []string{"map-heading-missing forms.xlsx Sheet1 B6 (Note)", "map-cells-unmapped forms.xlsx Sheet1 B7 (Weight)"}; !slices.Equal(got, want) {
		t.Errorf("found %q, want %q", got, want)
	}
	if v := log.Sessions[0].Value("weight_before"); v.OK() {
		t.Errorf("the weight was read from a cell beside another label: %+v", v)
	}
}

// A weight far off is reported with a suggestion in the unit of the sheet.
func TestSuggestionsInTheUnitWritten(t *testing.T) {
	sheet := head
	for _, day := range []string{"03", "05", "07", "10", "12"} {
		weight := "160.5"
		if day == "10" {
			weight = "1602"
		}
		sheet += day + "/11/2025,18:00,22:00," + weight + ",142/78\n"
	}
	log, _, _ := read(t, small, map[string]string{"a.csv": sheet})
	for _, f := range check.Check(log, nil) {
		if f.Rule == "clin-decimal-point" {
			if f.Expected.String() != "perhaps 160.2 lb" || f.Value != "1602" || f.Cells[0].String() != "a.csv D5 (Weight)" {
				t.Errorf("%+v", f)
			}
			return
		}
	}
	t.Error("the weight was not found")
}

// Mistakes in a map are told to the person who wrote it, with where they are.
func TestMapsThatAreWrong(t *testing.T) {
	table := "format = 1\n[[table]]\n"
	column := table + "[[table.column]]\nheading = \"X\"\n"
	tests := []struct{ name, text, want string }{
		{"no TOML", "format = = 1", "map.toml line 1"},
		{"no format", "[[table]]\n", "format = 0"},
		{"later format", "format = 2\n[[table]]\n", "format = 2"},
		{"no table", "format = 1\n", "no [[table]]"},
		{"unknown name", table + "heading_rwo = 2\n", `no "table.heading_rwo"`},
		{"unknown target", column + "to = \"sessions.weigth\"\n", "the log has no such column"},
		{"misspelt target", column + "to = \"sessions.weigth_before\"\n", "perhaps sessions.weight_before"},
		{"misspelt heading of the log", column + "to = \"readings.venous_presure_mmhg\"\n", "perhaps readings.venous_pressure_mmhg"},
		{"target of another sheet", column + "to = \"readings.weight_before\"\n", "perhaps sessions.weight_before"},
		{"misspelt sheet", column + "to = \"session.weight_before\"\n", "perhaps sessions.weight_before"},
		{"target like none", column + "to = \"sessions.mood\"\n", "runsheet map --help lists them"},
		{"unit that does not fit", column + "to = \"sessions.weight_before\"\nunit = \"mL\"\n", `cannot be written in "mL"`},
		{"unit on words", column + "to = \"sessions.notes\"\nunit = \"mL\"\n", "is no number"},
		{"two targets unsplit", column + "to = [\"sessions.bp_before_systolic\", \"sessions.bp_before_diastolic\"]\n", "needs split"},
		{"a target twice", column + "to = \"sessions.notes\"\n[[table.column]]\nheading = \"Y\"\nto = \"sessions.notes\"\n", "two entries go to sessions.notes"},
		{"a number stated", table + "[table.set]\n\"sessions.weight_before\" = \"70\"\n", "no numbers, dates or times"},
		{"a time stated", table + "[table.set]\n\"sessions.start\" = \"18:00\"\n", "no numbers, dates or times"},
		{"a word that is none", table + "[table.set]\n\"sessions.status\" = \"finished\"\n", `"finished" is none of`},
		{"words for nothing", table + "[table.words.mood]\n\"x\" = \"y\"\n", "has no such column"},
		{"date form", table + "date_form = \"dd.mm\"\n", "a year stands"},
		{"date form without a day", table + "date_form = \"mm yyyy\"\n", "a day and a month"},
		{"date form of other letters", table + "date_form = \"dd.qq.yyyy\"\n", "is none of"},
		{"date form that is no letter", table + "date_form = \"dd–mm–yyyy–é\"\n", "is none of"},
		{"time form", table + "time_form = \"noon\"\n", "expected 18:30"},
		{"layout", table + "layout = \"wide\"\n", "expected rows or form"},
		{"form without a cell", table + "layout = \"form\"\n[[table.column]]\nheading = \"X\"\nto = \"sessions.notes\"\n", "needs the cell"},
		{"pattern", table + "[[table.column]]\nheading = \"/(/\"\nto = \"sessions.notes\"\n", "heading = "},
		{"group of sessions", table + "[[table.group]]\nto = \"sessions\"\n[[table.group.column]]\nheading = \"X\"\nto = \"notes\"\n", "expected checks, readings"},
		{"interval without a number", table + "[[table.group]]\nto = \"readings\"\nat = \"start\"\nevery_min = 60\n[[table.group.column]]\nheading = \"X\"\nto = \"pulse\"\n", "every_min counts"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := columnmap.Parse([]byte(tt.text), "map.toml")
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want %q", err, tt.want)
			}
		})
	}
}

func TestDateForms(t *testing.T) {
	for _, tt := range []struct {
		form, year, text, want string
	}{
		{"dd.mm.yy", "", "03.11.25", "2025-11-03"},
		{"d mmm yyyy", "", "3 Nov 2025", "2025-11-03"},
		{"d. mmm yyyy", "", "3. März 2025", "2025-03-03"},
		{"d mmm yyyy", "", "3 août 2025", "2025-08-03"},
		{"d mmm yyyy", "", "3 ago 2025", "2025-08-03"},
		{"w dd/mm", "year = 2025\n", "Mo 03/11", "2025-11-03"},
		{"mm/dd/yyyy", "", "11/3/2025", "2025-11-03"},
		{"dd.mm.", "year = 2025\n", "3.11.", "2025-11-03"},
		{"dd/mm/yyyy", "", "2025-11-03", "2025-11-03"}, // as workbooks give their dates
		{"d mmm yyyy", "", "3 jui 2025", ""},           // June or July
		{"dd.mm.yy", "", "03/11/25", ""},
	} {
		text := strings.Replace(small, "date_form = \"dmy\"", tt.year+"date_form = \""+tt.form+"\"", 1)
		log, said, _ := read(t, text, map[string]string{"a.csv": head + tt.text + ",18:00,22:00,160.5,142/78\n"})
		got := ""
		if log.Sessions[0].Date.OK() {
			got = log.Sessions[0].Date.Time.Format("2006-01-02")
		}
		if got != tt.want || (got == "") != slices.Contains(said, "log-date a.csv A2 (Date)") {
			t.Errorf("%q in %q is %q, want %q (%q)", tt.text, tt.form, got, tt.want, said)
		}
	}
}
