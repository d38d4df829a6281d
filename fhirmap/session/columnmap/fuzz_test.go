package columnmap_test

import (
	"os"
	"path/filepath"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/columnmap"
)

// Any map and any sheet: no panic, a map that is accepted can be used, and a
// draft is always a map.
func FuzzRead(f *testing.F) {
	for _, name := range sheetNames {
		full := filepath.Join(sheetsDir, name)
		sheet, err1 := os.ReadFile(full)
		text, err2 := os.ReadFile(filepath.Join(filepath.Dir(full), "map.toml"))
		if err1 != nil || err2 != nil {
			f.Fatal(err1, err2)
		}
		if filepath.Ext(name) == ".csv" {
			f.Add(string(text), string(sheet))
		}
	}
	f.Add(small, head+"03/11/2025,18:00,22:00,160.5,142/78\n")
	f.Fuzz(func(t *testing.T, text, sheet string) {
		draft, err := columnmap.SuggestFor([]byte(sheet), "a.csv")
		if err == nil {
			if _, err := columnmap.Parse([]byte(draft.Text), "draft.toml"); err != nil {
				t.Fatalf("the draft is no map: %v\n%s", err, draft.Text)
			}
		}
		m, err := columnmap.Parse([]byte(text), "map.toml")
		if err != nil {
			return
		}
		path := filepath.Join(t.TempDir(), "a.csv")
		if err := os.WriteFile(path, []byte(sheet), 0o600); err != nil {
			t.Fatal(err)
		}
		log, findings, err := columnmap.Read(path, m, &columnmap.About{Name: "log.toml", Text: []byte(aboutText)}, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range log.Sessions {
			if s.Entry() == "" && len(s.Values) > 0 && s.ID == "" && s.Date.OK() {
				t.Errorf("a dated session has no name: %+v", findings)
			}
		}
	})
}

// Any bytes in the place of a workbook.
func FuzzWorkbook(f *testing.F) {
	for _, name := range sheetNames {
		if filepath.Ext(name) == ".xlsx" {
			data, err := os.ReadFile(filepath.Join(sheetsDir, name))
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
	f.Add([]byte("PK"))
	form, err := columnmap.Load(filepath.Join(sheetsDir, "forms", "map.toml"))
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		draft, err := columnmap.SuggestFor(data, "a.xlsx")
		if err == nil {
			if _, err := columnmap.Parse([]byte(draft.Text), "draft.toml"); err != nil {
				t.Fatalf("the draft is no map: %v\n%s", err, draft.Text)
			}
		}
		path := filepath.Join(t.TempDir(), "a.xlsx")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, _, err := columnmap.Read(path, form, nil, session.Options{}); err != nil {
			t.Fatal(err)
		}
	})
}
