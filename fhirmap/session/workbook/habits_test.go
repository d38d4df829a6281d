package workbook

import (
	"bytes"
	"fmt"
	"strconv"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
)

func TestChangedHeadings(t *testing.T) {
	tests := []struct {
		name, heading, want string
		read                bool
	}{
		{"as it was", "Weight before (kg)", "", true},
		{"in other letters", " WEIGHT  before\n[kg] ", "", true},
		{"in other words", "My weight (kg)", "log-heading-changed november.xlsx Sessions I1 (My weight (kg))", true},
		{"another unit", "Weight before (lb)", "log-heading-unit november.xlsx Sessions I1 (Weight before (lb))", true},
		{"another unit that weight has not", "Weight before (mmHg)", "log-heading-changed november.xlsx Sessions I1 (Weight before (mmHg))", false},
		{"another column", "Weight after (kg)", "log-heading-changed november.xlsx Sessions I1 (Weight after (kg))", false},
		{"no heading", "", "", true},
	}
	data := bookOf(t, folder(t, "month"), Options{})
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			log, findings := readBook(t, edited(t, data, func(f *excelize.File) error { return f.SetCellStr("Sessions", "I1", tt.heading) }))
			if got := rulesOf(findings); got != tt.want {
				t.Errorf("found %q, want %q", got, tt.want)
			}
			v := log.Sessions[0].Value("weight_before")
			if got := v.OK(); got != tt.read {
				t.Errorf("read: %v, want %v", got, tt.read)
			}
			if (v.Unit == "[lb_av]") != (tt.name == "another unit") {
				t.Errorf("read in %s", v.Unit)
			}
		})
	}
}

// edited changes a workbook as another program would.
func edited(t testing.TB, data []byte, change func(*excelize.File) error) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := change(f); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if _, err := f.WriteTo(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// What a format shows is kept, and no digit of what was typed is lost.
func TestNumbersKeepWhatIsSeen(t *testing.T) {
	tenths, date := "0.0", "dd.mm."
	cells := []struct {
		cell  string
		value any
		style *excelize.Style
		want  string
		ok    bool
	}{
		{"I3", 72, nil, "72", true},
		{"I4", 72, &excelize.Style{CustomNumFmt: &tenths}, "72.0", true},
		{"I5", 72.65, &excelize.Style{CustomNumFmt: &tenths}, "72.65", true},
		{"I6", "72.50", nil, "72.50", true},
		{"I7", 46164, &excelize.Style{CustomNumFmt: &date}, "2026-05-22", false}, // 22.5 typed where that is a date
	}
	data := edited(t, bookOf(t, folder(t, "month"), Options{}), func(f *excelize.File) error {
		for _, c := range cells {
			if err := f.SetCellValue("Sessions", c.cell, c.value); err != nil {
				return err
			}
			if c.style == nil {
				c.style = &excelize.Style{}
			}
			id, err := f.NewStyle(c.style)
			if err != nil {
				return err
			}
			if err := f.SetCellStyle("Sessions", c.cell, c.cell, id); err != nil {
				return err
			}
		}
		return nil
	})
	log, findings := readBook(t, data)
	for i, c := range cells {
		if got := log.Sessions[i].Value("weight_before"); got.Text != c.want || got.OK() != c.ok {
			t.Errorf("%s is read as %q (%v), want %q", c.cell, got.Text, got.Absence, c.want)
		}
	}
	for _, f := range findings {
		if f.Rule == "log-number" && f.Expected.String() != "perhaps 22.5" {
			t.Errorf("the date may have meant %q", f.Expected)
		}
	}
}

// Hidden names that are gone, and columns moved, leave the log the same.
func TestHeadingsSurviveWhatPeopleDo(t *testing.T) {
	files := folder(t, "month")
	want, _, err := session.ReadFS(files, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	data := bookOf(t, files, Options{})
	changes := map[string]func(*excelize.File) error{
		"hidden names deleted": func(f *excelize.File) error {
			for _, d := range new(writer).sheets() {
				if err := f.RemoveRow(d.tab, nameRow); err != nil {
					return err
				}
			}
			return f.RemoveCol(sheetAbout, "ZZ")
		},
		"friendly headings deleted": func(f *excelize.File) error { return f.RemoveRow("Sessions", titleRow) },
		"sorted with the hidden names": func(f *excelize.File) error {
			if err := f.DuplicateRowTo("Sessions", nameRow, 12); err != nil {
				return err
			}
			return f.RemoveRow("Sessions", nameRow)
		},
		"a title above": func(f *excelize.File) error {
			if err := f.InsertRows("Sessions", 1, 2); err != nil {
				return err
			}
			return f.SetCellStr("Sessions", "A1", "My treatments")
		},
		"sheets protected": func(f *excelize.File) error {
			for _, sheet := range f.GetSheetList() {
				if err := f.ProtectSheet(sheet, &excelize.SheetProtectionOptions{Password: "secret"}); err != nil {
					return err
				}
			}
			return nil
		},
		"counted from 1904": func(f *excelize.File) error {
			yes := true
			for _, cell := range datesOf() {
				text, err := f.GetCellValue(cell[0], cell[1], excelize.Options{RawCellValue: true})
				if err != nil {
					return err
				}
				if serial, err := strconv.Atoi(text); err == nil {
					if err := f.SetCellInt(cell[0], cell[1], int64(serial-1462)); err != nil {
						return err
					}
				}
			}
			return f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes})
		},
		"names of the About sheet deleted": func(f *excelize.File) error {
			for row := 1; row < 60; row++ {
				if err := f.SetCellStr(sheetAbout, fmt.Sprintf("A%d", row), ""); err != nil {
					return err
				}
			}
			return nil
		},
	}
	for name, change := range changes {
		got, _ := readBook(t, edited(t, data, change))
		if d := diff(written(t, want), written(t, got)); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

// datesOf are the cells with dates: the days of sessions and samples, and the
// dates of the About sheet.
func datesOf() [][2]string {
	var cells [][2]string
	for row := firstRow; row < firstRow+40; row++ {
		cells = append(cells, [2]string{"Sessions", cellName(2, row)}, [2]string{"Labs", cellName(2, row)})
	}
	for i, r := range session.AboutRows {
		if r.Kind == session.KindDate {
			for column := range answers(r.Part) {
				cells = append(cells, [2]string{sheetAbout, cellName(aboutAnswer+column, aboutFirstRow+i)})
			}
		}
	}
	return cells
}
