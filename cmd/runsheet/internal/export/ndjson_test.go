package export

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// The manifest has what a reader of Bulk Data needs, and the line map names the
// cells of each line, as the manifest of the sessions does for each resource.
func TestBulkManifest(t *testing.T) {
	write := func(form Form) (dir string, m manifest.Manifest) {
		t.Helper()
		log, findings := readAndChecked(t, func() (*session.Log, []issue.Finding, error) {
			return session.ReadFolder(data+"/month", session.Options{})
		})
		opts := Options{Mapping: tool, Form: form, Out: filepath.Join(t.TempDir(), "out")}
		opts.Mapping.Patient = "Patient/1"
		if form == NDJSON {
			opts.Mapping.References = fhirmap.ByTypeID
		}
		if _, _, err := Write(context.Background(), log, findings, opts); err != nil {
			t.Fatal(err)
		}
		text, err := os.ReadFile(filepath.Join(opts.Out, manifest.Name))
		if err == nil {
			err = json.Unmarshal(text, &m)
		}
		if err != nil {
			t.Fatal(err)
		}
		return opts.Out, m
	}
	cells := map[string][]issue.Cell{} // by identity
	_, sessions := write(Sessions)
	if sessions.Bulk != nil {
		t.Errorf("%+v", sessions.Bulk)
	}
	for _, f := range sessions.Files {
		for _, r := range f.Resources {
			cells[r.ID] = r.Cells
		}
	}
	dir, m := write(NDJSON)
	if m.Bulk == nil || m.RequiresAccessToken || m.Request != "urn:uuid:"+m.Log.ID || m.Error == nil || len(m.Output) < 5 {
		t.Fatalf("%+v", m.Bulk)
	}
	last := lastEntered(t)
	if at, err := time.Parse(time.RFC3339, m.TransactionTime); err != nil || !at.Equal(last) {
		t.Errorf("%s, want %s", m.TransactionTime, last)
	}
	mapped := lineCells(t, dir)
	for _, out := range m.Output {
		text, err := os.ReadFile(filepath.Join(dir, out.URL))
		if err != nil || bytes.Count(text, []byte("\n")) != out.Count {
			t.Errorf("%+v, %v", out, err)
		}
		for i, line := range bytes.Split(bytes.TrimSpace(text), []byte("\n")) {
			var r struct{ ResourceType, ID string }
			if err := json.Unmarshal(line, &r); err != nil || r.ResourceType != out.Type {
				t.Fatalf("%s, %v", line, err)
			}
			want := [][]string{}
			for _, c := range cells[r.ID] {
				want = append(want, []string{c.File, c.Sheet, number(c.Row), number(c.Column), c.Heading})
			}
			if len(want) == 0 {
				want = append(want, make([]string, 5))
			}
			got := mapped[out.URL+":"+number(i+1)]
			if a, b := asJSON(got), asJSON(want); a != b {
				t.Fatalf("%s line %d: %s, want %s", out.URL, i+1, a, b)
			}
			delete(mapped, out.URL+":"+number(i+1))
		}
	}
	if len(mapped) > 0 {
		t.Errorf("lines that are not there: %v", mapped)
	}
}

func asJSON(value any) string {
	text, _ := json.Marshal(value)
	return string(text)
}

// lastEntered is the last entered_at of the month.
func lastEntered(t *testing.T) (last time.Time) {
	t.Helper()
	log, _ := readAndChecked(t, func() (*session.Log, []issue.Finding, error) {
		return session.ReadFolder(data+"/month", session.Options{})
	})
	for _, s := range log.Sessions {
		if s.EnteredAt.OK() && s.EnteredAt.Time.After(last) {
			last = s.EnteredAt.Time
		}
	}
	return last
}

// lineCells reads the line map: the cells by FILE:LINE.
func lineCells(t *testing.T, dir string) map[string][][]string {
	t.Helper()
	file, err := os.Open(filepath.Join(dir, manifest.LineMap))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil || len(rows) < 1000 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	out := map[string][][]string{}
	for _, r := range rows[1:] {
		out[r[0]+":"+r[1]] = append(out[r[0]+":"+r[1]], r[2:])
	}
	return out
}
