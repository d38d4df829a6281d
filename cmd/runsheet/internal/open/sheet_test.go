package open

import (
	"bytes"
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// A sheet of another shape is copied as the person confirms each of its
// columns; what is in doubt is chosen by nobody else.
func TestOwnSheetIsCopiedAsConfirmed(t *testing.T) {
	const sheet = data + "/sheets/german/protokoll.csv"
	before, err := os.ReadFile(sheet)
	if err != nil {
		t.Fatal(err)
	}
	c := newClient(t, filepath.Join(t.TempDir(), "log"))
	defer func() { c.s.release() }()
	if code, page := c.upload(sheet); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, page)
	}
	_, page := c.get("/")
	for _, want := range []string{"Gewicht vor (kg)", "Weight before", "<q>82,8</q>", "Unterschrift", "<q>MK</q>", "Every row is a treatment that was done"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not show %q", want)
		}
	}
	form := formOf(page)
	code, page, _ := c.post("/copy", form)
	if code != http.StatusUnprocessableEntity || !strings.Contains(page, "Say what Unterschrift is") || !c.s.missing() {
		t.Fatalf("%d, or a column without a choice is copied", code)
	}
	form = formOf(page)
	for name, choice := range form {
		if choice == "" && strings.HasPrefix(name, "line.") {
			form[name] = "leave out"
		}
	}
	form["done"] = "on"
	form["line.1"] = "sessions.pulse_before@/min" // which another column is
	if code, _, _ := c.post("/copy", form); code != http.StatusUnprocessableEntity {
		t.Errorf("two columns go to one place: %d", code)
	}
	form["line.1"] = "keep"
	if code, page, _ = c.post("/copy", form); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, page)
	}
	l := mustOpen(t, c.s.opts.Log)
	if l.Cell("sessions", 2, "weight_before_kg") != "82,8" || l.Cell("sessions", 2, "date") != "2025-11-03" || l.Cell("sessions", 2, "status") != "done" || l.About("log.decimal_mark") != "," {
		t.Errorf("the copy has %q, %q, %q", l.Cell("sessions", 2, "weight_before_kg"), l.Cell("sessions", 2, "date"), l.Cell("sessions", 2, "status"))
	}
	if _, page := c.get("/month/2025-11"); !strings.Contains(page, "protokoll.csv, which stays as it is") || !strings.Contains(page, "Monday, 3 November 2025") {
		t.Error("the month does not show the copy")
	}
	if after, _ := os.ReadFile(sheet); !bytes.Equal(before, after) {
		t.Error("the sheet was changed")
	}
	for name, content := range map[string]string{"bank.csv": "when,amount\n1/2/26,70\n", "empty.csv": "", "broken.xlsx": "PK", "notes.txt": "x", "large.csv": strings.Repeat("x", 21<<20)} {
		file := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(file, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		other := newClient(t, filepath.Join(t.TempDir(), "log"))
		want := http.StatusUnprocessableEntity
		if name == "large.csv" {
			want = http.StatusRequestEntityTooLarge
		}
		if code, page := other.upload(file); code != want || !other.s.missing() {
			t.Errorf("%s: %d %s", name, code, page)
		}
	}
}

// A mistake that an export finds is shown at its cell, too.
func TestMistakesOfTheExportAreAtTheirCells(t *testing.T) {
	log := copied(t)
	c := newClient(t, log)
	found := c.s.checks.of(mustOpen(t, log).Digest(), time.Minute)
	row := 0
	for _, s := range found.log.Sessions {
		if len(s.Medicines) > 0 && s.Date.Time.Month() == time.November {
			s.Medicines[0].Until = s.Medicines[0].At
			s.Medicines[0].Until.Time = s.Medicines[0].At.Time.Add(-time.Hour)
			row = s.Cell.Row
			break
		}
	}
	if _, page := c.get("/clinic?month=2025-11"); !strings.Contains(page, "11 treatments go to your clinic") {
		t.Fatal("the export does not leave one out")
	}
	_, page := c.get("/session/" + text(row))
	if !strings.Contains(page, "<code>log-record</code>") || !strings.Contains(page, `<a href="#medicines-1-medicine">`) || !strings.Contains(page, "1 mistake to mend") {
		t.Error("what the export found is not at its cell")
	}
	if _, page := c.get("/month/2025-11"); !strings.Contains(page, "1 mistake") {
		t.Error("the month does not count it")
	}
}

// A mistake that the log as a whole has is shown where it holds treatments
// back, with a way to the question that mends it.
func TestMistakesOfTheLogSayWhatTheyHoldBack(t *testing.T) {
	log := copied(t)
	l := mustOpen(t, log)
	if err := l.SetAbout("log.time_zone", ""); err != nil || l.Save(l.Digest()) != nil {
		t.Fatal(err)
	}
	c := newClient(t, log)
	for _, path := range []string{"/clinic?month=2025-11", "/month/2025-11"} {
		if _, page := c.get(path); !strings.Contains(page, `<a href="/about#log-time_zone">`) || !strings.Contains(page, "a mistake in the log as a whole holds it back") || strings.Contains(page, "nothing found") {
			t.Errorf("%s does not say what holds a treatment back, or where", path)
		}
	}
	if _, page := c.get("/clinic?month=2025-11"); strings.Contains(page, "</a>: it has mistakes") {
		t.Error("a treatment without a mistake of its own is said to have one")
	}
	if _, page := c.get("/session/2?saved=1"); strings.Contains(page, "Nothing found") {
		t.Error("a treatment that is held back is said to be right")
	}
	if _, page := c.get("/about"); strings.Contains(page, `href="/about#`) {
		t.Error("the page leads to itself")
	}
}

// A treatment without a name is the one of its row: its mistakes are counted.
func TestMistakesOfANamelessTreatmentAreCounted(t *testing.T) {
	log := t.TempDir()
	for name, text := range map[string]string{"log.toml": "[log]\nformat = 1\nid = \"0ee84880-ea27-4eaa-a5d9-a0c472f1caf3\"\ntime_zone = \"Europe/London\"\n",
		"sessions.csv": "session,date,start,end,status\n,02/11/2025,18:30,22:30,done\n,04/11/2025,18:30,22:30,done\n"} {
		if err := os.WriteFile(filepath.Join(log, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	c := newClient(t, log)
	if _, page := c.get("/month/2025-11"); !strings.Contains(page, "2 mistakes") || strings.Contains(page, "nothing found") || strings.Contains(page, "<h3>sessions.csv") {
		t.Error("the month does not count the mistakes at their treatments")
	}
	if _, page := c.get("/session/2"); !strings.Contains(page, `<a href="/about#log-date_style">`) {
		t.Error("the treatment does not lead to how dates are written")
	}
}

// A copy that was made before says that the file may have more by now.
func TestOldCopySaysSo(t *testing.T) {
	c := newClient(t, copied(t))
	c.s.opts.File = filepath.Join(t.TempDir(), "november.xlsx")
	if err := c.s.open(); err != nil {
		t.Fatal(err)
	}
	defer c.s.release()
	if _, page := c.get("/"); !strings.Contains(page, "copy of november.xlsx that was made before") {
		t.Error("the page does not say how old the copy is")
	}
}

// Dates whose day could be the month are copied as the person says.
func TestOwnSheetAsksTheOrderOfItsDates(t *testing.T) {
	for style, day := range map[string]string{"": "", "dmy": "2026-11-02", "mdy": "2026-02-11"} {
		file := filepath.Join(t.TempDir(), "nights.csv")
		if err := os.WriteFile(file, []byte("Date,Start,End,Weight before (kg),Weight after (kg)\n02/11/2026,18:30,22:30,72.5,70.8\n04/11/2026,18:35,22:30,72.1,70.6\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		c := newClient(t, filepath.Join(t.TempDir(), "log"))
		if code, page := c.upload(file); code != http.StatusSeeOther {
			t.Fatalf("%d %s", code, page)
		}
		_, page := c.get("/")
		form := formOf(page)
		form["date_style"], form["done"] = style, "on"
		for name, choice := range form {
			if choice == "" && strings.HasPrefix(name, "line.") {
				t.Errorf("%s is in doubt", name)
			}
		}
		code, page, _ := c.post("/copy", form)
		if style == "" {
			if code != http.StatusUnprocessableEntity || !strings.Contains(page, `<a href="#date_style">`) || !c.s.missing() {
				t.Errorf("%d: the order of the dates is not asked", code)
			}
			continue
		}
		if code != http.StatusSeeOther {
			t.Fatalf("%d %s", code, page)
		}
		if got := mustOpen(t, c.s.opts.Log).Cell("sessions", 2, "date"); got != day {
			t.Errorf("%s: %s", style, got)
		}
		c.s.release()
	}
}

// A page names the questions and fields that it has, never a file of the log;
// undo is offered once there is a save to undo.
func TestPagesSpeakOfPages(t *testing.T) {
	log := copied(t)
	l := mustOpen(t, log)
	for _, key := range []string{"patient.sex", "patient.identifier_system", "log.date_style"} {
		if err := l.SetAbout(key, ""); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(l.Set("sessions", 2, "date", "02/11/2025"), l.Set("sessions", 3, "weight_before_kg", "728"), l.Save(l.Digest())); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(filepath.Join(log, ".history")); err != nil {
		t.Fatal(err)
	}
	c := newClient(t, log)
	for _, path := range []string{"/about", "/session/2", "/session/3", "/month/2025-11", "/clinic?month=2025-11"} {
		_, page := c.get(path)
		page = markup.ReplaceAllString(page, "")
		if file := ofFolder.FindString(page); file != "" {
			t.Errorf("%s says %s", path, page[strings.Index(page, file)-80:][:160])
		}
		if strings.Contains(page, "Undo the last save") {
			t.Errorf("%s offers to undo nothing", path)
		}
	}
	_, page := c.get("/session/3")
	if code, _, _ := c.post("/session/3", formOf(page)); code != http.StatusSeeOther {
		t.Fatal(code)
	}
	form := formOf(page)
	form["digest"], form["sessions.0.weight_before_kg"] = mustOpen(t, log).Digest(), "72.8"
	if code, page, _ := c.post("/session/3", form); code != http.StatusSeeOther {
		t.Fatal(code, page)
	}
	if _, page := c.get("/about"); !strings.Contains(page, "Undo the last save") {
		t.Error("a save cannot be undone")
	}
}

var (
	markup   = regexp.MustCompile(`(?s)<details.*?</details>|<[^>]*>`) // details name the exact cell
	ofFolder = regexp.MustCompile(`[a-z]+\.(csv|toml)|[a-z]+_(kg|style|date|cm|system|mark|form)\b`)
)
