package workbook

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
)

// What a cell shows and what is sent are compared: digits left out, words of
// the number format, lines through a value, and comments are told.
func TestCellsThatShowSomethingElse(t *testing.T) {
	whole, pounds, kilograms := "0", `0.0 "lb"`, `0.0 "kg"`
	styles := []struct {
		cell  string
		style excelize.Style
		want  string
		read  bool
	}{
		{"I3", excelize.Style{CustomNumFmt: &whole}, "log-cell-rounded november.xlsx Sessions I3 (weight_before_kg)", true},
		{"I3", excelize.Style{CustomNumFmt: &pounds}, "log-number november.xlsx Sessions I3 (weight_before_kg)", false},
		{"I3", excelize.Style{CustomNumFmt: &kilograms}, "", true},
		{"I3", excelize.Style{Font: &excelize.Font{Strike: true}}, "log-cell-struck november.xlsx Sessions I3 (weight_before_kg)", true},
	}
	data := bookOf(t, folder(t, "month"), Options{})
	for _, tt := range styles {
		log, findings := readBook(t, edited(t, data, func(f *excelize.File) error {
			id, err := f.NewStyle(&tt.style)
			return errors.Join(err, f.SetCellValue("Sessions", "I3", 65.9), f.SetCellStyle("Sessions", tt.cell, tt.cell, id))
		}))
		if got := rulesOf(findings); got != tt.want {
			t.Errorf("found %q, want %q", got, tt.want)
		}
		if v := log.Sessions[0].Value("weight_before"); v.OK() != tt.read || v.OK() && v.Decimal.String() != "65.9" {
			t.Errorf("%s: read %s (%v)", tt.want, v.Decimal, v.Absence)
		}
	}
	var needling string
	_, findings := readBook(t, edited(t, data, func(f *excelize.File) error {
		headings, err := f.SearchSheet("Sessions", "Needling, if another")
		if err != nil || len(headings) != 1 {
			return fmt.Errorf("the heading is at %v: %w", headings, err)
		}
		needling = strings.TrimRight(headings[0], "0123456789") + "3"
		return errors.Join(
			f.AddComment("Sessions", excelize.Comment{Cell: "I4", Author: "me", Text: "new scales"}),
			f.SetCellRichText("Sessions", needling, []excelize.RichTextRun{{Text: "cramp", Font: &excelize.Font{Strike: true}}, {Text: " none"}}))
	}))
	if got, want := rulesOf(findings), "log-cell-struck november.xlsx Sessions "+needling+" (needling); log-cell-comment november.xlsx Sessions I4 (weight_before_kg)"; got != want {
		t.Errorf("found %q, want %q", got, want)
	}
}

// A row of units below the headings is no data, and its units are those of the
// columns.
func TestRowOfUnits(t *testing.T) {
	data := edited(t, bookOf(t, folder(t, "month"), Options{}), func(f *excelize.File) error {
		return errors.Join(f.InsertRows("Sessions", firstRow, 1), f.SetCellStr("Sessions", "I3", "lb"), f.SetCellStr("Sessions", "J3", "mmHg"))
	})
	log, findings := readBook(t, data)
	if got, want := rulesOf(findings), "log-heading-unit november.xlsx Sessions I1 (lb)"; got != want {
		t.Errorf("found %q, want %q", got, want)
	}
	if v := log.Sessions[0].Value("weight_before"); v.Unit != "[lb_av]" || !v.OK() || len(log.Sessions) != 21 {
		t.Errorf("the weight is read in %s, of %d sessions", v.Unit, len(log.Sessions))
	}
}

// A workbook in US units is read back in them, without a word.
func TestWorkbookInUSUnits(t *testing.T) {
	inUS, err := Bytes(Options{LogID: "0b2f3f8e-4a1d-4a55-9d6a-6f4c0f9e7a11", Clinic: session.Clinic{Units: session.USUnits}})
	if err != nil {
		t.Fatal(err)
	}
	data := edited(t, inUS, func(f *excelize.File) error {
		return errors.Join(f.SetCellStr("Sessions", "A3", "a"), f.SetCellStr("Sessions", "B3", "2025-11-03"), f.SetCellStr("Sessions", "F3", "not done"),
			f.SetCellValue("Sessions", "I3", 158.5), f.SetCellValue("Sessions", "O3", 97.9))
	})
	log, findings := readBook(t, data)
	for _, f := range findings {
		if f.Rule == "log-heading-unit" || f.Rule == "log-heading-changed" || f.Rule == "map-converted" {
			t.Errorf("%s %s", f.Rule, f.Cells[0])
		}
	}
	one := log.Sessions[0]
	if w, temp := one.Value("weight_before"), one.Value("temperature_before"); w.Unit != "[lb_av]" || temp.Unit != "[degF]" || !w.OK() || !temp.OK() {
		t.Errorf("read %s %s and %s %s", w.Decimal, w.Unit, temp.Decimal, temp.Unit)
	}
}
