package columnmap_test

import (
	"os"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/issue"
)

// inGerman reports a finding whose words have no German.
func inGerman(t *testing.T, f issue.Finding) {
	t.Helper()
	for _, text := range []issue.Text{f.Details, f.Mend} {
		if !text.IsZero() && issue.German.Text(text) == text.String() {
			t.Errorf("%s: %q has no German text", f.Rule, text.Key)
		}
	}
}

// Whatever is found in the month of mistakes, in a folder and in a workbook
// with its own words for the parts of a log, can be told in German.
func TestMistakesInGerman(t *testing.T) {
	const folder = "../../../testdata/mistakes"
	log, findings, err := session.ReadFolder(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	findings = append(findings, check.Check(log, nil)...)
	grid, _, err := session.ReadGrid(os.DirFS(folder))
	if err != nil {
		t.Fatal(err)
	}
	grid.About = nil // whose log it is would be found missing too
	data, err := workbook.Bytes(workbook.Options{Content: grid})
	if err != nil {
		t.Fatal(err)
	}
	log, more, err := workbook.Read(data, "log.xlsx", session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	findings = append(append(findings, more...), check.Check(log, nil)...)
	if len(findings) < 40 {
		t.Fatalf("only %d findings", len(findings))
	}
	for _, f := range findings {
		inGerman(t, f)
	}
	for _, name := range sheetNames {
		_, findings := readSheet(t, name)
		for _, f := range findings {
			inGerman(t, f)
		}
	}
}
