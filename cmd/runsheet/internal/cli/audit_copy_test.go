package cli

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/validate/manifest"
)

// leakSearch is what testdata/oracle/leaks.mjs prints.
type leakSearch struct {
	Hits     []string
	Searched int
	Shifts   []int
}

func searchLeaks(t *testing.T, source, copied string) (found leakSearch) {
	t.Helper()
	text, err := exec.Command("node", "../../../../testdata/oracle/leaks.mjs", source, copied, "HHD-", "Saltmere", "Europe/", "America/").Output()
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &found); err != nil {
		t.Fatal(err)
	}
	return found
}

// values are the rows that adequacy prints of records, without what a copy
// changes: the session, the day and the words for why there is no value.
func values(t *testing.T, records string) (rows []string) {
	t.Helper()
	table, _ := command(t, exitDone, "adequacy", records, "--format", "csv")
	printed, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range printed[1:] {
		row[0], row[6] = "", ""
		if len(row[1]) >= len("2025-10-26") {
			row[1] = row[1][len("2025-10-26"):]
		}
		rows = append(rows, strings.Join(row, "|"))
	}
	slices.Sort(rows)
	return rows
}

// The copy of every log has none of its names, texts and dates, by the search of
// a program that shares nothing with ours; it is whole and valid, and its values
// are those of the log.
func TestPseudonymousCopies(t *testing.T) {
	dir := t.TempDir()
	key := filepath.Join(dir, "key")
	sheet := func(name, file string) []string {
		args := []string{monthLog + "/../sheets/" + name + "/" + file, "--map", monthLog + "/../sheets/" + name + "/map.toml"}
		if about := monthLog + "/../sheets/" + name + "/log.toml"; name == "american" || name == "german" {
			args = append(args, "--about", about)
		}
		return args
	}
	for name, log := range map[string][]string{
		"month":    {monthLog, "--report", "--serials", "--attach-log"},
		"document": {monthLog, "--as", "document"}, "lines": {monthLog, "--as", "ndjson", "--patient", "Patient/HHD-1", "--report"},
		"mistakes": {monthLog + "/../mistakes"}, "american": append(sheet("american", "log.csv"), "--provenance", "put", "--display", "none", "--create-patient", "--tag", "urn:x|Saltmere"), "german": sheet("german", "protokoll.csv"), "forms": sheet("forms", "seances.xlsx"),
		"rows": sheet("rows", "nights.csv"), "unit": sheet("unit", "november.xlsx"), "wide": sheet("wide", "readings.csv"),
	} {
		source, copied, want := filepath.Join(dir, name), filepath.Join(dir, "copy of "+name), exitDone
		to := source
		switch name {
		case "mistakes":
			want = exitFindings
		case "document":
			if err := os.Mkdir(source, 0o700); err != nil {
				t.Fatal(err)
			}
			to = filepath.Join(source, "month.json")
		}
		command(t, want, append([]string{"export", "-o", to}, log...)...)
		args := []string{"audit", source, "--pseudonymous", copied, "--key", key}
		if _, err := os.Stat(key); err != nil {
			args = append(args, "--new-key")
		}
		said, _ := command(t, exitDone, args...)
		contains(t, said, "A pseudonymous copy of 1 export", "It is still personal data", "Dropped:")
		if found := searchLeaks(t, source, copied); len(found.Hits) > 0 || found.Searched < 500 || len(found.Shifts) != 1 || found.Shifts[0]%7 != 0 || max(found.Shifts[0], -found.Shifts[0]) < 182 {
			t.Errorf("%s: %+v", name, found)
		}
		if name == "month" {
			if itself := searchLeaks(t, source, source); len(itself.Hits) < itself.Searched/3 {
				t.Errorf("the search finds %d of %d in the source itself", len(itself.Hits), itself.Searched)
			}
		}
		if name != "lines" { // adequacy reads no NDJSON
			if diff := cmp.Diff(values(t, source), values(t, copied)); diff != "" {
				t.Errorf("%s: %s", name, diff)
			}
		}
		if name == "document" || name == "mistakes" { // not whole, or not complete
			command(t, exitDone, "validate", copied)
			continue
		}
		verdicts, _ := command(t, exitDone, "audit", copied)
		contains(t, verdicts, "whole: yes", "recomputed: yes", "valid: yes")
		_, refused := command(t, exitCouldNotRun, "send", copied, "--to", "http://localhost:1")
		contains(t, refused, "cannot be sent")
	}
}

// Two patients of a unit have two offsets, and the age of somebody of 91 can be
// left out, with all that was computed from it.
func TestCopyOfAUnit(t *testing.T) {
	dir := t.TempDir()
	unit, key, log := filepath.Join(dir, "unit"), filepath.Join(dir, "key"), filepath.Join(dir, "log")
	if err := os.CopyFS(log, os.DirFS(monthLog)); err != nil {
		t.Fatal(err)
	}
	about, err := os.ReadFile(filepath.Join(log, "log.toml"))
	if err != nil {
		t.Fatal(err)
	}
	old := strings.NewReplacer("HHD-00042", "HHD-00043", "1966-", "1934-", "0ee84880", "1ee84880").Replace(string(about))
	if err := os.WriteFile(filepath.Join(log, "log.toml"), []byte(old), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, log := range map[string]string{"one": monthLog, "two": log} {
		command(t, exitDone, "export", log, "-o", filepath.Join(unit, name))
	}
	all, young := filepath.Join(dir, "all"), filepath.Join(dir, "young")
	said, _ := command(t, exitDone, "audit", unit, "--pseudonymous", all, "--key", key, "--new-key")
	contains(t, said, "2 exports", "2 patients", "Ages above 89 are in it: ")
	said, _ = command(t, exitDone, "audit", unit, "--pseudonymous", young, "--key", key, "--top-age", "90")
	contains(t, said, "Not there, and so not recomputable", "watson-male-1", "dialysate-kt-v-1")
	command(t, exitDone, "validate", young)
	folders, _ := os.ReadDir(all)
	from := map[string]bool{} // of the prescriptions, the same in both logs
	for _, f := range folders {
		text, err := os.ReadFile(filepath.Join(all, f.Name(), manifest.Name))
		var m manifest.Manifest
		if err != nil || json.Unmarshal(text, &m) != nil {
			t.Fatal(err)
		}
		from[m.Expected[0].From] = true
	}
	if len(folders) != 2 || len(from) != 2 || from["2025-10-01"] {
		t.Errorf("%d folders, prescriptions from %v", len(folders), from)
	}
	for _, f := range folders {
		files, _ := filepath.Glob(filepath.Join(young, f.Name(), "*.json"))
		for _, file := range files {
			if text, err := os.ReadFile(file); err != nil || strings.Contains(string(text), `"value":91,"unit":"years"`) {
				t.Errorf("%s: an age of 91 (%v)", file, err)
			}
		}
	}
}
