package cli

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/validate/issue"
)

var (
	ruleID   = regexp.MustCompile("`([a-z0-9-]+)`")
	cellName = regexp.MustCompile(`\b[A-Z]{1,2}[0-9]+\b|row [0-9]+`)
)

// The page that lists the mistakes of the demonstration log says what check
// finds: each rule it names at one of the cells it names, and no rule more.
func TestMistakesPageIsTrue(t *testing.T) {
	const dir = "../../../../testdata/mistakes"
	_, findings, err := export.Input{Path: dir}.Read()
	if err != nil {
		t.Fatal(err)
	}
	page, err := os.ReadFile(dir + "/MISTAKES.md")
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{}
	for line := range strings.Lines(string(page)) {
		columns := strings.Split(line, "|")
		if len(columns) < 6 || !strings.Contains(columns[1], ".csv") {
			continue
		}
		file := strings.Fields(columns[1])[0]
		places := cellName.FindAllString(columns[1], -1)
		for _, m := range ruleID.FindAllStringSubmatch(columns[4], -1) {
			named[m[1]] = true
			if !slices.ContainsFunc(findings, func(f issue.Finding) bool { return f.Rule == m[1] && at(f, file, places) }) {
				t.Errorf("%s: no %s there", strings.TrimSpace(columns[1]), m[1])
			}
		}
	}
	if len(named) < 12 {
		t.Errorf("the page names %d rules", len(named))
	}
	for _, f := range findings {
		if f.Severity != issue.Information && !named[f.Rule] {
			t.Errorf("%s at %v is not on the page", f.Rule, f.Cells)
		}
	}
}

// at reports whether a finding is about one of the places of a file.
func at(f issue.Finding, file string, places []string) bool {
	return slices.ContainsFunc(f.Cells, func(c issue.Cell) bool {
		name := issue.Cell{Row: c.Row, Column: c.Column}.String()
		row := issue.Cell{Row: c.Row}.String()
		return c.File == file && (slices.Contains(places, strings.TrimSpace(name)) || slices.Contains(places, strings.TrimSpace(row)))
	})
}
