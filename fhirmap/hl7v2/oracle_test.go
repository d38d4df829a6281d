package hl7v2

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/manifest"
)

const testdata = "../../testdata"

// row is a segment as another program reads it.
type row struct {
	ID, Name string
	Fields   [][]string
}

// at is a component, both from 1; MSH-1 is Fields[0] of the header.
func (r row) at(field, component int) string {
	if field >= len(r.Fields) || component > len(r.Fields[field]) {
		return ""
	}
	return strings.ReplaceAll(r.Fields[field][component-1], "\r", "\n")
}

// read has a batch read by another program: by @medplum/core, or by the command
// in RUNSHEET_HL7_READER, which writes the same (.ci/interop).
func read(t *testing.T, batch []byte) []row {
	t.Helper()
	if os.Getenv("RUNSHEET_NO_ORACLE") == "1" {
		t.Skip("RUNSHEET_NO_ORACLE=1: not compared with independent engines")
	}
	script := filepath.Join(testdata, "oracle", "hl7.mjs")
	if _, err := os.ReadFile(script); err != nil { // so that the result of the test depends on it
		t.Fatal(err)
	}
	command := []string{"node", script}
	if other := os.Getenv("RUNSHEET_HL7_READER"); other != "" {
		command = strings.Fields(other)
	}
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Stdin = bytes.NewReader(batch)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, stderr.String())
	}
	var rows []row
	decoder := json.NewDecoder(bytes.NewReader(out))
	for decoder.More() {
		var r row
		if err := decoder.Decode(&r); err != nil {
			t.Fatal(err)
		}
		rows = append(rows, r)
	}
	return rows
}

func logOf(t *testing.T, folder string) *session.Log {
	t.Helper()
	log, _, err := session.ReadFolder(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return log
}

var options = fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "test"}}

// batchOf writes all records of a log as a batch.
func batchOf(t *testing.T, log *session.Log, month *fhirmap.Month) []byte {
	t.Helper()
	about := Log{log.About.LogID, log.About.PatientSystem, log.About.PatientValue}
	var batch Batch
	var text, out bytes.Buffer
	for _, record := range month.Records() {
		m, err := New(about, Record{Identity: record.ID, Resources: record.Resources})
		if err != nil {
			t.Fatal(err)
		}
		batch.Add(m)
		text.Write(m.Text)
	}
	if err := batch.Write(&out, about, func(to io.Writer) error { _, err := to.Write(text.Bytes()); return err }); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// awkward holds all that a message must not mistake for its own.
const awkward = "a|b^c&d~e\\f \\F\\ \\.br\\ \\X0D\\ ÄÖÜ äöüß 血 😀\ttab\nnext line\r\nlast|"

// awkwardNight puts such a text wherever the log of a session takes one.
func awkwardNight(s *session.Session) {
	text := session.Text{Text: awkward, Absence: session.Present}
	s.Reason = text
	s.Texts["notes"], s.Texts["dialyser"], s.Texts["access"], s.Texts["needle_problems"] = text, text, text, text
	for _, r := range s.Readings {
		r.Note = text
	}
	for _, e := range s.Events {
		e.What, e.Action, e.AlarmNumber = text, text, text
	}
	for _, m := range s.Medicines {
		m.Name = text
	}
	for _, c := range s.Checks {
		c.ByWhom, c.Words = text, text
	}
	for _, l := range s.Labs {
		l.Laboratory, l.Test = text, text
	}
}

// yearOf writes the demo month thirteen times, four weeks apart.
func yearOf(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	files, err := filepath.Glob(testdata + "/month/*")
	if err != nil || len(files) == 0 {
		t.Fatal(err)
	}
	day := regexp.MustCompile(`\b20\d\d-\d\d-\d\d`)
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		out := text
		for month := 1; month < 13 && filepath.Ext(file) == ".csv"; month++ {
			_, rows, _ := bytes.Cut(text, []byte("\n"))
			out = append(out, day.ReplaceAllFunc(rows, func(date []byte) []byte {
				at, _ := time.Parse(time.DateOnly, string(date))
				return []byte(at.AddDate(0, 0, -28*month).Format(time.DateOnly))
			})...)
		}
		if err := os.WriteFile(filepath.Join(dir, filepath.Base(file)), out, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// Another program reads every message, and every value of the FHIR record
// stands in it, once, with its unit, time and status, and nothing else does.
func TestValuesAreThoseOfTheRecord(t *testing.T) {
	month := func(t *testing.T) *session.Log { return logOf(t, testdata+"/month") }
	for name, test := range map[string]struct {
		log   func(t *testing.T) *session.Log
		opts  fhirmap.Options
		least int // values
	}{
		"month": {month, options, 2500},
		"awkward night": {func(t *testing.T) *session.Log {
			log := month(t)
			for _, s := range log.Sessions {
				awkwardNight(s)
			}
			return log
		}, options, 2500},
		"without notes": {month, fhirmap.Options{Options: manifest.Options{NoNotes: true, Display: fhirmap.NoDisplay, Series: fhirmap.FirstAndLast}, Tool: options.Tool}, 1500},
		"year":          {func(t *testing.T) *session.Log { return logOf(t, yearOf(t)) }, options, 30000},
	} {
		t.Run(name, func(t *testing.T) {
			log := test.log(t)
			mapped, err := fhirmap.Map(log, test.opts)
			if err != nil {
				t.Fatal(err)
			}
			addReport(t, log, test.opts, mapped)
			got, notes, record := map[string][]string{}, map[string]bool{}, ""
			ids, keys := map[string]bool{}, map[string]bool{}
			for _, r := range read(t, batchOf(t, log, mapped)) {
				ids[r.ID] = true
				switch r.Name {
				case "MSH":
					if len(r.ID) != 20 || r.at(8, 3) != "ORU_R01" || r.at(11, 1) != "2.5.1" || r.at(17, 1) != "UNICODE UTF-8" {
						t.Fatalf("header %q", r.Fields)
					}
				case "PID":
					if r.at(3, 1) != log.About.PatientValue || r.at(3, 4) != "&"+strings.TrimPrefix(log.About.PatientSystem, "urn:oid:")+"&ISO" || r.at(5, 7) != "U" {
						t.Fatalf("patient %q", r.Fields)
					}
				case "OBR":
					record = r.at(3, 1)
					got[record] = append(got[record], nil...) // listed also without values
				case "OBX":
					got[record] = append(got[record], r.value())
					key := strings.Join([]string{record, r.at(3, 1), r.at(3, 3), r.at(4, 1)}, " ")
					if keys[key] {
						t.Errorf("two values with the key %s", key)
					}
					keys[key] = true
				case "NTE":
					notes[record+r.at(3, 1)] = true
				}
			}
			if len(ids) != len(got) {
				t.Errorf("%d ids of %d messages", len(ids), len(got))
			}
			values := 0
			for _, record := range mapped.Records() {
				want := valuesOf(t, record)
				values += len(want)
				if diff := cmp.Diff(want, got[record.ID]); diff != "" {
					t.Errorf("%s (- record, + message):\n%s", record.Label(), diff)
				}
				for _, note := range notesOf(record) {
					if !notes[record.ID+note] {
						t.Errorf("%s: the note %q is in no NTE", record.Label(), note)
					}
				}
			}
			if values < test.least || len(got) != len(mapped.Records()) {
				t.Errorf("%d values in %d messages, of %d records", values, len(got), len(mapped.Records()))
			}
			t.Logf("%d values in %d messages", values, len(got))
		})
	}
}

// addReport adds a report with a page.
func addReport(t *testing.T, log *session.Log, opts fhirmap.Options, month *fhirmap.Month) {
	t.Helper()
	mapping, err := fhirmap.NewMapping(log, opts)
	if err != nil {
		t.Fatal(err)
	}
	span := fhirmap.Span{From: time.Date(2025, 10, 20, 0, 0, 0, 0, time.UTC), To: time.Date(2025, 11, 16, 0, 0, 0, 0, time.UTC)}
	report, err := mapping.Report(fhirmap.Report{
		Span: span, Title: "Report", Language: "en", PDF: bytes.Repeat([]byte("%PDF-1.3\n|^~\\&\xff"), 5000), HTML: []byte("<p>page</p>"),
		Summaries: []fhirmap.Summary{{Span: span, Key: "weight_after", Unit: "kg", Median: "70.0", Least: "69.90", Greatest: "71", Count: 20, Sessions: 21}},
	})
	if err != nil {
		t.Fatal(err)
	}
	month.Add(*report)
}

// value is an OBX as one text.
func (r row) value() string {
	value := strings.Join(r.components(5), "^")
	if r.at(2, 1) == "CWE" {
		value = strings.Join([]string{r.at(5, 1), r.at(5, 2) + r.at(5, 9)}, "^") // with one text
	}
	return fmt.Sprintf("%s %s %s %q %s %s %s", r.at(3, 1), r.at(4, 1), r.at(2, 1), value, r.at(6, 1), r.at(11, 1), r.at(14, 1))
}

func (r row) components(field int) []string {
	var out []string
	if field < len(r.Fields) {
		for i := range r.Fields[field] {
			out = append(out, r.at(field, i+1))
		}
	}
	return out
}
