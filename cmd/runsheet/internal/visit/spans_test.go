package visit

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
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
