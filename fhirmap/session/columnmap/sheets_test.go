package columnmap_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/fhirmap/session/columnmap"
	"runsheet.example/validate/issue"
)

var (
	update = flag.Bool("update", false, "rewrite the golden files")
	remake = flag.Bool("make", false, "make the sheets again")
)

// The sheets under testdata/sheets, each of another shape.
var sheetNames = []string{"unit/november.xlsx", "german/protokoll.csv", "wide/readings.csv", "forms/seances.xlsx", "american/log.csv", "rows/nights.csv"}

// readSheet reads one of the sheets with the map beside it.
func readSheet(t *testing.T, name string) (*session.Log, []issue.Finding) {
	t.Helper()
	full := filepath.Join(sheetsDir, name)
	m, err := columnmap.Load(filepath.Join(filepath.Dir(full), "map.toml"))
	if err != nil {
		t.Fatal(err)
	}
	var about *columnmap.About
	if text, err := os.ReadFile(filepath.Join(filepath.Dir(full), "log.toml")); err == nil {
		about = &columnmap.About{Name: "log.toml", Text: text}
	}
	log, findings, err := columnmap.Read(full, m, about, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return log, append(findings, check.Check(log, nil)...)
}

// Each sheet gives the sessions of its golden file: every value as written,
// with its unit, exact number and cell, and every finding. A file was read by
// hand against its sheet when it was made.
func TestSheets(t *testing.T) {
	if *remake {
		makeSheets(t)
	}
	for _, name := range sheetNames {
		t.Run(name, func(t *testing.T) {
			log, findings := readSheet(t, name)
			got := describe(log, findings)
			golden := filepath.Join(sheetsDir, filepath.Dir(name), "golden.txt")
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), got); diff != "" {
				t.Error(diff)
			}
			for _, f := range findings {
				if f.Severity != issue.Information && f.Rule != "log-encoding" && f.Rule != "log-sheet-unknown" {
					t.Errorf("an honest sheet has the finding %s %s: %s", f.Rule, f.Cells[0], f.Details)
				}
			}
			for _, s := range log.Sessions {
				if s.Broken {
					t.Errorf("session %s is held back", s.ID)
				}
			}
		})
	}
}

// describe writes a log and its findings line by line.
func describe(log *session.Log, findings []issue.Finding) string {
	var out strings.Builder
	for _, s := range log.Sessions {
		fmt.Fprintf(&out, "%s %s %s to %s\n", s.ID, s.Status, s.Start.Time.Format("2006-01-02T15:04Z07:00"), s.End.Time.Format("15:04"))
		describeValues(&out, "  ", session.SheetSessions, s.Values)
		for _, c := range session.Columns {
			if text, ok := s.Texts[c.Field]; ok && c.Sheet == session.SheetSessions && text.OK() {
				fmt.Fprintf(&out, "  %s %q at %s\n", c.Field, text.Text, text.Cell)
			}
		}
		for _, r := range s.Readings {
			fmt.Fprintf(&out, "  reading %s (%s at %s)\n", r.At.Time.Format("15:04"), r.At.Text, r.At.Cell)
			describeValues(&out, "    ", session.SheetReadings, r.Values)
		}
		for _, l := range s.Labs {
			fmt.Fprintf(&out, "  %s %s %s %s at %s, drawn %s\n", l.When.Text, l.Test.Text, l.Value.Decimal, l.Value.Unit, l.Value.Cell, l.Drawn.Time.Format("15:04"))
		}
	}
	for _, f := range findings {
		fmt.Fprintf(&out, "%s %s %s: %s [%s] -> %s\n", f.Severity, f.Rule, f.Cells[0], f.Details, f.Value, f.Expected)
	}
	return out.String()
}

func describeValues(out *strings.Builder, indent string, sheet session.Sheet, values map[session.Field]session.Value) {
	for _, c := range session.Columns {
		v, ok := values[c.Field]
		if !ok || c.Sheet != sheet || !c.Holds(v.Unit) || v.Absence == session.NotRecorded {
			continue
		}
		fmt.Fprintf(out, "%s%s %s %s (%s", indent, c.Field, v.Decimal, v.Unit, v.Text)
		if !v.OK() {
			fmt.Fprintf(out, ", absent %d", v.Absence)
		}
		fmt.Fprintf(out, ") at %s\n", v.Cell)
	}
}
