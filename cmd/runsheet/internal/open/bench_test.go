package open

import (
	"encoding/csv"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// yearsOf is the demo month again and again, 120 times: about 2,500 sessions.
func yearsOf(b *testing.B) string {
	b.Helper()
	log := copied(b)
	for _, sheet := range []string{"sessions", "readings", "medicines", "events", "checks", "labs"} {
		name := filepath.Join(log, sheet+".csv")
		file, err := os.Open(name)
		if err != nil {
			b.Fatal(err)
		}
		rows, err := csv.NewReader(file).ReadAll()
		file.Close()
		if err != nil {
			b.Fatal(err)
		}
		out, err := os.Create(name)
		if err != nil {
			b.Fatal(err)
		}
		w := csv.NewWriter(out)
		_ = w.Write(rows[0])
		for back := range 120 {
			for _, row := range rows[1:] {
				earlier := append([]string{}, row...)
				for i := range min(2, len(row)) {
					if day, err := time.Parse(time.DateOnly, row[i][:min(len(row[i]), 10)]); err == nil {
						earlier[i] = day.AddDate(0, 0, -28*back).Format(time.DateOnly) + row[i][10:]
					}
				}
				_ = w.Write(earlier)
			}
		}
		w.Flush()
		if err := out.Close(); err != nil {
			b.Fatal(err)
		}
	}
	return log
}

// BenchmarkFirstPage is the first page of a log of 2,500 sessions, while the log
// is being checked.
func BenchmarkFirstPage(b *testing.B) {
	c := newClient(b, yearsOf(b))
	for b.Loop() {
		if code, _ := c.get("/"); code != http.StatusOK {
			b.Fatal(code)
		}
	}
}

// BenchmarkSave saves one treatment of a log of 2,500 sessions.
func BenchmarkSave(b *testing.B) {
	c := newClient(b, yearsOf(b))
	_, page := c.get("/session/2")
	form := formOf(page)
	for b.Loop() {
		form["digest"] = mustOpen(b, c.s.opts.Log).Digest()
		form["sessions.0.weight_before_kg"] = map[bool]string{true: "71.6", false: "71.7"}[form["sessions.0.weight_before_kg"] == "71.7"]
		if code, page, _ := c.post("/session/2", form); code != http.StatusSeeOther {
			b.Fatal(code, page)
		}
	}
}
