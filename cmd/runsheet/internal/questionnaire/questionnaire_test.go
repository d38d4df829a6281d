package questionnaire

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

const month = "../../../../testdata/month"

var today = session.Options{Today: time.Date(2025, 12, 1, 0, 0, 0, 0, time.UTC)}

// The form is valid R4 in each language, and every column of the log is a
// question of it.
func TestForm(t *testing.T) {
	for _, language := range []issue.Language{issue.English, issue.German} {
		text, err := Bytes(Options{LogID: "0ee84880-ea27-4eaa-a5d9-a0c472f1caf2", Language: language})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range validate.New(validate.Options{Schema: true}).Bytes(text, "form.json") {
			if f.Severity > issue.Information {
				t.Errorf("%s: %s", f.Expression, f.Details)
			}
		}
		for _, c := range session.Columns {
			if c.Sheet != session.SheetAnswers && !strings.Contains(string(text), `"`+string(c.Sheet)+"."+c.Name+`"`) {
				t.Errorf("%s.%s is not asked", c.Sheet, c.Name)
			}
		}
	}
	us, err := Bytes(Options{Units: session.USUnits, Short: true})
	if err != nil || !strings.Contains(string(us), `"sessions.weight_before_lb"`) || strings.Contains(string(us), `"checks"`) {
		t.Errorf("%v: %s", err, us)
	}
}

// answers is a log folder as a response; numbers as the form asks for them.
func answers(t *testing.T) map[string]any {
	t.Helper()
	grid, _, err := session.ReadGrid(os.DirFS(month))
	if err != nil {
		t.Fatal(err)
	}
	var groups []any
	for _, p := range grid.About {
		var items []any
		for _, e := range p.Entries {
			items = append(items, answerOf(p.Name+"."+e.Key, e.Text, e.Bare))
		}
		groups = append(groups, map[string]any{"linkId": p.Name, "item": items})
	}
	for _, table := range grid.Tables {
		if table.Sheet == session.SheetAnswers {
			continue
		}
		for _, row := range table.Rows {
			var items []any
			for i, text := range row {
				column := session.Headed(table.Sheet, table.Headings[i])
				if text != "" {
					_, err := session.ParseDecimal(text, '.')
					items = append(items, answerOf(string(table.Sheet)+"."+table.Headings[i], text, column.Kind == session.KindNumber && err == nil))
				}
			}
			groups = append(groups, map[string]any{"linkId": string(table.Sheet), "item": items})
		}
	}
	return map[string]any{"resourceType": "QuestionnaireResponse", "questionnaire": URL + "|1", "status": "completed", "item": groups}
}

func answerOf(linkID, text string, isNumber bool) any {
	value := map[string]any{"valueString": text}
	if isNumber {
		value = map[string]any{"valueDecimal": json.RawMessage(text)}
	}
	return map[string]any{"linkId": linkID, "answer": []any{value}}
}

func read(t *testing.T, response any) (*session.Log, []issue.Finding) {
	t.Helper()
	text, err := json.Marshal(response)
	if err != nil {
		t.Fatal(err)
	}
	log, findings, err := Read(text, "response.json", today)
	if err != nil {
		t.Fatal(err)
	}
	return log, findings
}

// A month answered in the form is the same record as the month as a folder: every
// resource, but for the Provenance, which names the file.
func TestResponseIsTheLog(t *testing.T) {
	folder, _, err := session.ReadFolder(month, today)
	if err != nil {
		t.Fatal(err)
	}
	log, findings := read(t, answers(t))
	for _, f := range findings {
		if f.Severity > issue.Information {
			t.Errorf("%v: %s", f.Cells, f.Details)
		}
	}
	opts := fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "0"}}
	want, err := fhirmap.Map(folder, opts)
	if err != nil {
		t.Fatal(err)
	}
	got, err := fhirmap.Map(log, opts)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Sessions) != len(want.Sessions) {
		t.Fatalf("%d sessions", len(got.Sessions))
	}
	for i, s := range want.Sessions {
		for j, r := range s.Resources {
			if other := got.Sessions[i].Resources[j]; r.Type != "Provenance" && string(other.JSON) != string(r.JSON) {
				t.Errorf("%s\nis not\n%s", other.JSON, r.JSON)
			}
		}
	}
}

// group and question find a part of a response by its linkId.
func group(response map[string]any, linkID string) map[string]any {
	for _, g := range response["item"].([]any) {
		if g := g.(map[string]any); g["linkId"] == linkID {
			return g
		}
	}
	return nil
}

func set(response map[string]any, linkID string, answers ...any) {
	name, _ := split(linkID)
	g := group(response, name)
	items := slices.DeleteFunc(g["item"].([]any), func(i any) bool { return i.(map[string]any)["linkId"] == linkID })
	g["item"] = append(items, map[string]any{"linkId": linkID, "answer": answers})
}

// What the form does not ask is an error at its linkId, and holds everything back.
func TestFaults(t *testing.T) {
	type m = map[string]any
	for _, test := range []struct {
		name   string
		change func(r m)
		at     string
		text   string
	}{
		{"unknown question", func(r m) { set(r, "sessions.mood", m{"valueString": "good"}) }, "sessions.mood", "no such question"},
		{"unknown key", func(r m) { set(r, "patient.mood", m{"valueString": "good"}) }, "patient.mood", "no such question"},
		{"question of another group", func(r m) {
			g := group(r, "sessions")
			g["item"] = append(g["item"].([]any), m{"linkId": "readings.note", "answer": []any{m{"valueString": "x"}}})
		}, "readings.note", "no such question"},
		{"unknown group", func(r m) { r["item"] = append(r["item"].([]any), m{"linkId": "moods"}) }, "moods", "no such group"},
		{"group twice", func(r m) { r["item"] = append(r["item"].([]any), group(r, "patient")) }, "patient", "twice"},
		{"two answers", func(r m) {
			set(r, "sessions.weight_before_kg", m{"valueDecimal": json.RawMessage("72.4")}, m{"valueDecimal": json.RawMessage("72.5")})
		}, "sessions.weight_before_kg", "answered twice"},
		{"asked twice", func(r m) {
			g := group(r, "sessions")
			g["item"] = append(g["item"].([]any), g["item"].([]any)[1])
		}, "sessions.date", "answered twice"},
		{"another unit", func(r m) {
			set(r, "sessions.weight_before_kg", m{"valueQuantity": m{"value": 160, "code": "[lb_av]"}})
		}, "sessions.weight_before_kg", "in this unit"},
		{"another type", func(r m) {
			set(r, "sessions.weight_before_kg", m{"valueAttachment": m{"url": "x"}})
		}, "sessions.weight_before_kg", "of this type"},
		{"a choice of another form", func(r m) {
			set(r, "sessions.status", m{"valueCoding": m{"code": "finished"}})
		}, "sessions.status", "of this type"},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := answers(t)
			test.change(r)
			log, findings := read(t, r)
			at := slices.IndexFunc(findings, func(f issue.Finding) bool { return f.Rule == "log-form-item" })
			if at < 0 || findings[at].Severity != issue.Error || findings[at].Cells[0].Heading != test.at || !strings.Contains(findings[at].Details.String(), test.text) {
				t.Fatalf("%+v", findings)
			}
			for _, s := range log.Sessions {
				if !s.Broken {
					t.Errorf("session %s is exported", s.ID)
				}
			}
		})
	}
}

// Answers keep their digits, and may be of any type that says the same.
func TestAnswers(t *testing.T) {
	type m = map[string]any
	r := answers(t)
	set(r, "sessions.weight_before_kg", m{"valueQuantity": m{"value": json.RawMessage("72.40"), "code": "kg"}})
	set(r, "sessions.start", m{"valueTime": "18:35:00"})
	set(r, "sessions.status", m{"valueCoding": m{"display": "done"}})
	set(r, "sessions.temperature_before_c", m{"valueString": "not done"})
	log, _ := read(t, r)
	s := log.Sessions[0]
	if w := s.Value("weight_before"); w.Text != "72.40" || w.Cell.String() != "response.json sessions I2 (weight_before_kg)" && w.Cell.Heading != "weight_before_kg" {
		t.Errorf("%+v", w)
	}
	if s.Start.Text != "18:35" || s.Status != session.Done || s.Value("temperature_before").Absence != session.NotDone {
		t.Errorf("%+v %v %+v", s.Start, s.Status, s.Value("temperature_before"))
	}
}

func TestNotAResponse(t *testing.T) {
	for text, want := range map[string]string{
		`{`:                         "expected a FHIR QuestionnaireResponse",
		`{"resourceType":"Bundle"}`: "expected a FHIR QuestionnaireResponse",
		`{"resourceType":"QuestionnaireResponse","questionnaire":"https://other.example/form"}`:              "it answers the form",
		`{"resourceType":"QuestionnaireResponse","questionnaire":"` + URL + `","status":"entered-in-error"}`: "was withdrawn",
	} {
		if _, _, err := Read([]byte(text), "x.json", today); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// No response stops the reader.
func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"resourceType":"QuestionnaireResponse","questionnaire":"` + URL + `","item":[{"linkId":"sessions","item":[{"linkId":"sessions.date","answer":[{"valueDate":"2025-11-03"}]}]}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		log, _, err := Read(text, "x.json", today)
		if err == nil && log == nil {
			t.Error("neither a log nor an error")
		}
	})
}
