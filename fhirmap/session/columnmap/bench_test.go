package columnmap_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/columnmap"
)

// A year of 260 sessions with 8 readings each, a row for each reading.
func BenchmarkYear(b *testing.B) {
	text, err := os.ReadFile(filepath.Join(sheetsDir, "rows", "map.toml"))
	if err != nil {
		b.Fatal(err)
	}
	var sheet strings.Builder
	sheet.WriteString("Date,On,Off,Wt before (st lb),Wt after (st lb),UF (L),Time,Systolic (kPa),Diastolic (kPa),Pulse,Venous,Arterial\n")
	day := time.Date(2025, 1, 6, 0, 0, 0, 0, time.UTC)
	for i := range 260 {
		for r := range 8 {
			first := ",,,,,"
			if r == 0 {
				first = day.AddDate(0, 0, i*7/5).Format("02/01/2006") + ",14:00,19:00,10 st 4 lb,10 st 1 lb,1.45"
			}
			fmt.Fprintf(&sheet, "%s,%02d:30,18.9,10.5,%d,150,-150\n", first, 14+r*5/8, 70+r)
		}
	}
	path := filepath.Join(b.TempDir(), "year.csv")
	if err := os.WriteFile(path, []byte(sheet.String()), 0o600); err != nil {
		b.Fatal(err)
	}
	m, err := columnmap.Parse(text, "map.toml")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		log, _, err := columnmap.Read(path, m, nil, session.Options{})
		if err != nil || len(log.Sessions) != 260 {
			b.Fatal(err, len(log.Sessions))
		}
	}
}

func BenchmarkSuggest(b *testing.B) {
	data, err := os.ReadFile(filepath.Join(sheetsDir, "american", "log.csv"))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := columnmap.SuggestFor(data, "log.csv"); err != nil {
			b.Fatal(err)
		}
	}
}
