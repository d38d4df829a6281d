package workbook

import (
	"archive/zip"
	"bytes"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

func TestEveryColumnHasATitleOfItsOwn(t *testing.T) {
	seen := map[string]string{}
	for _, c := range session.Columns {
		key := string(c.Sheet) + " " + session.PlainTitle(c.Title)
		if other, twice := seen[key]; twice {
			t.Errorf("%s: %s and %s have one title", c.Sheet, c.Name, other)
		}
		seen[key] = c.Name
		for _, heading := range []string{c.Title, c.Name, strings.ToUpper(c.Title), strings.ReplaceAll(c.Title, " ", "\n")} {
			if got, ok := session.ColumnTitled(c.Sheet, heading); !ok || got != c.Name {
				t.Errorf("%s: heading %q is read as %q, want %q", c.Sheet, heading, got, c.Name)
			}
		}
		if unit := unitInWords[c.Unit]; c.Unit != "" && unitOf(c.Title) != unit {
			t.Errorf("%s: title %q does not carry the unit %s", c.Sheet, c.Title, c.Unit)
		}
		if c.Hint == "" || c.Width < 6 {
			t.Errorf("%s: %s has no hint or no width", c.Sheet, c.Name)
		}
	}
}

// unitInWords is how headings write a UCUM code.
var unitInWords = map[string]string{
	"kg": "kg", "L": "l", "mm[Hg]": "mmhg", "/min": "permin", "Cel": "°c", "mL/min": "ml/min", "L/h": "l/h",
	"mL/h": "ml/h", "min": "min", "mmol/L": "mmol/l", "mS/cm": "ms/cm",
}

// A workbook with every answer filled in is read without one word unknown, so
// the About sheet has the names that the log knows, and all of them.
func TestAboutHasTheNamesOfTheLog(t *testing.T) {
	values := map[string]string{
		"log.format": "1", "log.id": "0b2f3f8e-6f0e-4d5e-9a43-3f1f6f1f0a11", "log.time_zone": "Europe/London", "log.date_style": "dmy", "log.decimal_mark": ".",
		"patient.identifier_system": "urn:oid:2.25.1", "patient.identifier_value": "00042", "patient.sex": "female", "patient.birth_date": "1961-02-03",
		"prescription.order_system": "urn:oid:2.25.2", "prescription.weekdays": "mon, wed", "prescription.dialysate_flow_l_h": "", "prescription.dry_weight_lb": "",
		"access.kind": "graft", "access.side": "left", "access.needling": "ladder", "device.kind": "cuff",
	}
	var grid session.Grid
	byName := map[string]int{}
	for _, r := range session.AboutRows {
		if r.Key == "" {
			byName[r.Part] = len(grid.About)
			grid.About = append(grid.About, &session.AboutPart{Name: r.Part})
			continue
		}
		text, given := values[r.Part+"."+r.Key]
		if !given {
			text = map[session.Kind]string{session.KindDate: "2025-11-01", session.KindNumber: "12.50", session.KindText: "some words"}[r.Kind]
		}
		part := grid.About[byName[r.Part]]
		part.Entries = append(part.Entries, &session.AboutEntry{Key: r.Key, Text: text})
	}
	data, err := Bytes(Options{Content: &grid})
	if err != nil {
		t.Fatal(err)
	}
	log, findings := readBook(t, data)
	for _, f := range findings {
		if strings.HasPrefix(f.Rule, "about-") {
			t.Errorf("%s at %s: %s (%s)", f.Rule, f.Cells[0], f.Details, f.Value)
		}
	}
	if len(findings) != 1 || findings[0].Rule != "log-empty" {
		t.Errorf("findings: %s", rulesOf(findings))
	}
	a := log.About
	if a.PatientValue != "00042" || a.HeightCm.Text != "12.50" || len(a.Prescriptions) != 1 || len(a.Prescriptions[0].Weekdays) != 2 ||
		len(a.Prescriptions[0].Values) != 6 || !a.Accesses[0].NeedleGauge.OK() || a.Devices[0].Serial.Text != "some words" {
		t.Errorf("about: %+v", a)
	}
}

func TestSameOptionsGiveTheSameBytes(t *testing.T) {
	for _, opts := range []Options{{}, {LogID: "a", Locale: locales[2], Paper: Letter, LargePrint: true}, {Content: year()}} {
		first, err := Bytes(opts)
		if err != nil {
			t.Fatal(err)
		}
		second, err := Bytes(opts)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(first, second) {
			t.Error("two workbooks of the same options differ")
		}
	}
}

// partsOf unpacks a workbook.
func partsOf(t *testing.T, data []byte) parts {
	t.Helper()
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	all := parts{}
	for _, f := range archive.File {
		part, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(part)
		if err != nil {
			t.Fatal(err)
		}
		all[f.Name] = string(text)
		if !f.Modified.IsZero() && f.Modified.Year() > 1980 {
			t.Errorf("part %s is dated %s", f.Name, f.Modified)
		}
	}
	return all
}

func TestAWorkbookHasNoMacrosFormulasOrTraces(t *testing.T) {
	data, err := Bytes(Options{LogID: "0b2f3f8e-6f0e-4d5e-9a43-3f1f6f1f0a11"})
	if err != nil {
		t.Fatal(err)
	}
	foreign := regexp.MustCompile(`(?i)xuri|excelize|vbaProject|externalLink|https?://(?:[^"]*)\.(?:com|io|dev)`)
	formula := regexp.MustCompile(`<f[ >]`)
	for name, text := range partsOf(t, data) {
		plain := strings.NewReplacer("http://schemas.microsoft.com", "", "http://schemas.openxmlformats.org", "", "http://purl.org", "").Replace(text)
		if found := foreign.FindString(plain); found != "" {
			t.Errorf("part %s has %q", name, found)
		}
		if strings.HasPrefix(name, "xl/worksheets/sheet") && formula.MatchString(text) {
			t.Errorf("part %s has a formula", name)
		}
	}
}

func TestPagesAreOneWideWithTheirHeadings(t *testing.T) {
	for _, paper := range []Paper{A4, Letter} {
		data, err := Bytes(Options{Paper: paper})
		if err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		if got, want := f.GetSheetList(), []string{sheetGuide, sheetAbout, "Sessions", "Before you start", "Readings", "Medicines", "Labs", "Events"}; !slices.Equal(got, want) {
			t.Errorf("sheets %q, want %q", got, want)
		}
		titled := 0
		for _, name := range f.GetDefinedName() {
			if name.Name == "_xlnm.Print_Titles" {
				titled++
			}
		}
		if titled != len(new(writer).sheets()) {
			t.Errorf("%d sheets repeat their headings, want %d", titled, len(new(writer).sheets()))
		}
		for _, sheet := range f.GetSheetList() {
			layout, err := f.GetPageLayout(sheet)
			if err != nil {
				t.Fatal(err)
			}
			props, err := f.GetSheetProps(sheet)
			if err != nil {
				t.Fatal(err)
			}
			if *layout.FitToWidth != 1 || *layout.FitToHeight != 0 || *layout.Size != paper.code() || !*props.FitToPage {
				t.Errorf("%s: wide %d, tall %d, paper %d, fitted %v", sheet, *layout.FitToWidth, *layout.FitToHeight, *layout.Size, *props.FitToPage)
			}
		}
		f.Close()
	}
}

// Every choice has its list, every limited number its question, and none of
// them refuses what is typed.
func TestChecksAskAndNeverRefuse(t *testing.T) {
	data, err := Bytes(Options{})
	if err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, d := range new(writer).sheets() {
		checks := map[string]*excelize.DataValidation{}
		all, err := f.GetDataValidations(d.tab)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range all {
			if v.ErrorStyle != nil && *v.ErrorStyle != "warning" && v.ShowErrorMessage {
				t.Errorf("%s %s: the error style is %s", d.tab, v.Sqref, *v.ErrorStyle)
			}
			for _, text := range []*string{v.Error, v.Prompt} {
				if text != nil && len(*text) > 255 {
					t.Errorf("%s %s: a message of %d letters", d.tab, v.Sqref, len(*text))
				}
			}
			checks[v.Sqref] = v
		}
		for i, c := range session.Units("").ColumnsOf(d.sheet) {
			letters := columnName(i + 1)
			v := checks[letters+"3:"+letters+"5000"]
			limit, limited := profiles.LimitOf(string(c.Field))
			switch {
			case c.Kind == session.KindChoice || c.Kind == session.KindUnit:
				if v == nil || v.Type != "list" {
					t.Errorf("%s: no list for %s", d.tab, c.Name)
				}
			case c.Kind == session.KindNumber && limited && limit.Unit == c.Unit:
				if v == nil || !strings.Contains(v.Formula1, "<="+shortestDecimal(limit.HardHigh)) || !strings.Contains(v.Formula1, `"not done"`) {
					t.Errorf("%s: no question for %s: %+v", d.tab, c.Name, v)
				}
			}
		}
	}
}

func TestALongTextIsNotCut(t *testing.T) {
	write := func(text string) error {
		_, err := Bytes(Options{Content: &session.Grid{Tables: []session.GridTable{{Sheet: session.SheetSessions, Headings: []string{"notes"}, Rows: [][]string{{text}}}}}})
		return err
	}
	if err := write(strings.Repeat("ü", maxLetters)); err != nil {
		t.Error(err)
	}
	if err := write(strings.Repeat("a", maxLetters+1)); err == nil {
		t.Error("a text longer than a cell was written")
	}
}

func TestParseLocale(t *testing.T) {
	for _, name := range append(Locales(), "", "EN-us") {
		if _, err := ParseLocale(name); err != nil {
			t.Error(err)
		}
	}
	if _, err := ParseLocale("xx"); err == nil || !strings.Contains(err.Error(), "en-GB") {
		t.Errorf("unknown locale: %v", err)
	}
}
