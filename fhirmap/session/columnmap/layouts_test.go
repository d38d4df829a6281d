package columnmap_test

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/validate/issue"
)

// hourly is a map of a sheet with a row each hour, whose first and last row
// are start and end of the session.
const hourly = `format = 1
[[table]]
key = ["Date"]
date_form = "dmy"
[table.set]
"sessions.status" = "done"
[[table.column]]
heading = "Date"
to = "sessions.date"
[[table.column]]
heading = "Time"
to = "sessions.start"
take = "first"
[[table.column]]
heading = "Time"
to = "sessions.end"
take = "last"
[[table.column]]
heading = "Time"
to = "readings.time"
[[table.column]]
heading = "BP"
to = ["readings.bp_systolic", "readings.bp_diastolic"]
split = "/"
prefix = ["RR", "BD"]
[[table.column]]
heading = "Weight"
to = "sessions.weight_before"
take = "first"
optional = true
[[table.column]]
heading = "Weight"
to = "sessions.weight_after"
take = "last"
optional = true
`

func TestFirstAndLastRow(t *testing.T) {
	log, got, _ := read(t, hourly, map[string]string{"a.csv": "Date,Time,BP,Weight\n" +
		"03/11/2025,22:00,RR 142/78,72.4\n,23:00,rr:138/75,?\n,01:00,BD 130/70,\n,02:30,-,70.1\n" +
		"05/11/2025,18:00,140/80,?\n05/11/2025,21:30,RR,\n"})
	if want := []string{"log-row-empty a.csv"}; !slices.Equal(got, want) { // 21:30 is no reading
		t.Errorf("found %q, want %q", got, want)
	}
	var read []string
	for _, s := range log.Sessions {
		read = append(read, s.Start.Time.Format("02 15:04"), s.End.Time.Format("02 15:04"), s.Value("weight_before").Text, s.Value("weight_after").Text)
		for _, r := range s.Readings {
			read = append(read, r.At.Time.Format("15:04")+" "+r.Value("bp_systolic").Decimal.String()+"/"+r.Value("bp_diastolic").Decimal.String())
		}
	}
	want := []string{"03 22:00", "04 02:30", "72.4", "70.1", "22:00 142/78", "23:00 138/75", "01:00 130/70", "02:30 /",
		"05 18:00", "05 21:30", "?", "?", "18:00 140/80"}
	if !slices.Equal(read, want) {
		t.Errorf("read %q, want %q", read, want)
	}
}

func TestPrefixOfAnotherWord(t *testing.T) {
	_, got, _ := read(t, hourly, map[string]string{"a.csv": "Date,Time,BP\n03/11/2025,22:00,RRsys 142/78\n,23:00,HR 70\n,23:30,RR -142/78\n"})
	want := []string{"log-number a.csv C2 (BP)", "map-split a.csv C3 (BP)"}
	if !slices.Equal(got, want) {
		t.Errorf("found %q, want %q", got, want)
	}
}

func TestWrongTakeAndPrefix(t *testing.T) {
	table := "format = 1\n[[table]]\n"
	for text, want := range map[string]string{
		strings.Replace(hourly, `take = "first"`, `take = "second"`, 1):                                                                          "expected first or last",
		strings.Replace(hourly, `key = ["Date"]`, "", 1):                                                                                         "it needs a key",
		strings.Replace(hourly, `to = "readings.time"`, "to = \"readings.time\"\ntake = \"last\"", 1):                                            "a column of sessions",
		table + "key = [\"D\"]\n[[table.group]]\nto = \"readings\"\n[[table.group.column]]\nheading = \"X\"\nto = \"pulse\"\ntake = \"first\"\n": "a column of sessions",
		table + "layout = \"form\"\nkey = [\"D\"]\n[[table.column]]\ncell = \"B3\"\nto = \"sessions.start\"\ntake = \"first\"\n":                 "a column of sessions",
		strings.Replace(hourly, `prefix = ["RR", "BD"]`, `prefix = "1"`, 1):                                                                      "without digits",
		strings.Replace(hourly, `prefix = ["RR", "BD"]`, `prefix = "<"`, 1):                                                                      "without digits",
		strings.Replace(hourly, `prefix = ["RR", "BD"]`, `prefix = [1]`, 1):                                                                      "prefix: expected texts",
	} {
		if _, err := parse(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

// A file under another ending is not passed over without a word.
func TestFilesNamedOtherwise(t *testing.T) {
	sheet := head + "03/11/2025,18:00,22:00,160.5,142/78\n"
	_, got, _ := read(t, small, map[string]string{"a.csv": sheet, "b.csv.txt": sheet, "C.CSV.bak": sheet, "d.tsv": sheet, "photo.jpg": "x"})
	if want := []string{"log-file-unknown C.CSV.bak", "log-file-unknown b.csv.txt", "log-file-unknown d.tsv"}; !slices.Equal(got, want) {
		t.Errorf("found %q, want %q", got, want)
	}
}

// Words that a number format shows after a number count as written in the
// cell.
func TestNumberFormatsOfForeignSheets(t *testing.T) {
	for _, tt := range []struct {
		format, want string
	}{
		{`0.0" lb"`, ""}, {`0.0" pounds"`, ""}, {`0.0`, ""},
		{`0.0" kg"`, "log-number a.xlsx Sheet1 D2 (Weight)"}, {`0.0" after tea"`, "log-number a.xlsx Sheet1 D2 (Weight)"},
	} {
		f := excelize.NewFile()
		style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &tt.format})
		for cell, value := range map[string]any{"A1": "Date", "B1": "On", "C1": "Off", "D1": "Weight", "A2": "2025-11-03", "B2": "18:00", "C2": "22:00", "D2": 160.5} {
			if err == nil {
				err = f.SetCellValue("Sheet1", cell, value)
			}
		}
		path := filepath.Join(t.TempDir(), "a.xlsx")
		if err == nil {
			err = f.SetCellStyle("Sheet1", "D2", "D2", style)
		}
		if err == nil {
			err = f.SaveAs(path)
		}
		if err != nil {
			t.Fatal(err)
		}
		log, got, findings := readAt(t, small, path)
		if strings.Join(got, "; ") != tt.want {
			t.Errorf("%s: found %q, want %q", tt.format, got, tt.want)
		}
		if v := log.Sessions[0].Value("weight_before"); v.OK() == issue.HasErrors(findings) || v.OK() && v.Text != "160.5" {
			t.Errorf("%s: read %+v", tt.format, v)
		}
	}
}
