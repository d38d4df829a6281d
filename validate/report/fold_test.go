package report_test

import (
	"fmt"
	"strings"
	"testing"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// inDocument is a finding of one kind, or of another where the arguments differ.
func inDocument(file string, line int, value, expected string) issue.Finding {
	f := issue.At("r4-binding")
	f.File, f.Line, f.Column = file, line, 1
	f.Details, f.Value, f.Expected = issue.T("the code is not in the value set it must be from"), value, issue.Literal(expected)
	return f
}

func inCell(sheet string, row, column int, value string) issue.Finding {
	f := issue.At("log-number")
	f.File = "november.xlsx"
	f.Cells = []issue.Cell{{File: "november.xlsx", Sheet: sheet, Row: row, Column: column, Heading: "pulse"}}
	f.Details, f.Value = issue.T("this is not a plain number"), value
	return f
}

// TestKindsAreTold holds that of each kind the first is told, also where the rule
// is the same, and that what differs among the others stands beside their places.
func TestKindsAreTold(t *testing.T) {
	list := []issue.Finding{
		inDocument("a.json", 1, "fnial", "final"), inDocument("a.json", 2, "fnial", "final"), inDocument("a.json", 3, "last", "final"),
		inDocument("a.json", 4, "mael", "male"),
	}
	got := print(t, report.Text, list, report.Options{})
	want := `a.json
  error: line 1, column 1: the code is not in the value set it must be from
    written   fnial
    expected  final
    to mend   use one of the codes of the value set
    rule      r4-binding
    and 2 more of this kind: line 2, column 1; line 3, column 1: last
  error: line 4, column 1: the code is not in the value set it must be from
    written   mael
    expected  male
`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// TestKindsAreToldOnceForAllDocuments holds that a fault that every document of an
// export has is told once, and that none of the documents is left unsaid.
func TestKindsAreToldOnceForAllDocuments(t *testing.T) {
	var list []issue.Finding
	for i := range 12 {
		list = append(list, inDocument(fmt.Sprintf("%02d.json", i), 1, "fnial", "final"))
	}
	list = append(list, inDocument("11.json", 7, "mael", "male"))
	got := print(t, report.Text, list, report.Options{})
	for _, want := range []string{
		"    and 11 more of this kind: 01.json line 1, column 1; 02.json line 1, column 1; ",
		"08.json line 1, column 1; …\n\n11.json\n  error: line 7, column 1: ",
		"    written   mael\n",
		"  and 1 more of kinds told above\n\n10 more documents have findings of the kinds above only: 01.json; 02.json; ",
		"08.json; …\n\nnot all are shown here: --all shows each\n",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in\n%s", want, got)
		}
	}
	all := print(t, report.Text, list, report.Options{All: true})
	if strings.Count(all, "error: line 1, ") != 12 || strings.Contains(all, "more") || strings.Contains(all, "not all") {
		t.Errorf("not every finding is printed:\n%s", all)
	}
}

// TestOneLineIsToldByElement holds that the places in a document that is one line
// are elements, for every line is the same.
func TestOneLineIsToldByElement(t *testing.T) {
	var list []issue.Finding
	for i := range 3 {
		f := inDocument("a.json", 1, "fnial", "final")
		f.Column, f.Expression = 100*i+1, fmt.Sprintf("Bundle.entry[%d].resource.status", i)
		list = append(list, f)
	}
	got := print(t, report.Text, list, report.Options{})
	if want := "and 2 more of this kind: Bundle.entry[1].resource.status; Bundle.entry[2].resource.status\n"; !strings.Contains(got, want) {
		t.Errorf("%q is not in\n%s", want, got)
	}
}

// TestManyKindsStayReadable holds that many values that each would be right in
// another way are not each told in full.
func TestManyKindsStayReadable(t *testing.T) {
	var list []issue.Finding
	for i := range 30 {
		list = append(list, inDocument("a.json", i+1, fmt.Sprint(i), fmt.Sprint("perhaps ", i+1)))
	}
	got := print(t, report.Text, list, report.Options{})
	if strings.Count(got, "error:") != 3 || !strings.Contains(got, "and 27 more of this kind: line 4, column 1: 3, expected perhaps 4; ") {
		t.Errorf("got\n%s", got)
	}
}

// TestLogIsToldBySheet holds that a log is told by sheet and row, that a kind is
// told in each sheet in which it has to be mended, and that the words are those of
// the language however long the list of places.
func TestLogIsToldBySheet(t *testing.T) {
	list := []issue.Finding{inCell("Readings", 3, 2, "lots"), inCell("Sessions", 9, 2, "lots")}
	for row := range 20 {
		list = append(list, inCell("Sessions", row+2, 1, "lots"))
	}
	sheets := []string{"november.xlsx", "About", "Sessions", "Readings"}
	got := print(t, report.Text, report.InSheetOrder(list, sheets), report.Options{Language: issue.German})
	want := []string{
		"november.xlsx Sessions\n  Fehler: A2 (pulse): das ist keine einfache Zahl\n",
		"    und 20 weitere dieser Art: A3; A4; A5; A6; A7; A8; A9; B9; …\n\nnovember.xlsx Readings\n  Fehler: B3 (pulse): ",
		"\n\nhier stehen nicht alle: --all zeigt jede einzeln\n",
	}
	for _, w := range want {
		if !strings.Contains(got, w) {
			t.Errorf("%q is not in\n%s", w, got)
		}
	}
}

// TestFileAmongItsCells holds that what concerns a file of a log as a whole stands
// before its cells, and that findings of every shape can be printed.
func TestFileAmongItsCells(t *testing.T) {
	whole := issue.At("log-empty")
	whole.File, whole.Details = "sessions.csv", issue.T("there are no sessions")
	cell := inCell("", 3, 1, "lots")
	cell.File, cell.Cells[0].File = "sessions.csv", "sessions.csv"
	for _, list := range [][]issue.Finding{{cell, whole}, {whole, cell}, {{}, cell, {File: "sessions.csv"}, {Rule: "nobody's"}}} {
		got := print(t, report.Text, report.InSheetOrder(list, []string{"sessions.csv"}), report.Options{})
		if strings.Count("\n"+got, "\nsessions.csv\n") != 1 || !strings.Contains(got, "A3 (pulse): ") {
			t.Errorf("got\n%s", got)
		}
	}
}

// TestInSheetOrder holds that what is of no sheet, or of one that is not named,
// comes last and in its own order, and that nothing is lost.
func TestInSheetOrder(t *testing.T) {
	list := []issue.Finding{
		inDocument("b.json", 1, "", ""), inCell("Mine", 5, 1, ""), inCell("Readings", 2, 1, ""), inDocument("a.json", 1, "", ""),
		inCell("Mine", 1, 1, ""), inCell("Sessions", 7, 1, ""), inCell("Sessions", 2, 3, ""), inCell("Sessions", 2, 2, ""),
	}
	var got []string
	for _, f := range report.InSheetOrder(list, []string{"Sessions", "Readings"}) {
		at := f.File
		if len(f.Cells) > 0 {
			at = fmt.Sprint(f.Cells[0].Sheet, " ", f.Cells[0].Row, " ", f.Cells[0].Column)
		}
		got = append(got, at)
	}
	const want = "Sessions 2 2, Sessions 2 3, Sessions 7 1, Readings 2 1, b.json, Mine 5 1, a.json, Mine 1 1"
	if text := strings.Join(got, ", "); text != want {
		t.Errorf("got %s, want %s", text, want)
	}
}
