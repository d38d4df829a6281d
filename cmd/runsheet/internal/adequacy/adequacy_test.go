package adequacy

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func tableOf(t testing.TB, folder string) Table {
	t.Helper()
	log, _, err := session.ReadFolder(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return Of(log)
}

func textOf(t testing.TB, table Table, opts Options) string {
	t.Helper()
	var out bytes.Buffer
	if err := table.Text(&out, opts); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

const (
	month = "../../../../testdata/month"
	small = "../../../../fhirmap/testdata/small"
)

// The text as a person reads it, for review.
func TestTextGolden(t *testing.T) {
	for name, c := range map[string]struct {
		folder string
		opts   Options
	}{
		"month": {month, Options{}}, "month-all": {month, Options{All: true, Figures: true}}, "small": {small, Options{All: true}},
	} {
		got := textOf(t, tableOf(t, c.folder), c.opts)
		golden := "testdata/" + name + ".txt"
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
			t.Errorf("%s (-want +got):\n%s", golden, diff)
		}
	}
}

// Two screens of 40 lines hold dose, fluid and attendance of a month.
func TestMonthFitsTwoScreens(t *testing.T) {
	if n := strings.Count(textOf(t, tableOf(t, month), Options{}), "\n"); n > 80 {
		t.Errorf("%d lines", n)
	}
}

// A table must fit a window and a page.
func TestTextIsNarrow(t *testing.T) {
	for _, opts := range []Options{{}, {All: true, Figures: true}} {
		for _, line := range strings.Split(textOf(t, tableOf(t, month), opts), "\n") {
			if n := utf8.RuneCountInString(line); n > 118 {
				t.Errorf("%d columns: %s", n, line)
			}
		}
	}
}

// A log in German is told in German that the tables are English.
func TestTextSaysThatItIsEnglish(t *testing.T) {
	table := tableOf(t, month)
	english := textOf(t, table, Options{})
	table.Log.About.Language = "de"
	german := textOf(t, table, Options{})
	table.Log.About.Language = "" // other tests read the same log
	first, rest, _ := strings.Cut(german, "\n\n")
	if !strings.Contains(first, "nur auf Englisch") || rest != english {
		t.Errorf("it begins %q", first)
	}
}

// Without the option no output names a guideline, and nothing is called advice.
func TestNoFigureUnasked(t *testing.T) {
	guideline := regexp.MustCompile(`KDOQI (CP|2006|2015)|UK 2019|hazard|"figures"`)
	table := tableOf(t, month)
	for _, opts := range []Options{{}, {All: true}} {
		if found := guideline.FindString(textOf(t, table, opts)); found != "" {
			t.Errorf("%q without being asked", found)
		}
	}
	var out bytes.Buffer
	if err := table.JSON(&out, Options{}); err != nil {
		t.Fatal(err)
	}
	if found := guideline.FindString(out.String()); found != "" {
		t.Errorf("JSON: %q without being asked", found)
	}
	asked := textOf(t, table, Options{Figures: true})
	if !strings.Contains(asked, "Casino") || strings.Contains(asked, "treated time, minimum") || strings.Contains(asked, "advice") {
		t.Errorf("five short sessions a week have the wrong figures:\n%s", asked)
	}
}

// No output judges.
func TestNoVerdict(t *testing.T) {
	verdict := regexp.MustCompile(`(?i)\b(in)?adequate|\b(sufficient|insufficient|satisfactory|on target|good|poor|bad)\b`)
	for _, folder := range []string{month, small} {
		table := tableOf(t, folder)
		var out bytes.Buffer
		for _, print := range []func() error{func() error { return table.Text(&out, Options{All: true, Figures: true, Explain: true}) }, func() error { return table.JSON(&out, Options{Figures: true}) }, func() error { return table.CSV(&out) }} {
			if err := print(); err != nil {
				t.Fatal(err)
			}
		}
		if found := verdict.FindString(out.String()); found != "" {
			t.Errorf("%s: the output judges: %q", folder, found)
		}
	}
}

// Every row says how, from what and by whom, and a row without value says why.
func TestRowsAreComplete(t *testing.T) {
	for _, folder := range []string{month, small} {
		for _, r := range tableOf(t, folder).Rows() {
			if r.Method == "" || r.Source == "" || r.Explain == "" || r.Quantity == "" || r.Scope != "log" && r.Date == "" {
				t.Errorf("incomplete: %+v", r)
			}
			if (r.Value == "" || r.Value == "not assessable") != (r.WhyNot != "") {
				t.Errorf("value %q with reason %q: %s %s", r.Value, r.WhyNot, r.Date, r.Key)
			}
			if strings.Contains(r.Value+r.Explain, "NaN") || strings.Contains(r.Value, "Inf") {
				t.Errorf("no number: %+v", r)
			}
		}
	}
}

// Text, JSON and CSV hold the same rows.
func TestFormatsAgree(t *testing.T) {
	table := tableOf(t, month)
	var out bytes.Buffer
	if err := table.JSON(&out, Options{Figures: true}); err != nil {
		t.Fatal(err)
	}
	var document struct {
		Caution string
		Values  []Row
		Figures []FiguresForRow
	}
	if err := json.Unmarshal(out.Bytes(), &document); err != nil {
		t.Fatal(err)
	}
	out.Reset()
	if err := table.CSV(&out); err != nil {
		t.Fatal(err)
	}
	records, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := table.Rows()
	if diff := cmp.Diff(rows, document.Values); diff != "" {
		t.Errorf("JSON (-rows +read):\n%s", diff)
	}
	if len(records) != len(rows)+1 || len(document.Figures) == 0 || !strings.Contains(document.Caution, "not for changing treatment") {
		t.Errorf("%d CSV records for %d rows, %d schedules with figures", len(records), len(rows), len(document.Figures))
	}
	for i, r := range rows {
		if records[i+1][6] != r.Value {
			t.Errorf("row %d: CSV has %q, want %q", i, records[i+1][6], r.Value)
		}
	}
}

// The model's sensitivity hangs on its main value, with the spread a reader can
// see.
func TestSensitivityIsInTheRows(t *testing.T) {
	found := 0
	for _, r := range tableOf(t, month).Rows() {
		if len(r.Sensitivity) == 0 {
			continue
		}
		found++
		if r.Key != "std_kt_v_weekly" || !strings.HasPrefix(r.Model, "two pools") {
			t.Errorf("sensitivity on %s, %s", r.Key, r.Model)
		}
	}
	if found != 4 {
		t.Errorf("%d weeks with sensitivity, want 4", found)
	}
}

func TestWrappedLinesKeepEveryWord(t *testing.T) {
	text := strings.Repeat("eleven chars ", 40)
	var out bytes.Buffer
	printWrapped(&out, "  ", text)
	if got := strings.Join(strings.Fields(out.String()), " "); got != strings.TrimSpace(text) {
		t.Errorf("words were lost: %q", got)
	}
	for _, line := range strings.Split(out.String(), "\n") {
		if utf8.RuneCountInString(line) > pageWidth {
			t.Errorf("too long: %q", line)
		}
	}
}

func BenchmarkMonth(b *testing.B) {
	log, _, err := session.ReadFolder(month, session.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ResetTimer()
	for b.Loop() {
		Of(log).Rows()
	}
}

// What was prescribed stands beside what was delivered, with both cells.
func TestRowsHoldThePrescription(t *testing.T) {
	want := map[string]string{"treated_time_less_prescribed": "2 min", "dialysate_less_prescribed": "0.1 L", "uf_rate_less_limit": "-0.9 mL/kg/h"}
	table := tableOf(t, month)
	for _, r := range table.sessionRows(0) {
		text, ok := want[r.Key]
		if !ok {
			continue
		}
		delete(want, r.Key)
		if got := r.Value + " " + r.Unit; got != text {
			t.Errorf("%s: %s, want %s", r.Key, got, text)
		}
		if given, planned := r.Inputs[0].Cells, r.Inputs[1].Cells; given[0].File != "sessions.csv" || planned[0].File != "log.toml" {
			t.Errorf("%s: cells %v and %v", r.Key, given, planned)
		}
	}
	if len(want) > 0 {
		t.Errorf("no rows %v", want)
	}
}

func TestMinusZeroIsZero(t *testing.T) {
	if got := fixed(-0.004, 2); got != "0.00" {
		t.Errorf("minus zero is written %q", got)
	}
}

// Definitions of hypotension that were derived in adults do not assess a child:
// each says so, in every form, and so does the pattern over all sessions.
func TestChildIsNotAssessedByDefinitionsForAdults(t *testing.T) {
	for birth, child := range map[string]bool{"2017-02-01": true, "1970-02-01": false} {
		folder := filepath.Join(t.TempDir(), "log")
		if err := os.CopyFS(folder, os.DirFS(month)); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(folder, "log.toml")
		about, err := os.ReadFile(path)
		if err == nil {
			err = os.WriteFile(path, regexp.MustCompile(`birth_date = "[^"]*"`).ReplaceAll(about, []byte(`birth_date = "`+birth+`"`)), 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
		log, _, err := session.ReadFolder(folder, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		table, said := Of(log), 0
		for _, row := range table.Rows() {
			if row.Key == "intradialytic_hypotension" && (row.WhyNot == calc.ForAdults) != child {
				t.Errorf("born %s: %s is %q, %s", birth, row.Quantity, row.Value, row.WhyNot)
			}
			if row.WhyNot == calc.ForAdults {
				said++
			}
		}
		if child != (said == 60) {
			t.Errorf("born %s: said %d times", birth, said)
		}
		if text := strings.Join(strings.Fields(textOf(t, table, Options{All: true})), " "); strings.Contains(text, calc.ForAdults) != child || strings.Contains(text, "in 30 % of sessions or more: not assessable, no session could be assessed") != child {
			t.Errorf("born %s:\n%s", birth, text)
		}
	}
}
