package export

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/validate/issue"
)

// canary is a name that stands in every text cell of a log.
const canary = "Quillfeather"

// stays are the text columns that are kept without free text: keys, codes,
// the name that picks a prescription, lots and days.
var stays = []string{"session", "code_system", "code", "prescription", "lot", "expires"}

// withCanary is the demo month with the canary in every text cell of its CSV
// files and in every text of log.toml that is no identifier and no word of a
// list.
func withCanary(t *testing.T) fstest.MapFS {
	t.Helper()
	folder := fstest.MapFS{}
	text := map[string]bool{}
	for _, c := range session.Columns {
		text[string(c.Sheet)+" "+c.Name] = c.Kind == session.KindText && !slices.Contains(stays, c.Name)
	}
	files, err := filepath.Glob(data + "/month/*.csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		file, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(file)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		sheet := strings.TrimSuffix(filepath.Base(name), ".csv")
		for i, row := range rows[1:] {
			for j, heading := range rows[0] {
				if text[sheet+" "+heading] {
					row[j] = fmt.Sprintf("%s %d", canary, i)
				}
			}
		}
		var out bytes.Buffer
		if err := csv.NewWriter(&out).WriteAll(rows); err != nil {
			t.Fatal(err)
		}
		folder[filepath.Base(name)] = &fstest.MapFile{Data: out.Bytes()}
	}
	about, err := os.ReadFile(data + "/month/log.toml")
	if err != nil {
		t.Fatal(err)
	}
	words := regexp.MustCompile(`(?m)^(name|site|dialyser|anticoagulant) = ".*"`)
	folder["log.toml"] = &fstest.MapFile{Data: words.ReplaceAll(about, []byte(`$1 = "`+canary+`"`))}
	return folder
}

// A name in every text cell is in no file of any form without free text, and
// in every form with it; all else is the same number of sessions.
func TestNoFreeTextLeaves(t *testing.T) {
	folder := withCanary(t)
	for _, form := range []Form{Sessions, NDJSON, Collection, Document} {
		for _, noNotes := range []bool{true, false} {
			log, findings, err := session.ReadFS(folder, session.Options{})
			if err != nil {
				t.Fatal(err)
			}
			findings = append(findings, check.Check(log, nil)...)
			opts := Options{Mapping: tool, Form: form, Out: filepath.Join(t.TempDir(), "out")}
			opts.Mapping.CreatePatient, opts.Mapping.NoNotes, opts.Mapping.Serials = form == NDJSON, noNotes, true
			if form == NDJSON {
				opts.Mapping.References = 1
			}
			result, findings, err := Write(context.Background(), log, findings, opts)
			if err != nil || result.Sessions < 20 {
				t.Fatalf("%s: %d sessions (%v)", form, result.Sessions, err)
			}
			for _, f := range findings {
				if f.Rule == "log-record" {
					t.Errorf("%s: %s %v", form, f.Details, f.Cells)
				}
			}
			found := 0
			err = filepath.WalkDir(opts.Out, func(path string, d fs.DirEntry, err error) error {
				if err != nil || d.IsDir() {
					return err
				}
				text, err := os.ReadFile(path)
				if at := bytes.Index(text, []byte(canary)); at >= 0 {
					found++
					if noNotes {
						t.Errorf("%s, %s: …%s", form, filepath.Base(path), text[max(0, at-200):at+len(canary)])
					}
				}
				return err
			})
			if err != nil || !noNotes && found == 0 {
				t.Errorf("%s: the name is nowhere with free text either (%v)", form, err)
			}
		}
	}
}

// A medicine that our own table knows keeps its name.
func TestKnownWordsStay(t *testing.T) {
	log, findings := readAndChecked(t, func() (*session.Log, []issue.Finding, error) {
		return session.ReadFolder(data+"/month", session.Options{})
	})
	opts := Options{Mapping: tool, Form: Collection, Out: filepath.Join(t.TempDir(), "out.json")}
	opts.Mapping.NoNotes = true
	if _, _, err := Write(context.Background(), log, findings, opts); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(opts.Out)
	if err != nil || !bytes.Contains(text, []byte(`"text":"heparin"`)) {
		t.Errorf("heparin lost its name (%v)", err)
	}
}
