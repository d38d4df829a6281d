package visit

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"runsheet.example/validate/issue"
)

// text is a page as it is read, with single spaces.
func text(t *testing.T, dir string, opts Options) string {
	t.Helper()
	opts.Tool = "runsheet test"
	return strings.Join(strings.Fields(visible(made(t, dir, opts).HTML)), " ")
}

func contains(t *testing.T, page string, wanted ...string) {
	t.Helper()
	for _, want := range wanted {
		if !strings.Contains(page, want) {
			t.Errorf("no %q in\n%s", want, page)
		}
	}
}

// A short span does not shorten the weeks of the table: they count what the
// log has, and name the day on which it begins or ends within them.
func TestTableCountsTheWholeLog(t *testing.T) {
	dir := year().write(t)
	for name, opts := range map[string]Options{
		"weeks": {Weeks: 2}, "from": {From: time.Date(2025, 12, 15, 0, 0, 0, 0, time.UTC)},
	} {
		whole, short := made(t, dir, Options{Tool: "runsheet test"}).Page.Numbers, made(t, dir, opts).Page.Numbers
		for i, row := range whole.Rows {
			if strings.Join(row, "|") != strings.Join(short.Rows[i], "|") {
				t.Errorf("%s: %v, whole log %v", name, short.Rows[i], row)
			}
		}
	}
	contains(t, text(t, child().write(t), Options{}), ": first session 6 Oct")
	contains(t, text(t, child().write(t), Options{To: time.Date(2025, 11, 20, 0, 0, 0, 0, time.UTC)}), ": last session 7 Nov")
}

// A session held back is written down: its week is not one with fewer sessions
// and its events are on the page. A week of which the span has a part is no
// week with fewer sessions either.
func TestHeldBackSessionsAndPartWeeks(t *testing.T) {
	l := child()
	l.rows[5]["weight_after_kg"] = "seventy"
	dir := l.write(t)
	events := "session,time,kind,what,alarm_number\n" + l.rows[5]["session"] + ",19:00,symptom,chest pain,\n" +
		l.rows[6]["session"] + ",19:00,other,needle came out,\n" + l.rows[6]["session"] + ",19:10,alarm,low flow,E17\n"
	if err := os.WriteFile(filepath.Join(dir, "events.csv"), []byte(events), 0o600); err != nil {
		t.Fatal(err)
	}
	page := text(t, dir, Options{})
	contains(t, page, "4+1 of 5", "4, part", "symptom 1, latest 13 Oct “chest pain” (held back)", "other 1, latest 14 Oct “needle came out”", "alarm 1, latest 14 Oct “low flow”")
	if strings.Contains(page, "fewer sessions") {
		t.Errorf("a session held back is reported as missed:\n%s", page)
	}
	if quiet := text(t, dir, Options{NoNotes: true}); strings.Contains(quiet, "chest pain") || !strings.Contains(quiet, "symptom 1, latest 13 Oct (held back)") {
		t.Errorf("without notes:\n%s", quiet)
	}
}

// The access and its change, the medicines of the last four weeks and the
// methods of the dose stand on the page in words, in both forms and from
// records as from the log.
func TestAccessMedicinesAndMethodsAreInWords(t *testing.T) {
	page := text(t, month, Options{})
	contains(t, page, "Access: fistula since 15 May 2023", "Medicines in the last 4 weeks", "heparin 21 2000 to 3000 IU", "darbepoetin alfa 1 30 µg", "paracetamol 1 1 g",
		"Daugirdas 1993, any schedule", "rate equation, fistula or graft", "urea model, two pools")
	for _, code := range []string{"spktv-", "ektv-", "urr-", "stdktv-"} {
		if strings.Contains(page, code) {
			t.Errorf("the code %s stands on the page", code)
		}
	}
	contains(t, text(t, month, Options{Language: issue.German}), "Zugang: Fistel seit 15. Mai 2023", "heparin 21 2000 bis 3000 IU")

	l := child()
	l.about += "[[access]]\nvalid_from = \"2025-10-20\"\nkind = \"catheter\"\n"
	contains(t, text(t, l.write(t), Options{}), "20 Oct: new access, catheter", "Access: catheter since 20 Oct 2025")
	contains(t, text(t, l.write(t), Options{Language: issue.German}), "neuer Zugang, Katheter")

	record, err := FromRecords([]string{exported(t, month)})
	if err != nil {
		t.Fatal(err)
	}
	report, err := Make(record, tool)
	if err != nil {
		t.Fatal(err)
	}
	contains(t, strings.Join(strings.Fields(visible(report.HTML)), " "), "heparin 21 2000 to 3000 IU", "darbepoetin alfa 1 30 µg", "hold no prescribed time, no UF limit, no access")
}
