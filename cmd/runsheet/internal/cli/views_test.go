package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The views of the package, in an evaluator that is not ours, give the rows
// that adequacy prints of the same records, each session once, and each value
// that was written down. RUNSHEET_VIEWS_ENGINE names another evaluator.
func TestViewsGiveWhatAdequacyPrints(t *testing.T) {
	dir := t.TempDir()
	records, lines, outcome := filepath.Join(dir, "records"), filepath.Join(dir, "lines"), filepath.Join(dir, "lines", "OperationOutcome.ndjson")
	command(t, exitDone, "export", monthLog, "-o", records)
	command(t, exitDone, "export", monthLog, "-o", lines, "--as", "ndjson", "--patient", "Patient/1")
	found, _ := command(t, exitDone, "validate", records, "--format", "outcome")
	var one bytes.Buffer
	if err := json.Compact(&one, []byte(found)); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(outcome, one.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	engine := strings.Fields(os.Getenv("RUNSHEET_VIEWS_ENGINE"))
	if len(engine) == 0 {
		engine = []string{"node", "../../../../testdata/oracle/views.mjs"}
	}
	text, err := exec.Command(engine[0], append(engine[1:], "../../../../profiles/package/views", lines)...).Output()
	if err != nil {
		t.Fatal(err)
	}
	var rows map[string][]map[string]any
	if err := json.Unmarshal(text, &rows); err != nil {
		t.Fatal(err)
	}
	cell := func(row map[string]any, names ...string) string {
		for _, name := range names {
			switch v := row[name].(type) {
			case string:
				return v
			case float64:
				return strconv.FormatFloat(v, 'g', -1, 64)
			}
		}
		return ""
	}
	var got, want []string
	for _, row := range rows["runsheet-computed-view"] {
		got = append(got, strings.Join([]string{cell(row, "at", "started"), cell(row, "method"), cell(row, "value"), cell(row, "unit"), cell(row, "why_not")}, "|"))
	}
	table, _ := command(t, exitDone, "adequacy", records, "--format", "csv")
	printed, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range printed[1:] {
		value := row[3]
		if number, err := strconv.ParseFloat(value, 64); err == nil {
			value = strconv.FormatFloat(number, 'g', -1, 64)
		}
		want = append(want, strings.Join([]string{row[1], row[5], value, row[4], row[6]}, "|"))
	}
	slices.Sort(got)
	slices.Sort(want)
	if diff := cmp.Diff(want, got); diff != "" || len(got) < 200 {
		t.Errorf("%d computed values: %s", len(got), diff)
	}
	sessions := map[string]string{}
	for _, row := range rows["runsheet-sessions-view"] {
		sessions[cell(row, "session")] = cell(row, "status")
	}
	if len(sessions) != 21 || len(rows["runsheet-sessions-view"]) != 21 {
		t.Errorf("%d sessions", len(sessions))
	}
	values, systolic := 0, 0
	for _, row := range rows["runsheet-measurements-view"] {
		if s := cell(row, "session"); s != "" && sessions[s] == "" {
			t.Errorf("a value of no session: %v", row)
		}
		if cell(row, "value", "text", "concept", "absent") != "" {
			values++
		}
		if cell(row, "code") == "8480-6" && cell(row, "value", "absent") != "" {
			systolic++
		}
	}
	observations, err := os.ReadFile(filepath.Join(lines, "Observation.ndjson"))
	if pressures := strings.Count(string(observations), `"code":"8480-6"`); err != nil || systolic != pressures || values < 2000 {
		t.Errorf("%d values, %d of %d systolic pressures", values, systolic, pressures)
	}
	if findings := rows["runsheet-findings-view"]; len(findings) != strings.Count(found, `"severity"`) || len(findings) == 0 || cell(findings[0], "rule") == "" || cell(findings[0], "place") == "" {
		t.Errorf("findings %v", findings)
	}
}
