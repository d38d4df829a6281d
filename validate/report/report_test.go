package report_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// findings of a FHIR document and of a log, with texts that try to break out.
func findings() []issue.Finding {
	document := issue.At("unit-not-ucum")
	document.File, document.Line, document.Column = "out/a.json", 12, 5
	document.Expression = "Bundle.entry[1].resource.value.code"
	document.Details, document.Value, document.Expected = issue.T("not a UCUM code"), "mmHg", issue.T("mm[Hg]")
	document.Cells = []issue.Cell{{File: "readings.csv", Row: 7, Column: 4, Heading: "pressure"}}
	second := document
	second.Line, second.Cells = 40, nil
	cell := issue.At("clin-record-unusual")
	cell.Details, cell.Value = issue.T("the weight is unusual"), "=HYPERLINK(\"http://x\")\x1b[2J"
	cell.Cells = []issue.Cell{{File: "sessions.csv", Row: 3, Column: 2, Heading: "weight"}}
	cell.Session = "2026-01-05a"
	cell.File, cell.Line, cell.Column = "november/sessions.csv", 3, 20
	return []issue.Finding{document, second, cell}
}

func print(t *testing.T, format report.Format, list []issue.Finding, opts report.Options) string {
	t.Helper()
	var out bytes.Buffer
	if err := report.Print(&out, format, list, opts); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestText(t *testing.T) {
	got := print(t, report.Text, findings(), report.Options{NotChecked: []string{"profiles"}})
	want := `out/a.json
  error: line 12, column 5: not a UCUM code
    at        Bundle.entry[1].resource.value.code
    written   mmHg
    expected  mm[Hg]
    from      readings.csv D7 (pressure)
    to mend   write the UCUM code in code and the text for people in unit
    rule      unit-not-ucum
    and 1 more of this kind: line 40, column 5

november/sessions.csv
  warning: sessions.csv B3 (weight): the weight is unusual (session 2026-01-05a)
    written   =HYPERLINK("http://x") [2J
    to mend   check the value; nothing, if it is right
    rule      clin-record-unusual

Not checked:
  profiles
`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestTextAll(t *testing.T) {
	got := print(t, report.Text, findings(), report.Options{All: true})
	if strings.Count(got, "error:") != 2 || strings.Contains(got, "more of this kind") {
		t.Errorf("not every finding is printed:\n%s", got)
	}
}

func TestTextColourCarriesNoMeaning(t *testing.T) {
	plain := print(t, report.Text, findings(), report.Options{})
	coloured := print(t, report.Text, findings(), report.Options{Colour: true})
	if plain == coloured {
		t.Fatal("no colour was used")
	}
	for _, code := range []string{"\x1b[31m", "\x1b[33m", "\x1b[0m"} {
		coloured = strings.ReplaceAll(coloured, code, "")
	}
	if plain != coloured {
		t.Errorf("with the colours taken out\n%s\nwithout colour\n%s", coloured, plain)
	}
}

func TestTextWithoutFindings(t *testing.T) {
	if got := print(t, report.Text, nil, report.Options{}); got != "" {
		t.Errorf("got %q", got)
	}
}

func TestCSVIsHarmless(t *testing.T) {
	rows, err := csv.NewReader(strings.NewReader(print(t, report.CSV, findings(), report.Options{}))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 4 || len(rows[0]) != len(rows[1]) {
		t.Fatalf("rows: %q", rows)
	}
	for _, row := range rows {
		for _, field := range row {
			if field != "" && strings.ContainsRune("=+-@\t\r", rune(field[0])) {
				t.Errorf("a spreadsheet takes %q for a formula", field)
			}
		}
	}
	if value := rows[3][9]; !strings.HasPrefix(value, "'=HYPERLINK") {
		t.Errorf("value %q", value)
	}
}

func TestJSON(t *testing.T) {
	var got struct {
		Findings   []issue.Finding
		NotChecked []string
	}
	if err := json.Unmarshal([]byte(print(t, report.JSON, findings(), report.Options{NotChecked: []string{"x"}})), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Findings) != 3 || got.Findings[0].Line != 12 || got.Findings[0].Severity != issue.Error || len(got.NotChecked) != 1 {
		t.Errorf("got %+v", got)
	}
	if empty := print(t, report.JSON, nil, report.Options{}); !strings.Contains(empty, `"findings": []`) {
		t.Errorf("no findings are %s", empty)
	}
}

// TestOutcomeIsValid holds our own OperationOutcome to our own validator, the
// published JSON Schema included.
func TestOutcomeIsValid(t *testing.T) {
	strange := issue.At("json-utf8")
	strange.Details, strange.Value, strange.File = issue.T("\x00"), strings.Repeat("\xff ", 9000), " "
	for name, list := range map[string][]issue.Finding{"none": nil, "some": findings(), "strange": {strange, {Rule: "nobody's"}}} {
		text := print(t, report.Outcome, list, report.Options{NotChecked: []string{"profiles"}})
		for _, f := range validate.New(validate.Options{Schema: true}).Bytes([]byte(text), "outcome.json") {
			t.Errorf("%s: %s %s: %s (%s)", name, f.Rule, f.Expression, f.Details, f.Value)
		}
	}
}

func TestOutcome(t *testing.T) {
	var got struct {
		ResourceType string
		Issue        []struct {
			Severity, Code, Diagnostics string
			Details                     struct {
				Text   string
				Coding []struct{ System, Code string }
			}
			Expression []string
			Extension  []struct {
				URL          string
				ValueInteger int
				ValueString  string
			}
		}
	}
	if err := json.Unmarshal([]byte(print(t, report.Outcome, findings(), report.Options{})), &got); err != nil {
		t.Fatal(err)
	}
	first := got.Issue[0]
	if got.ResourceType != "OperationOutcome" || len(got.Issue) != 3 || first.Severity != "error" || first.Code != "code-invalid" ||
		first.Details.Coding[0].Code != "unit-not-ucum" || first.Details.Coding[0].System != report.RuleSystem ||
		len(first.Expression) != 1 || first.Expression[0] != "Bundle.entry[1].resource.value.code" {
		t.Errorf("got %+v", first)
	}
	const base = "http://hl7.org/fhir/StructureDefinition/operationoutcome-issue-"
	want := map[string]bool{base + "line": first.Extension[0].ValueInteger == 12, base + "col": first.Extension[1].ValueInteger == 5,
		base + "source": strings.Contains(first.Extension[2].ValueString, "readings.csv D7 (pressure)")}
	for _, e := range first.Extension {
		if !want[e.URL] {
			t.Errorf("extension %+v", e)
		}
	}
	if strings.Contains(first.Details.Text, "mmHg") || !strings.Contains(first.Diagnostics, "mmHg") {
		t.Error("the value belongs into diagnostics, not into details")
	}
}
