package visit

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap"
)

// exported exports a log folder and returns the folder of the records.
func exported(t testing.TB, dir string) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "out")
	options := fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "test"}}
	options.Series, options.Provenance = fhirmap.AllReadings, fhirmap.ConditionalProvenance
	opts := export.Options{Out: out, Mapping: options}
	if _, _, err := export.Write(context.Background(), read(t, dir), nil, opts); err != nil {
		t.Fatal(err)
	}
	return out
}

// asked is a log whose patient asks a question.
func asked(question string) *madeLog {
	l := single()
	l.about += "question_1 = " + quoted(question) + "\n"
	return l
}

func quoted(s string) string { text, _ := json.Marshal(s); return string(text) }

// Input that is empty, odd or wrong: what the page says, and what it does not.
func TestOddInput(t *testing.T) {
	long := strings.Repeat("word ", 400)
	for name, c := range map[string]struct {
		log           *madeLog
		opts          Options
		err           error
		inPDF, inHTML string
		never         string
	}{
		"no session":         {log: &madeLog{about: aboutAdult}, err: ErrNoSession},
		"no session in days": {log: single(), opts: Options{From: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)}, err: ErrEmptySpan},
		"one session":        {log: single(), inPDF: "3 Nov 2025 to 3 Nov 2025", inHTML: "3 Nov 2025 to 3 Nov 2025", never: "NaN"},
		"nothing done":       {log: nothingDone(), inPDF: "0 of them cut short; 20 not done", inHTML: "ward 22", never: "NaN"},
		"held back": {log: with(single(), row{"session": "x1", "date": "2025-11-04", "status": "done", "weight_after_kg": "seventy"}),
			inPDF: "1 session is held back because of mistakes", inHTML: "1 session is held back because of mistakes", never: "seventy"},
		"only held back": {log: with(&madeLog{about: aboutAdult}, row{"session": "x1", "date": "2025-11-04", "status": "done", "weight_after_kg": "seventy"}),
			inPDF: "1 session is held back", inHTML: "1 session is held back"},
		"two zones": {log: with(single(), row{"session": "x1", "date": "2025-11-04", "start": "10:00", "end": "13:00", "status": "done", "time_zone": "Europe/Lisbon"}),
			inPDF: "Times are local, in Europe/London, Europe/Lisbon.", inHTML: "Europe/London, Europe/Lisbon"},
		"prescription after the span":   {log: &madeLog{about: aboutAdult + prescribed("2026-02-01", 240, 62, 10), rows: single().rows}, inPDF: "The prescription begins on 1 Feb 2026", inHTML: "The prescription begins on 1 Feb 2026", never: "240"},
		"no prescription":               {log: single(), inPDF: "Nothing is prescribed here", inHTML: "Nothing is prescribed here", never: "0 a week"},
		"a child":                       {log: fainting(child()), inPDF: "Intradialytic hypotension is not assessed", inHTML: "definitions are for adults", never: "Flythe"},
		"an adult":                      {log: fainting(single()), inPDF: "Intradialytic hypotension by", inHTML: "Flythe"},
		"a question 9 letters too long": {log: asked(strings.Repeat("word ", 43) + "end."), inPDF: "word end.", inHTML: "word end."},
		"a question":                    {log: asked("Can I swim?"), inPDF: "Can I swim?", inHTML: "Can I swim?"},
		"a question left out":           {log: asked("Can I swim?"), opts: Options{NoNotes: true}, inPDF: "3 Nov", inHTML: "3 Nov", never: "swim"},
		"a long question":               {log: asked(long), inPDF: "more characters, in the log", inHTML: "and 1789 more characters, in the log"},
		"markup":                        {log: asked("<script>alert(1)</script>"), inPDF: "<script>alert(1)</script>", inHTML: "&lt;script&gt;", never: "<script>alert"},
		"right to left and CJK":         {log: asked("ok 透析 שלום؟ end"), inPDF: "ok […] end", inHTML: "透析 שלום؟", never: "透析 […]"},
		"too many days": {log: year(), opts: Options{From: time.Date(2024, 11, 4, 0, 0, 0, 0, time.UTC), To: time.Date(2026, 11, 4, 0, 0, 0, 0, time.UTC)},
			err: errTooLong},
	} {
		t.Run(name, func(t *testing.T) {
			c.opts.Tool = "runsheet test"
			record, err := FromLog(read(t, c.log.write(t)))
			var report Report
			if err == nil {
				report, err = Make(record, c.opts)
			}
			if !errors.Is(err, c.err) {
				t.Fatalf("error %v, want %v", err, c.err)
			}
			if c.err != nil {
				return
			}
			text := strings.Join(strings.Fields(system(t, report.PDF, "pdftotext", "-raw")), " ")
			if !strings.Contains(text, c.inPDF) {
				t.Errorf("no %q in\n%s", c.inPDF, text)
			}
			if !strings.Contains(string(report.HTML), c.inHTML) {
				t.Errorf("no %q in the HTML file", c.inHTML)
			}
			if c.never != "" && (strings.Contains(text, c.never) && name != "markup" || strings.Contains(visible(report.HTML), c.never) && name != "markup" || strings.Contains(string(report.HTML), c.never)) {
				t.Errorf("%q stands on the page", c.never)
			}
		})
	}
}

// fainting is a log with a reading of 70 over 40 in its first session.
func fainting(l *madeLog) *madeLog {
	l.readings = append(l.readings, l.rows[0]["session"]+",19:30,70,40,350,-150,150")
	return l
}

func with(l *madeLog, r row) *madeLog {
	l.rows = append(l.rows, r)
	return l
}

func TestRecordsOfTwoPatientsAreRefused(t *testing.T) {
	first, second := exported(t, single().write(t)), exported(t, child().write(t))
	if _, err := FromRecords([]string{first, second}); !errors.Is(err, ErrTwoPatients) {
		t.Errorf("error %v", err)
	}
}

// One file without its manifest is enough, and what it does not hold is said.
func TestOneBundleAlone(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(exported(t, single().write(t)), "session-*.json"))
	if err != nil || len(files) != 1 {
		t.Fatalf("%v, %v", files, err)
	}
	alone := filepath.Join(t.TempDir(), "one.json")
	data, err := os.ReadFile(files[0])
	if err == nil {
		err = os.WriteFile(alone, data, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	record, err := FromRecords([]string{alone})
	if err != nil {
		t.Fatal(err)
	}
	report, err := Make(record, tool)
	if err != nil || !strings.Contains(string(report.HTML), "Records hold no prescribed time") {
		t.Errorf("%v\n%s", err, report.HTML)
	}
}

// A value ten times off is drawn off the axis with its number, and the axis
// stays that of the others.
func TestSlipIsDrawnOffTheAxis(t *testing.T) {
	l := child()
	l.rows[20]["recovery_min"] = "3000"
	page := made(t, l.write(t), tool).Page
	for _, p := range page.chart.panels {
		if p.title != "Time to recover" {
			continue
		}
		if a := p.axis(); a.high > 100 || !a.off(3000) {
			t.Errorf("the axis ends at %g", a.high)
		}
		if text := visible(made(t, l.write(t), tool).HTML); !strings.Contains(text, "3000 off the axis") {
			t.Error("the number is not written")
		}
		return
	}
	t.Error("no panel")
}

// A time from start and end, not from the machine, is hollow, and that is
// said.
func TestHollowMarksAreExplained(t *testing.T) {
	l := child()
	const words = "hollow: from start and end"
	if strings.Contains(visible(made(t, l.write(t), tool).HTML), words) {
		t.Error("said without a hollow mark")
	}
	delete(l.rows[3], "treated_min")
	if !strings.Contains(visible(made(t, l.write(t), tool).HTML), words) {
		t.Error("not said")
	}
}
