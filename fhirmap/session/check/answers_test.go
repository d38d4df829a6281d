package check

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// month is a made-up month with a warning at weight_after_kg of 2025-11-09a and
// with notes.
func monthWith(t *testing.T, answers string) (*session.Log, []issue.Finding) {
	t.Helper()
	folder := folderOf(t, "../../../testdata/month")
	if answers != "" {
		folder["answers.csv"] = &fstest.MapFile{Data: []byte(answers)}
	}
	log, found, err := session.ReadFS(folder, session.Options{Today: time.Date(2025, 11, 20, 0, 0, 0, 0, time.UTC)})
	if err != nil {
		t.Fatal(err)
	}
	return log, Check(log, found)
}

func folderOf(t *testing.T, path string) fstest.MapFS {
	t.Helper()
	folder := fstest.MapFS{}
	entries, err := os.ReadDir(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		data, err := os.ReadFile(path + "/" + e.Name())
		if err != nil {
			t.Fatal(err)
		}
		folder[e.Name()] = &fstest.MapFile{Data: data}
	}
	return folder
}

const answerHeadings = "rule,session,sheet,column,value,answered_on,reason\n"

func TestAnswersCountForTheirFindingAlone(t *testing.T) {
	_, without := monthWith(t, "")
	_, warnings, _ := issue.Count(without)
	for name, test := range map[string]struct {
		answers string
		fewer   int // warnings that count
		shown   string
		void    []string
	}{
		"the finding":   {"clin-uf-weights,2025-11-09a,sessions,weight_after_kg,71.3,2025-11-10,two more cups\n", 1, "on 10 November 2025: two more cups", nil},
		"without a day": {"clin-uf-weights,2025-11-09a,Sessions,weight_after_kg,71.3,,r\n", 1, "r", nil},
		"other value":   {"clin-uf-weights,2025-11-09a,sessions,weight_after_kg,71.2,2025-11-10,r\n", 0, "", []string{"information this answer is to the value “71.2”, but the finding is now about “71.3”, so it counts again"}},
		"other session": {"clin-uf-weights,2025-11-08a,sessions,weight_after_kg,71.3,2025-11-10,r\n", 0, "", []string{"information no finding matches this answer any more"}},
		"other rule":    {"clin-unusual,2025-11-09a,sessions,weight_after_kg,71.3,2025-11-10,r\n", 0, "", []string{"information no finding matches this answer any more"}},
		"other column":  {"clin-uf-weights,2025-11-09a,sessions,weight_before_kg,71.3,2025-11-10,r\n", 0, "", []string{"information no finding matches this answer any more"}},
		"given twice": {strings.Repeat("clin-uf-weights,2025-11-09a,sessions,weight_after_kg,71.3,2025-11-10,r\n", 2), 1, "on 10 November 2025: r",
			[]string{"information no finding matches this answer any more"}},
		"empty row":        {",,,,,,\n", 0, "", nil},
		"title":            {"Clin-UF-weights,2025-11-09a,Sessions.csv,Weight after (kg),71.3,,r\n", 1, "r", nil},
		"as shown":         {"clin-uf-weights,2025-11-09a,sessions,weight_after_kg,\"71,30\",,r\n", 1, "r", nil},
		"without a reason": {"clin-uf-weights,2025-11-09a,sessions,weight_after_kg,71.3,2025-11-10,\n", 0, "on 10 November 2025: ", []string{"warning this answer has no reason"}},
		"misspelt rule":    {"clin-uf-wieghts,2025-11-09a,sessions,weight_after_kg,71.3,,r\n", -1, "", []string{"warning there is no rule of this name clin-uf-weights"}},
	} {
		log, findings := monthWith(t, answerHeadings+test.answers)
		if _, now, _ := issue.Count(findings); now != warnings-test.fewer {
			t.Errorf("%s: %d warnings count, without answers %d", name, now, warnings)
		}
		var shown string
		var void []string
		for _, f := range findings {
			if f.Accepted != nil {
				shown = f.Accepted.String()
			}
			if strings.HasPrefix(f.Rule, "log-answer-") {
				void = append(void, strings.TrimSpace(f.Severity.String()+" "+f.Details.String()+" "+f.Expected.String()))
			}
		}
		if shown != test.shown || !slices.Equal(void, test.void) {
			t.Errorf("%s: shown %q, void %q", name, shown, void)
		}
		if len(findings) < len(without) {
			t.Errorf("%s: a finding is gone", name)
		}
		for _, s := range log.Sessions {
			if s.Broken {
				t.Errorf("%s: %s is held back", name, s.ID)
			}
		}
	}
}

// What a page writes down for a finding is what answers it, for each finding of
// the logs at hand that can be answered; mistakes cannot.
func TestEveryAnswerableFindingIsAnsweredByItsKey(t *testing.T) {
	log, findings := monthWith(t, "")
	rows, n := answerHeadings, 0
	for _, f := range findings {
		key, ok := log.AnswerKey(f)
		if f.Severity == issue.Error && ok {
			t.Errorf("a mistake can be answered: %s", f.Rule)
		}
		if !ok {
			continue
		}
		n++
		cells := key.Texts("2025-11-20", "r")
		var row []string
		for _, heading := range strings.Split(strings.TrimSpace(answerHeadings), ",") {
			row = append(row, `"`+strings.ReplaceAll(cells[heading], `"`, `""`)+`"`)
		}
		rows += strings.Join(row, ",") + "\n"
	}
	_, answered := monthWith(t, rows)
	for _, f := range answered {
		if f.Accepted != nil {
			n--
		}
		if f.Rule == "log-answer-void" {
			t.Errorf("void: %v %s %s", f.Cells, f.Value, f.Details)
		}
	}
	if n != 0 || len(answered) != len(findings) {
		t.Errorf("%d findings were not answered; %d findings, before %d", n, len(answered), len(findings))
	}
}

// An answer to a mistake does not count, and a file of answers that cannot be
// read holds nothing back.
func TestMistakesCannotBeAnswered(t *testing.T) {
	folder := folderOf(t, "../../../testdata/month")
	s := open(t, folder, "sessions.csv")
	*s.cell(t, s.heldRow(t, 3), "weight_before_kg") = "7111"
	s.save(folder, "sessions.csv")
	check := func(answers string) (*session.Log, []issue.Finding) {
		folder["answers.csv"] = &fstest.MapFile{Data: []byte(answers)}
		log, found, err := session.ReadFS(folder, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return log, Check(log, found)
	}
	log, findings := check("no headings\n")
	held := 0
	for _, s := range log.Sessions {
		if s.Broken {
			held++
		}
	}
	if held != 1 {
		t.Errorf("%d sessions are held back", held)
	}
	at := slices.IndexFunc(findings, func(f issue.Finding) bool { return f.Severity == issue.Error && f.Value == "7111" })
	if at < 0 {
		t.Fatal("no mistake")
	}
	f := findings[at]
	_, findings = check(answerHeadings + strings.Join([]string{f.Rule, f.Session, "sessions", "weight_before_kg", "7111", "2025-11-20", "r"}, ",") + "\n")
	at = slices.IndexFunc(findings, func(f issue.Finding) bool { return f.Rule == "log-answer-void" })
	if at < 0 || findings[at].Severity != issue.Warning || findings[at].Details.String() != "a mistake cannot be answered, only mended" {
		t.Errorf("found %v", findings)
	}
	if !slices.ContainsFunc(findings, func(f issue.Finding) bool { return f.Severity == issue.Error && f.Value == "7111" && f.Accepted == nil }) {
		t.Error("the mistake is answered")
	}
}

// An answer about a computed value ends when the value or the cell of the
// finding changes, whichever of the two it gives; the cell alone is no answer,
// since other cells change the value. An answer that ended is reported.
func TestAnswersToComputedValuesEndWithThem(t *testing.T) {
	folder := folderOf(t, "../../../testdata/month")
	about := folder["log.toml"]
	about.Data = regexp.MustCompile(`uf_limit_ml_kg_h = \d+`).ReplaceAll(about.Data, []byte("uf_limit_ml_kg_h = 8"))
	answered := func(value string) (f issue.Finding, key session.AnswerKey) {
		folder["answers.csv"] = &fstest.MapFile{Data: []byte(answerHeadings + "clin-uf-limit,2025-10-20a,sessions,UF done (L)," + value + ",,r\n")}
		log, found, err := session.ReadFS(folder, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		void := false
		for _, one := range Check(log, found) {
			void = void || one.Rule == "log-answer-void"
			if one.Rule == "clin-uf-limit" && one.Session == "2025-10-20a" {
				f = one
				key, _ = log.AnswerKey(one)
			}
		}
		if f.Rule == "" || void != (f.Accepted == nil) {
			t.Errorf("%q: found %v, answer reported as void: %v", value, f, void)
		}
		return f, key
	}
	changed := func(column, more string) {
		folder["sessions.csv"] = folderOf(t, "../../../testdata/month")["sessions.csv"]
		s := open(t, folder, "sessions.csv")
		*s.cell(t, s.heldRow(t, 1), column) += more
		s.save(folder, "sessions.csv")
	}
	f, key := answered("")
	text := key.Written()
	if key.Cell == "" || text != key.Cell+" ("+f.Value+")" {
		t.Fatalf("value %q of cell %q", text, key.Cell)
	}
	for _, test := range []struct {
		value, column                string
		before, after, sameValueNext bool
	}{
		{text, "uf_removed_l", true, false, true},
		{f.Value, "uf_removed_l", true, true, true},
		{key.Cell, "uf_removed_l", false, false, true},
		{text, "weight_after_kg", true, false, false},
		{f.Value, "weight_after_kg", true, false, false},
		{key.Cell, "weight_after_kg", false, false, false},
	} {
		changed(test.column, "")
		if f, _ := answered(test.value); (f.Accepted != nil) != test.before {
			t.Errorf("%q answers %v", test.value, f.Accepted)
		}
		changed(test.column, map[string]string{"uf_removed_l": "01", "weight_after_kg": "9"}[test.column])
		if now, _ := answered(test.value); (now.Accepted != nil) != test.after || (now.Value == f.Value) != test.sameValueNext {
			t.Errorf("%q answers %v after %s changed, finding of %s", test.value, now.Accepted, test.column, now.Value)
		}
	}
}
