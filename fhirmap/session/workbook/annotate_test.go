package workbook

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// annotated is a copy of a workbook with findings, opened again.
func annotated(t *testing.T, data []byte, findings []issue.Finding) ([]byte, *excelize.File) {
	t.Helper()
	out, err := Annotate(data, findings, issue.English)
	if err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return out, f
}

func commentsOf(t *testing.T, f *excelize.File, sheet string) map[string]string {
	t.Helper()
	a := annotator{writer: writer{file: f}}
	texts := a.existing(sheet)
	if a.err != nil {
		t.Fatal(a.err)
	}
	return texts
}

func TestEachFindingIsAtItsCellAndInTheList(t *testing.T) {
	data := bookOf(t, folder(t, "mistakes"), Options{})
	before := bytes.Clone(data)
	_, findings := readBook(t, data)
	copied, f := annotated(t, data, findings)
	if !bytes.Equal(before, data) {
		t.Error("the original was changed")
	}
	if f.GetSheetList()[0] != sheetFindings {
		t.Errorf("the list is not the first sheet: %q", f.GetSheetList())
	}
	comments := map[string]map[string]string{}
	for i, found := range findings {
		row := summaryHead + 1 + i
		if rule, _ := f.GetCellValue(sheetFindings, cellName(len(summaryColumns), row)); rule != found.Rule {
			t.Errorf("row %d of the list is about %q, want %q", row, rule, found.Rule)
		}
		p, ok := placeOf(found)
		if !ok {
			continue
		}
		if comments[p.sheet] == nil {
			comments[p.sheet] = commentsOf(t, f, p.sheet)
		}
		if text := comments[p.sheet][cellName(p.column, p.row)]; !strings.Contains(text, found.Details.String()) {
			t.Errorf("%s %s: the comment is %q, want %q in it", p.sheet, cellName(p.column, p.row), text, found.Details)
		}
		if linked, target, _ := f.GetCellHyperLink(sheetFindings, cellName(2, row)); !linked || !strings.HasSuffix(target, "!"+cellName(p.column, p.row)) {
			t.Errorf("row %d of the list leads to %q", row, target)
		}
	}
	want, _ := readBook(t, data)
	got, again := readBook(t, copied)
	if d := diff(written(t, want), written(t, got)); d != "" {
		t.Errorf("the copy says something else: %s", d)
	}
	if d := diff(said(findings), said(again)); d != "" {
		t.Errorf("the copy has other findings: %s", d)
	}
	_, second := annotated(t, copied, again)
	if n := strings.Count(strings.Join(second.GetSheetList(), "\n"), sheetFindings); n != 1 {
		t.Errorf("a copy of the copy has %d lists", n)
	}
	for _, name := range append(f.GetDefinedName(), second.GetDefinedName()...) {
		if name.Name == "_xlnm.Print_Titles" && !strings.HasPrefix(name.RefersTo, "'"+name.Scope+"'!") {
			t.Errorf("the repeated headings %s are now those of %s", name.RefersTo, name.Scope)
		}
	}
}

// What a log holds never becomes a formula in what is written about it.
func TestTextsStayTexts(t *testing.T) {
	evil := []string{"=1+1", "=HYPERLINK(\"http://x.example\")", "+1", "-1+1", "@SUM(A1)", "\t=1", "=cmd|' /C calc'!A0"}
	grid := &session.Grid{Tables: []session.GridTable{{Sheet: session.SheetSessions, Headings: []string{"session", "date", "start", "end", "status", "weight_before_kg", "notes"}}}}
	for _, text := range evil {
		grid.Tables[0].Rows = append(grid.Tables[0].Rows, []string{text, text, text, text, text, text, text})
	}
	data, err := Bytes(Options{Content: grid})
	if err != nil {
		t.Fatal(err)
	}
	_, findings := readBook(t, data)
	if len(findings) < len(evil) {
		t.Fatalf("only %d findings", len(findings))
	}
	copied, _ := annotated(t, data, findings)
	for _, book := range [][]byte{data, copied} {
		for name, text := range partsOf(t, book) {
			if strings.HasPrefix(name, "xl/worksheets/sheet") && (strings.Contains(text, "<f>") || strings.Contains(text, "<f ")) {
				t.Errorf("part %s has a formula", name)
			}
		}
	}
}

func TestCommentsOfThePersonAreKept(t *testing.T) {
	data := edited(t, bookOf(t, folder(t, "mistakes"), Options{}), func(f *excelize.File) error {
		return f.AddComment("Sessions", excelize.Comment{Cell: "I5", Author: "me", Text: "new battery in the scales"})
	})
	_, findings := readBook(t, data)
	at := issue.At("log-number")
	at.Details, at.Cells = issue.T("this is not a plain number"), []issue.Cell{{File: "november.xlsx", Sheet: "Sessions", Row: 5, Column: 9}}
	_, f := annotated(t, data, append(findings, at))
	text := commentsOf(t, f, "Sessions")["I5"]
	if !strings.Contains(text, "new battery") || !strings.Contains(text, at.Details.String()) {
		t.Errorf("the comment is %q", text)
	}
}

func TestAWorkbookWithMacrosIsNotCopied(t *testing.T) {
	data := smallBook(oneRow).with("xl/vbaProject.bin", "x").zip(t)
	_, err := Annotate(data, nil, issue.English)
	if !errors.Is(err, ErrMacros) {
		t.Errorf("error %v, want ErrMacros", err)
	}
}

// An answered finding is shown as answered, and its cell is not coloured.
func TestAnsweredFindingsAskForNothing(t *testing.T) {
	f := issue.At("clin-unusual")
	f.Cells = []issue.Cell{{File: "a.xlsx", Sheet: "Sessions", Row: 3, Column: 2}}
	if got := kindOf(f); got != "To look at" {
		t.Errorf("without an answer: %s", got)
	}
	f.Accepted = &issue.Acceptance{Reason: "a long walk", Answered: "2025-11-03"}
	if got := new(annotator).remark(f); kindOf(f) != "Answered" || !strings.Contains(got, "Your answer: on 3 November 2025: a long walk") {
		t.Errorf("answered: %s: %s", kindOf(f), got)
	}
}
