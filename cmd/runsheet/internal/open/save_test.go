package open

import (
	"archive/zip"
	"bytes"
	"fmt"
	"html"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"filippo.io/age"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/issue"
)

func escaped(text string) string { return url.QueryEscape(text) }

var (
	inputs    = regexp.MustCompile(`<input [^>]*name="([^"]+)"[^>]*?value="([^"]*)"`)
	textareas = regexp.MustCompile(`(?s)<textarea [^>]*name="([^"]+)"[^>]*>\n(.*?)</textarea>`)
	selects   = regexp.MustCompile(`(?s)<select [^>]*name="([^"]+)"[^>]*>(.*?)</select>`)
	selected  = regexp.MustCompile(`value="([^"]*)" selected`)
)

// formOf are the fields of a page as a browser sends them.
func formOf(page string) map[string]string {
	form := map[string]string{}
	for _, m := range inputs.FindAllStringSubmatch(page, -1) {
		form[m[1]] = html.UnescapeString(m[2])
	}
	for _, m := range textareas.FindAllStringSubmatch(page, -1) {
		form[m[1]] = html.UnescapeString(m[2])
	}
	for _, m := range selects.FindAllStringSubmatch(page, -1) {
		form[m[1]] = ""
		if s := selected.FindStringSubmatch(m[2]); s != nil {
			form[m[1]] = html.UnescapeString(s[1])
		}
	}
	return form
}

// A page that is saved as it was shown changes nothing: every text comes back
// as it was typed.
func TestSavingUnchangedKeepsEveryByte(t *testing.T) {
	for _, from := range []string{"month", "mistakes"} {
		log := filepath.Join(t.TempDir(), from)
		if err := os.CopyFS(log, os.DirFS(data+"/"+from)); err != nil {
			t.Fatal(err)
		}
		c := newClient(t, log)
		before, saved := string(contents(t, log)), 0
		for _, line := range linesOf(mustOpen(t, log), nil) {
			_, page := c.get("/session/" + text(line.Row))
			for _, m := range inputs.FindAllStringSubmatch(page, -1) {
				if m[1] != "digest" && strings.Count(page, ` name="`+m[1]+`"`) != 1 {
					t.Errorf("%s row %d: there are two fields %s", from, line.Row, m[1])
				}
			}
			if code, answer, _ := c.post("/session/"+text(line.Row), formOf(page)); code != http.StatusSeeOther {
				t.Fatalf("%s row %d: %d %s", from, line.Row, code, answer)
			}
			saved++
		}
		if after := string(contents(t, log)); after != before || saved < 10 {
			t.Errorf("%s: %d pages saved, and the log is another", from, saved)
		}
	}
}

// A new session gets its row, a name made of its day, and the rows that
// something was typed into; nothing is put in that was not typed.
func TestNewSession(t *testing.T) {
	log := copied(t)
	c := newClient(t, log)
	code, page := c.get("/new?day=2025-11-17")
	if code != http.StatusOK || strings.Contains(page, `value="71`) {
		t.Fatalf("%d, or a value is filled in", code)
	}
	form := formOf(page)
	form["sessions.0.status"], form["sessions.0.start"], form["sessions.0.weight_after_kg"] = "done", "18:05", "seventy"
	form["sessions.0.weight_before_kg.absent"] = "not done"
	form["sessions.0.notes"] = "=1+1 <b>\"x\"</b>,\r\nsecond line"
	form["readings.new2.time"], form["readings.new2.bp_systolic_mmhg"] = "18:30", "141"
	code, page, to := c.post("/session/new", form)
	if code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, page)
	}
	l := mustOpen(t, log)
	rows := l.Rows("sessions")
	row := rows[len(rows)-1]
	if !strings.HasPrefix(to, "/session/"+text(row)+"?saved=1") {
		t.Errorf("it goes to %s, not row %d", to, row)
	}
	for column, want := range map[string]string{"session": "2025-11-17a", "date": "2025-11-17", "weight_before_kg": "not done", "weight_after_kg": "seventy", "uf_removed_l": "", "notes": "=1+1 <b>\"x\"</b>,\nsecond line"} {
		if got := l.Cell("sessions", row, column); got != want {
			t.Errorf("%s is %q, want %q", column, got, want)
		}
	}
	readings := l.Rows("readings")
	last := readings[len(readings)-1]
	if l.Cell("readings", last, "session") != "2025-11-17a" || l.Cell("readings", last, "bp_systolic_mmhg") != "141" || l.Cell("readings", last-1, "session") == "2025-11-17a" {
		t.Error("not just the reading that was typed is in the log")
	}
	_, page = c.get(to)
	if !strings.Contains(page, "<title>Error: ") || !strings.Contains(page, "=1&#43;1 &lt;b&gt;") {
		t.Errorf("a weight in words is shown without an error, or a text is not as typed: %s", page)
	}
	if strings.Contains(page, "style=") {
		t.Error("the policy of the page forbids styles in it")
	}
	// The reading is removed, and the save undone.
	form = formOf(page)
	form["do"] = "remove:readings.1"
	if code, page, _ := c.post("/session/"+text(row), form); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, page)
	}
	if n := len(mustOpen(t, log).Rows("readings")); n != len(readings)-1 {
		t.Errorf("%d readings", n)
	}
	c.post("/undo", map[string]string{"digest": mustOpen(t, log).Digest()})
	if n := len(mustOpen(t, log).Rows("readings")); n != len(readings) {
		t.Errorf("%d readings after undo", n)
	}
}

// What another page saved meanwhile is never overwritten: both values are shown.
func TestStalePageIsRefused(t *testing.T) {
	log := copied(t)
	c := newClient(t, log)
	_, page := c.get("/session/2")
	first, second := formOf(page), formOf(page)
	first["sessions.0.weight_before_kg"], second["sessions.0.weight_before_kg"] = "71.8", "71.9"
	if code, _, _ := c.post("/session/2", first); code != http.StatusSeeOther {
		t.Fatal(code)
	}
	code, page, _ := c.post("/session/2", second)
	if code != http.StatusConflict || !strings.Contains(page, `value="71.9"`) || !strings.Contains(page, "<q>71.8</q>") {
		t.Errorf("%d, or not both values are shown", code)
	}
	if got := mustOpen(t, log).Cell("sessions", 2, "weight_before_kg"); got != "71.8" {
		t.Errorf("the log has %q", got)
	}
	if code, _, _ := c.post("/session/2", formOf(page)); code != http.StatusSeeOther {
		t.Errorf("saving again after both were shown: %d", code)
	}
	if got := mustOpen(t, log).Cell("sessions", 2, "weight_before_kg"); got != "71.9" {
		t.Errorf("the log has %q", got)
	}
}

// A page that is older than the log writes what was typed into it and nothing
// else: also the second save, after both values were shown.
func TestStalePageKeepsOtherFields(t *testing.T) {
	log := copied(t)
	c := newClient(t, log)
	_, page := c.get("/session/2")
	mine, theirs := formOf(page), formOf(page)
	if theirs["readings.2.time"] == "" || theirs["readings.3.time"] == "" {
		t.Fatal("the treatment has no readings")
	}
	last := theirs["readings.3.time"]
	theirs["sessions.0.notes"], theirs["sessions.0.pulse_before_per_min"], theirs["do"] = "tab two", "81", "remove:readings.1"
	mine["sessions.0.pulse_before_per_min"], mine["readings.3.bp_systolic_mmhg"] = "82", "133"
	mine["sessions.0.weight_after_kg"], mine["sessions.0.weight_after_kg.absent"] = "", "not done"
	mine["readings.new1.time"] = "23:59"
	c.post("/session/2", theirs)
	code, page, _ := c.post("/session/2", mine)
	if code != http.StatusConflict || !strings.Contains(page, "<q>81</q>") || strings.Contains(page, "<q>tab two</q>") {
		t.Errorf("%d, or not the field that differs alone is shown with both values", code)
	}
	if code, page, _ := c.post("/session/2", formOf(page)); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, page)
	}
	l := mustOpen(t, log)
	for column, want := range map[string]string{"notes": "tab two", "pulse_before_per_min": "82", "weight_after_kg": "not done"} {
		if got := l.Cell("sessions", 2, column); got != want {
			t.Errorf("%s is %q, want %q", column, got, want)
		}
	}
	_, page = c.get("/session/2")
	now := formOf(page)
	if now["readings.2.time"] != last || now["readings.2.bp_systolic_mmhg"] != "133" || now["readings.1.bp_systolic_mmhg"] == "133" || !strings.Contains(page, "23:59") {
		t.Error("what was typed is not at the reading that it was typed at")
	}
}

// A page of a treatment that has another row by now, or none, changes no other
// treatment; nor does an undo from a page that does not show the last save.
func TestStalePageOfAMovedTreatment(t *testing.T) {
	log := copied(t)
	c := newClient(t, log)
	_, page := c.get("/session/3")
	form := formOf(page)
	other := mustOpen(t, log).Cell("sessions", 4, "notes")
	_, second := c.get("/session/2")
	c.post("/session/2/remove", formOf(second))
	form["sessions.0.notes"] = "mine"
	code, page, _ := c.post("/session/3", form)
	if code != http.StatusConflict || !strings.Contains(page, `action="/session/2"`) {
		t.Fatalf("%d, or the page is not that of the treatment", code)
	}
	c.post("/session/2", formOf(page))
	if l := mustOpen(t, log); l.Cell("sessions", 2, "notes") != "mine" || l.Cell("sessions", 3, "notes") != other {
		t.Error("another treatment was changed")
	}
	if code, _, _ := c.post("/undo", map[string]string{"digest": form["digest"]}); code != http.StatusConflict || mustOpen(t, log).Cell("sessions", 2, "notes") != "mine" {
		t.Errorf("an old page undoes what it does not show: %d", code)
	}
	c.post("/session/2/remove", formOf(page))
	_, page = c.get("/session/2")
	c.post("/session/2/remove", formOf(page))
	if code, _, _ := c.post("/session/3", form); code != http.StatusConflict {
		t.Errorf("a treatment that is gone: %d", code)
	}
}

// The page of the questions keeps what another page saved as well.
func TestStaleAboutKeepsOtherAnswers(t *testing.T) {
	log := copied(t)
	c := newClient(t, log)
	_, page := c.get("/about")
	mine, theirs := formOf(page), formOf(page)
	theirs["patient.height_cm"], mine["patient.name"] = "181", "E. M."
	c.post("/about", theirs)
	code, page, _ := c.post("/about", mine)
	if code != http.StatusConflict || !strings.Contains(page, `<a href="#patient-name">`) || strings.Contains(page, `<a href="#patient-height_cm">`) {
		t.Fatal(code)
	}
	c.post("/about", formOf(page))
	if l := mustOpen(t, log); l.About("patient.height_cm") != "181" || l.About("patient.name") != "E. M." {
		t.Errorf("height %q, name %q", l.About("patient.height_cm"), l.About("patient.name"))
	}
}

// A day far from today is asked about; the hint of a date is in the log's own
// style; what a conflict is about is linked.
func TestDatesAreAskedAbout(t *testing.T) {
	log := copied(t)
	c := newClient(t, log)
	_, page := c.get("/session/2")
	form := formOf(page)
	form["sessions.0.date"] = "2024-10-20"
	_, _, to := c.post("/session/2", form)
	if _, page := c.get(to); !strings.Contains(page, "The day is Sunday, 20 October 2024: is the year right?") {
		t.Error("a day of a year ago is not asked about")
	}
	code, page, _ := c.post("/session/2", map[string]string{"digest": "old", "was": form["was"], "sessions.0.date": "2025-10-21"})
	if code != http.StatusConflict || !strings.Contains(page, `<a href="#sessions-0-date">Date: here “2025-10-21”, in the log now “2024-10-20”</a>`) {
		t.Errorf("%d, or the conflict is not linked", code)
	}
	_, page = c.get("/about")
	form = formOf(page)
	form["log.date_style"], form["patient.birth_date"] = "dmy", "3/14/1963"
	_, _, to = c.post("/about", form)
	if _, page := c.get(to); !strings.Contains(page, "answer to look at again") && !strings.Contains(page, "answers to look at again") || !strings.Contains(page, `<a href="#patient-birth_date">`) {
		t.Error("a mistake on About is saved without a word")
	}
	if _, page := c.get("/session/2"); !strings.Contains(page, "3/11/2025") || strings.Contains(page, "2025-11-03</p>") {
		t.Error("the hint of the date is not in the style of the log")
	}
}

// A folder of another program that has a sessions.csv of its own is no log.
func TestForeignFolderIsNoLog(t *testing.T) {
	dir := t.TempDir()
	const mine = "date,weight\n1/2/26,70\n"
	if err := os.WriteFile(filepath.Join(dir, "sessions.csv"), []byte(mine), 0o600); err != nil {
		t.Fatal(err)
	}
	c := newClient(t, dir)
	code, page := c.get("/")
	if text, _ := os.ReadFile(filepath.Join(dir, "sessions.csv")); code == http.StatusOK || !strings.Contains(page, "holds no log") || string(text) != mine {
		t.Errorf("%d %s", code, page)
	}
}

func TestContradictionIsNotSaved(t *testing.T) {
	log := copied(t)
	before := string(contents(t, log))
	c := newClient(t, log)
	_, page := c.get("/session/2")
	form := formOf(page)
	form["sessions.0.weight_before_kg.absent"] = "not done"
	code, page, _ := c.post("/session/2", form)
	if code != http.StatusUnprocessableEntity || !strings.Contains(page, "keep one of the two") || string(contents(t, log)) != before {
		t.Errorf("%d, or the log was changed", code)
	}
	form = formOf(page)
	form["sessions.0.notes"] = "null\x00byte"
	if code, page, _ := c.post("/session/2", form); code != http.StatusUnprocessableEntity || string(contents(t, log)) != before {
		t.Errorf("%d %s", code, page)
	}
	form["sessions.0.notes"] = strings.Repeat("x", maxForm)
	if code, _, _ := c.post("/session/2", form); code != http.StatusRequestEntityTooLarge {
		t.Errorf("a page beyond all limits is answered by %d", code)
	}
}

func TestLogIsBegunOnThePage(t *testing.T) {
	log := filepath.Join(t.TempDir(), "deep", "log")
	c := newClient(t, log)
	if _, page := c.get("/"); !strings.Contains(page, "Begin a new log") {
		t.Fatal("no way to begin")
	}
	if code, page, _ := c.post("/begin", nil); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, page)
	}
	if _, page := c.get("/"); !strings.Contains(page, "No treatment is written down for this month") {
		t.Error("the empty month is not shown")
	}
	c.s.release()
}

// A finding that the person says is right stays, shown as answered, until the
// answer is taken back.
func TestAnswer(t *testing.T) {
	log := copied(t)
	c := newClient(t, log)
	row := 0
	for _, one := range linesOf(mustOpen(t, log), nil) {
		if one.Text == "2025-11-09" {
			row = one.Row
		}
	}
	path := "/session/" + text(row)
	_, page := c.get(path)
	button := regexp.MustCompile(`value="right:([0-9a-f]{16})"`).FindStringSubmatch(page)
	if button == nil || !strings.Contains(page, "1 thing to look at") {
		t.Fatal("there is nothing to answer")
	}
	form := formOf(page)
	form["do"], form["why."+button[1]] = "right:"+button[1], "two more cups of tea"
	stale := maps.Clone(form)
	stale["digest"] = "old"
	if code, page, _ := c.post(path, stale); code != http.StatusConflict || formOf(page)["why."+button[1]] != "two more cups of tea" {
		t.Errorf("an answer on an older page is lost: %d", code)
	}
	if code, page, _ := c.post(path, form); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, page)
	}
	_, page = c.get(path)
	if strings.Contains(page, "1 thing to look at") || !strings.Contains(page, "17 November 2025: two more cups of tea") {
		t.Error("the finding is not shown as answered")
	}
	if _, month := c.get("/month/2025-11"); !strings.Contains(month, "1 answered") {
		t.Error("the month does not count the answer")
	}
	form = formOf(page)
	form["do"] = "back:" + button[1]
	c.post(path, form)
	if _, page = c.get(path); !strings.Contains(page, "1 thing to look at") {
		t.Error("the answer is not taken back")
	}
}

// A treatment whose only finding is answered is alike ready to the check, the
// export and the page; one whose answer is void, since its value was corrected,
// is alike to be looked at, and none holds it back.
func TestAnsweredIsAlikeEverywhere(t *testing.T) {
	const only = "2025-11-09a"
	for value, want := range map[string]int{"1.32": 0, "1.30": 1} {
		log := copied(t)
		files, err := filepath.Glob(filepath.Join(log, "*.csv"))
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			all, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			lines := strings.SplitAfter(string(all), "\n")
			lines = append(lines[:1], slices.DeleteFunc(lines[1:], func(line string) bool { return !strings.HasPrefix(line, only) })...)
			if err := os.WriteFile(file, []byte(strings.Join(lines, "")), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		answers := "rule,session,sheet,column,value,answered_on,reason\nclin-uf-weights," + only + ",sessions,uf_removed_l," + value + ",2025-11-10,tea\n"
		if err := os.WriteFile(filepath.Join(log, "answers.csv"), []byte(answers), 0o600); err != nil {
			t.Fatal(err)
		}
		read, findings, err := export.Input{Path: log}.Read()
		if err != nil {
			t.Fatal(err)
		}
		opts := exportOptions(tool, time.Date(2025, 11, 1, 0, 0, 0, 0, time.UTC))
		opts.Out = filepath.Join(t.TempDir(), "out")
		checked, err := export.Check(t.Context(), read, findings, opts.Mapping)
		if err != nil {
			t.Fatal(err)
		}
		result, exported, err := export.Write(t.Context(), read, findings, opts)
		if err != nil {
			t.Fatal(err)
		}
		c := newClient(t, log)
		_, month := c.get("/month/2025-11")
		_, page := c.get("/session/2")
		for name, found := range map[string][]issue.Finding{"check": checked, "export": exported} {
			if mistakes, looks, _ := issue.Count(found); mistakes != 0 || looks != want {
				t.Errorf("%s: %s finds %d mistakes and %d to look at", value, name, mistakes, looks)
			}
		}
		if result.Sessions != 1 {
			t.Errorf("%s: the export holds back the session", value)
		}
		for shown, page := range map[string]string{"1 answered": month, "10 November 2025: tea": page} {
			if strings.Contains(page, "1 thing to look at") != (want == 1) || strings.Contains(page, shown) != (want == 0) {
				t.Errorf("%s: the page does not say %q alone\n%s", value, shown, page)
			}
		}
	}
}

// The questions about the person are asked once and written into log.toml.
func TestAbout(t *testing.T) {
	log := filepath.Join(t.TempDir(), "log")
	c := newClient(t, log)
	c.post("/begin", nil)
	defer c.s.release()
	if _, page := c.get("/"); !strings.Contains(page, "Before your first treatment") {
		t.Error("a new patient is not asked")
	}
	_, page := c.get("/about")
	form := formOf(page)
	form["patient.sex"], form["patient.birth_date"], form["prescription.1.valid_from"], form["prescription.1.dry_weight_kg"] = "female", "1963-04-02", "2025-11-01", "70.50"
	form["do"] = "more:prescription"
	if code, page, to := c.post("/about", form); code != http.StatusSeeOther || !strings.Contains(to, "more=prescription") {
		t.Fatalf("%d %s", code, page)
	}
	_, page = c.get("/about?more=prescription")
	if !strings.Contains(page, `name="prescription.2.valid_from"`) || !strings.Contains(page, `value="70.50"`) {
		t.Error("there is no second prescription, or a number is not as it was written")
	}
	form = formOf(page)
	form["prescription.2.valid_from"] = "2025-11-15"
	c.post("/about", form)
	l := mustOpen(t, log)
	if l.About("patient.sex") != "female" || l.About("prescription.2.valid_from") != "2025-11-15" || l.AboutParts("access") != 0 {
		t.Error("log.toml does not have what was typed, or more")
	}
	if _, page := c.get("/"); strings.Contains(page, "Before your first treatment") {
		t.Error("the person is asked twice")
	}
}

// What the page hands out are the bytes of an export of the same days, and the
// preview names every treatment in them.
func TestClinicGetsTheExport(t *testing.T) {
	log := copied(t)
	c := newClient(t, log)
	month := time.Date(2025, 11, 1, 0, 0, 0, 0, time.UTC)
	opts := exportOptions(tool, month)
	opts.Out = filepath.Join(t.TempDir(), "out")
	read, findings, err := export.Input{Path: log}.Read()
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := export.Write(t.Context(), read, findings, opts); err != nil {
		t.Fatal(err)
	}
	w := c.do(httptest.NewRequest(http.MethodGet, "/download?month=2025-11", nil))
	archive, err := zip.NewReader(bytes.NewReader(w.Body.Bytes()), int64(w.Body.Len()))
	if err != nil {
		t.Fatal(err)
	}
	_, page, _ := c.post("/export", map[string]string{"month": "2025-11"})
	files, _ := os.ReadDir(opts.Out)
	if len(files) != 13 || len(archive.File) != len(files) {
		t.Errorf("%d files, %d in the zip", len(files), len(archive.File))
	}
	for _, file := range files {
		want, _ := os.ReadFile(filepath.Join(opts.Out, file.Name()))
		in, err := archive.Open(file.Name())
		if err != nil {
			t.Fatal(err)
		}
		got, _ := io.ReadAll(in)
		folder, _ := os.ReadFile(filepath.Join(log+" for the clinic 2025-11", file.Name()))
		if !bytes.Equal(got, want) || !bytes.Equal(folder, want) {
			t.Errorf("%s has other bytes", file.Name())
		}
	}
	for _, line := range []string{"12 treatments go to your clinic", "Body weight before dialysis", "http://loinc.org 8347-7", "sessions.csv", "Sunday, 16 November 2025", "Thursday, 13 November 2025"} {
		if !strings.Contains(page, line) {
			t.Errorf("the preview does not show %q", line)
		}
	}
	if _, page := c.get("/measures?month=2025-11"); !strings.Contains(page, "Sunday, 16 November 2025") || !strings.Contains(page, "Total body water, watson-male-1") || !strings.Contains(page, "Total body water, hume-male-1") {
		t.Error("no measures, or two of the same name")
	}
	if w := c.do(httptest.NewRequest(http.MethodGet, "/report.pdf", nil)); !bytes.HasPrefix(w.Body.Bytes(), []byte("%PDF-")) {
		t.Errorf("the page for the visit: %d %s", w.Code, w.Body)
	}
}

// Where the log has the clinic's key, what is handed over can be read with the
// clinic's other key alone, and is the same.
func TestClinicGetsItEncrypted(t *testing.T) {
	log := copied(t)
	plain := newClient(t, log).do(httptest.NewRequest(http.MethodGet, "/download?month=2025-11", nil)).Body.Bytes()
	key, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	c := newClient(t, log)
	for _, text := range []string{"age1x", key.Recipient().String()} {
		_, page := c.get("/about")
		form := formOf(page)
		form["clinic.encrypt_to"] = text
		if code, page, _ := c.post("/about", form); (code == http.StatusSeeOther) != (text != "age1x") || code != http.StatusSeeOther && !strings.Contains(page, `href="#clinic-encrypt_to">This is no public key`) {
			t.Fatalf("the key %s is answered by %d", text, code)
		}
		if text == "age1x" { // as another program writes it
			l := mustOpen(t, log)
			if err := l.SetAbout("clinic.encrypt_to", text); err != nil || l.Save("") != nil {
				t.Fatal(err)
			}
		}
		if code, page, _ := c.post("/export", map[string]string{"month": "2025-11"}); (code == http.StatusOK) != (text != "age1x") {
			t.Fatalf("with the key %s: %d %s", text, code, page)
		}
	}
	w := c.do(httptest.NewRequest(http.MethodGet, "/download?month=2025-11", nil))
	file, err := os.ReadFile(log + " for the clinic 2025-11.zip.age")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(log + " for the clinic 2025-11"); err == nil {
		t.Error("it was written in the clear as well")
	}
	for _, sealed := range [][]byte{w.Body.Bytes(), file} {
		open, err := age.Decrypt(bytes.NewReader(sealed), key)
		if err != nil {
			t.Fatal(err)
		}
		got, err := io.ReadAll(open)
		if err != nil || len(got) < len(plain)/2 || !bytes.HasPrefix(got, []byte("PK")) {
			t.Errorf("%d bytes, %d without encryption: %v", len(got), len(plain), err)
		}
	}
}

// checkedAs are the findings about a log as rule, heading, value and session.
func checkedAs(t *testing.T, path string) (all []string) {
	t.Helper()
	_, findings, err := export.Input{Path: path}.Read()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		if f.Rule != "log-row-empty" && f.Rule != "log-csv-encoding" {
			all = append(all, fmt.Sprintf("%s %s %q %s", f.Rule, f.Cells[0].Heading, f.Value, f.Session))
		}
	}
	slices.Sort(all)
	return all
}

// The page works on a copy of a workbook, which stays as it is; the checks find
// the same in both.
func TestWorkbookIsCopied(t *testing.T) {
	for _, from := range []string{"month", "mistakes"} {
		grid, _, err := session.ReadGrid(os.DirFS(data + "/" + from))
		if err != nil {
			t.Fatal(err)
		}
		book, err := workbook.Bytes(workbook.Options{Content: grid})
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), from+".xlsx")
		if err := os.WriteFile(file, book, 0o600); err != nil {
			t.Fatal(err)
		}
		c := newClient(t, filepath.Join(filepath.Dir(file), from+" log"))
		code, page := c.upload(file)
		if code != http.StatusSeeOther {
			t.Fatalf("%s: %d %s", from, code, page)
		}
		defer c.s.release()
		if got, want := checkedAs(t, c.s.opts.Log), checkedAs(t, file); !slices.Equal(got, want) || len(want) < 1 {
			t.Errorf("%s: findings of the copy %q, of the workbook %q", from, got, want)
		}
		if _, page := c.get("/"); !strings.Contains(page, from+".xlsx, which stays as it is") || !strings.Contains(page, c.s.opts.Log) {
			t.Errorf("%s: the page does not name the copy", from)
		}
		if now, _ := os.ReadFile(file); !bytes.Equal(now, book) {
			t.Errorf("%s: the workbook was changed", from)
		}
	}
}

// upload chooses a file on the first page.
func (c *client) upload(file string) (int, string) {
	c.t.Helper()
	content, err := os.ReadFile(file)
	if err != nil {
		c.t.Fatal(err)
	}
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, _ := form.CreateFormFile("file", filepath.Base(file))
	_, _ = part.Write(content)
	form.Close()
	r := httptest.NewRequest(http.MethodPost, "/file", &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	w := c.do(r)
	return w.Code, w.Body.String()
}
