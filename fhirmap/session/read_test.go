package session

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/validate/issue"
)

const aboutOK = `
[log]
format = 1
id = "0b2f3f8e-6f0e-4d5e-9a43-3f1f6f1f0a11"
time_zone = "Europe/London"
date_style = "iso"
decimal_mark = "."
[patient]
identifier_system = "urn:oid:2.25.1234"
identifier_value = "HHD-1"
sex = "female"
birth_date = 1961-02-03
height_cm = 165
[[prescription]]
valid_from = 2025-01-01
sessions_per_week = 5
dry_weight_kg = 70.50
dialysate_flow_l_h = "10.0"
`

// logOf makes a log folder of the given files; about is aboutOK unless given.
func logOf(files map[string]string) fstest.MapFS {
	folder := fstest.MapFS{aboutFile: {Data: []byte(aboutOK)}}
	for name, text := range files {
		folder[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return folder
}

func read(t *testing.T, files map[string]string) (*Log, []issue.Finding) {
	t.Helper()
	log, findings, err := ReadFS(logOf(files), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return log, findings
}

// said are the findings as "rule cell", without informative ones.
func said(findings []issue.Finding) []string {
	var all []string
	for _, f := range findings {
		if f.Severity == issue.Information {
			continue
		}
		where := ""
		if len(f.Cells) > 0 {
			where = f.Cells[0].String()
		}
		all = append(all, strings.TrimSpace(f.Rule+" "+where))
	}
	return all
}

const oneNight = "session,date,start,end,status,weight_before_kg,weight_after_kg\n" +
	"n1,2025-10-25,22:40,04:55,done,72.0,70.50\n"

func TestReadKeepsWhatWasWritten(t *testing.T) {
	log, findings := read(t, map[string]string{
		"sessions.csv": oneNight,
		"readings.csv": "session,time,clock_change,bp_systolic_mmhg,arterial_pressure_mmhg\n" +
			"n1,23:10,,135,-180\nn1,01:40,after,131,\nn1,04:30,,128,\u2212175\n",
	})
	if len(said(findings)) > 0 {
		t.Fatalf("findings on a sound log: %q", said(findings))
	}
	one := log.Sessions[0]
	if got := one.Value("weight_before"); got.Text != "72.0" || got.Decimal.String() != "72.0" || got.Unit != "kg" || got.Cell.String() != "sessions.csv F2 (weight_before_kg)" {
		t.Errorf("weight before = %+v", got)
	}
	if got := one.End.Time.Sub(one.Start.Time); got != 7*time.Hour+15*time.Minute {
		t.Errorf("the night over the clock change lasts %v, want 7h15m", got)
	}
	want := []string{"2025-10-25T23:10:00+01:00", "2025-10-26T01:40:00Z", "2025-10-26T04:30:00Z"}
	for i, r := range one.Readings {
		if got := r.At.Time.Format(time.RFC3339); got != want[i] {
			t.Errorf("reading %d at %s, want %s", i+1, got, want[i])
		}
	}
	if got := one.Readings[2].Value("arterial_line_pressure").Decimal.String(); got != "-175" {
		t.Errorf("arterial pressure = %q", got)
	}
	p, ok := log.About.PrescriptionOn(one.Date.Time)
	if !ok || p.Values["dry_weight"].Decimal.String() != "70.50" || p.Values["dialysate_flow"].Unit != "L/h" {
		t.Errorf("prescription = %+v, %v", p, ok)
	}
	if names := []string{log.Sources[0].Name, log.Sources[1].Name, log.Sources[2].Name}; !slices.IsSorted(names) {
		t.Errorf("sources = %v", names)
	}
}
