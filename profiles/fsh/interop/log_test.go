//go:build interop

package interop

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"
)

// changed copies a log with other rows in its tables.
func changed(t *testing.T, log string, change func(file string, rows [][]string) [][]string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "log")
	must(t, os.CopyFS(to, os.DirFS(log)))
	files, err := filepath.Glob(filepath.Join(to, "*.csv"))
	must(t, err)
	for _, file := range files {
		rows := change(filepath.Base(file), table(t, file))
		f, err := os.Create(file)
		must(t, err)
		must(t, csv.NewWriter(f).WriteAll(rows))
		must(t, f.Close())
	}
	return to
}

func table(t *testing.T, file string) [][]string {
	t.Helper()
	f, err := os.Open(file)
	must(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	must(t, err)
	return rows
}

func column(t *testing.T, rows [][]string, name string) int {
	t.Helper()
	at := slices.Index(rows[0], name)
	if at < 0 {
		t.Fatalf("a table of the log has no column %s", name)
	}
	return at
}

// equal are the sessions that [together] enters at one time.
const equal = 5

// together copies a log in which the first five sessions were entered at one
// time, as by somebody who catches up.
func together(t *testing.T, log string) string {
	t.Helper()
	return changed(t, log, func(file string, rows [][]string) [][]string {
		if file != "sessions.csv" {
			return rows
		}
		if len(rows) <= equal {
			t.Fatalf("the log needs %d sessions", equal)
		}
		entered, date := column(t, rows, "entered_at"), column(t, rows, "date")
		for _, row := range rows[1 : equal+1] {
			row[entered] = rows[equal][date] + "T23:50"
		}
		return rows
	})
}

// amended copies a log with 0.1 kg added to the weight before the first session
// that was done, and without any row of the last one.
func amended(t *testing.T, log string) string {
	t.Helper()
	sessions := table(t, filepath.Join(log, "sessions.csv"))
	weight, status := column(t, sessions, "weight_before_kg"), column(t, sessions, "status")
	var done []string
	var kg float64
	for _, row := range sessions[1:] {
		number, err := strconv.ParseFloat(row[weight], 64)
		if row[status] != "done" || err != nil {
			continue
		}
		if done = append(done, row[column(t, sessions, "session")]); len(done) == 1 {
			kg = number
		}
	}
	if len(done) < 2 {
		t.Fatal("the log needs two sessions that were done")
	}
	return changed(t, log, func(file string, rows [][]string) [][]string {
		id := column(t, rows, "session")
		for _, row := range rows {
			if file == "sessions.csv" && row[id] == done[0] {
				row[weight] = strconv.FormatFloat(kg+0.1, 'f', 1, 64)
			}
		}
		return slices.DeleteFunc(rows, func(row []string) bool { return row[id] == done[len(done)-1] })
	})
}

var identifierValue = regexp.MustCompile(`(?m)^identifier_value = "[^"]*"`)

// another copies a log for another patient, under the same log id.
func another(t *testing.T, log string) string {
	t.Helper()
	copied := filepath.Join(t.TempDir(), "log")
	must(t, os.CopyFS(copied, os.DirFS(log)))
	about := filepath.Join(copied, "log.toml")
	text, err := os.ReadFile(about)
	must(t, err)
	must(t, os.WriteFile(about, identifierValue.ReplaceAll(text, []byte(`identifier_value = "ANOTHER-1"`)), 0o600))
	return copied
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
