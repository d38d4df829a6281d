package audit_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/audit"
)

// rows are what some programs write, to which the lines of the patients are dealt
// out in turn, and the last program gets the first patients.
func rows(t *testing.T, programs int, dirs []string, opts audit.Options) (out [][]byte) {
	t.Helper()
	var lines bytes.Buffer
	must(t, audit.Lines(dirs, &lines, opts))
	shards := make([]bytes.Buffer, programs)
	patients := []string{}
	for _, text := range bytes.SplitAfter(lines.Bytes(), []byte("\n")) {
		var line audit.Line
		if len(text) == 0 {
			continue
		}
		must(t, json.Unmarshal(text, &line))
		if !slices.Contains(patients, line.Patient) {
			patients = append(patients, line.Patient)
		}
		shards[programs-1-slices.Index(patients, line.Patient)%programs].Write(text)
	}
	for i := range shards {
		var shard bytes.Buffer
		must(t, audit.Shard(t.Context(), &shards[i], &shard, audit.Options{Validate: opts.Validate}))
		out = append(out, shard.Bytes())
	}
	return out
}

// written writes each text into a file of its own.
func written(t *testing.T, texts ...[]byte) (paths []string) {
	t.Helper()
	for _, text := range texts {
		path := filepath.Join(t.TempDir(), "rows.ndjson")
		must(t, os.WriteFile(path, text, 0o600))
		paths = append(paths, path)
	}
	return paths
}

// sameByParts holds that an audit in parts gives the same report in every form.
func sameByParts(t *testing.T, whole *audit.Report, dirs []string, opts audit.Options) {
	t.Helper()
	merged, err := audit.Merge(written(t, rows(t, 2, dirs, opts)...), opts)
	must(t, err)
	for _, format := range audit.Formats {
		var one, parts bytes.Buffer
		must(t, whole.Print(&one, format, true))
		must(t, merged.Print(&parts, format, true))
		if one.String() != parts.String() {
			t.Errorf("%s differs:\n%s\n%s", format, one.String(), parts.String())
		}
	}
}

var measured = regexp.MustCompile(`\d\.\d`)

// Tasks that run twice change nothing, and tasks that are lost, or of another
// audit, are an error that names a patient. Rows have no measured value.
func TestMerge(t *testing.T) {
	u := unit(t)
	dirs := []string{filepath.Join(u, "N-1", "2025-01"), filepath.Join(u, "N-2", "2025-01"), filepath.Join(u, "N-2", "2025-02"), filepath.Join(u, "N-3", "2025-03")}
	editValue(t, dirs[0])
	opts := audit.Options{From: first, To: last, Roster: rosterOf(t, nil)}
	parts := rows(t, 3, dirs, opts)
	want := run(t, opts, dirs...)
	for _, text := range []string{"recomputed calc-value-differs N-1/2025-01/session", "complete audit-patient-absent row 7"} {
		if !slices.Contains(found(want, u), text) {
			t.Errorf("not found: %s", text)
		}
	}
	for _, text := range bytes.SplitAfter(bytes.Join(parts, nil), []byte("\n")) {
		for _, other := range []string{system, `"version":"0.1.0"`} {
			text = bytes.ReplaceAll(text, []byte(other), nil)
		}
		if at := measured.FindIndex(text); at != nil {
			t.Errorf("a row has a value: %.200s", text[max(at[0]-100, 0):])
		}
	}
	merge := func(texts ...[]byte) (string, error) {
		r, err := audit.Merge(written(t, texts...), opts)
		if err != nil {
			return "", err
		}
		var out bytes.Buffer
		must(t, r.Print(&out, "text", true))
		return out.String(), nil
	}
	var wanted bytes.Buffer
	must(t, want.Print(&wanted, "text", true))
	for name, texts := range map[string][][]byte{
		"once": parts, "in one file": {bytes.Join(parts, nil)}, "one twice": append(slices.Clone(parts), parts[1]), "all twice": append(slices.Clone(parts), bytes.Join(parts, nil)),
	} {
		if got, err := merge(texts...); err != nil || got != wanted.String() {
			t.Errorf("%s: %v\n%s", name, err, got)
		}
	}
	for want, texts := range map[string][][]byte{
		`no row of 1 patient: ` + system + `|N-2`:                    {parts[1], parts[2]},
		"the row about all patients is missing":                      {parts[0], parts[1]},
		"which differs from that in":                                 append(slices.Clone(parts), bytes.ReplaceAll(parts[0], []byte("2025-02-0"), []byte("2025-02-1"))),
		"rows of a part of the files of 1 patient: ":                 {bytes.Replace(parts[0], []byte(`"lines":4`), []byte(`"lines":3`), 1), parts[1], parts[2]},
		"another row about all patients":                             append(slices.Clone(parts), []byte(`{"unit":{"patients":{}}}`)),
		"not a row of audit --shard":                                 append(slices.Clone(parts), []byte(`{"resourceType":"Bundle"}`)),
		"rows of others than were found: 1 patient: somebody":        append(slices.Clone(parts), []byte(`{"patient":"somebody"}`)),
		"a session is of no export":                                  {bytes.Replace(parts[0], []byte(`"export":1`), []byte(`"export":7`), 1), parts[1], parts[2]},
		"byte 0: not a row of audit --shard: unexpected end of JSON": append(slices.Clone(parts), parts[1][:100]),
	} {
		if got, err := merge(texts...); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s\n%s", err, want, got)
		}
	}
}

// Lines that are no lines, not sorted, or lead out of the folder, are refused,
// and nothing is left of the others.
func TestShardRefuses(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	for text, want := range map[string]string{
		`{"patient":"a","export":"x","file":"../b.json"}`:                                             "is no name of a file",
		`{"patient":"a","export":"x","file":"/b.json"}`:                                               "is no name of a file",
		`{"patient":"a","export":"x","file":".."}`:                                                    "is no name of a file",
		`{"patient":"a","export":"x"}`:                                                                "is no name of a file",
		`{"patient":"a","export":"x","file":"b.json"}{"patient":"a","export":"x","file":"a.json"}`:    "not sorted",
		`{"patient":"a","export":"x","file":"b.json"}{"patient":"a","export":"x","file":"b.json"}`:    "not sorted",
		`{"patient":"a","export":"x","file":"b.json"}{"patient":"A","export":"x","file":"a.json"}`:    "not sorted",
		`{"patient":"a","export":"x","file":"b.json"}{"patient":"a","export":"w","file":"c.json"}`:    "not sorted",
		`{"patient":"a","export":"x","file":"b.json"}nothing`:                                         "not a line of audit --lines",
		`{"patient":"a","export":"x","file":"b.txt","text":"no record"}`:                              "no export is in it",
		`{"patient":"a","export":"x","file":"b.json"}{"patient":"a","export":"x","file":"c.json","te`: "not a line of audit --lines",
	} {
		var out bytes.Buffer
		if err := audit.Shard(t.Context(), strings.NewReader(text), &out, audit.Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
	if left, err := os.ReadDir(os.TempDir()); err != nil || len(left) > 0 {
		t.Errorf("left: %v %v", left, err)
	}
}
