package check

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// habit is how one invented person treats themselves and writes it down.
type habit struct {
	name     string
	zone     string
	first    string // day of the first session
	weekdays string // of the week, 0 is Sunday
	starts   float64
	hours    float64
	dry      float64 // kg
	gain     float64 // kg a day
	blood    float64 // mL/min
	flow     float64 // dialysate, mL/min
	systolic float64
	readings time.Duration // between readings; 0 for none
	fives    bool          // rounds blood pressure to fives
	drinks   bool          // writes drinks and rinse-back down
	treated  bool          // writes the machine's treatment time down
	weeks    int
}

var honest = []habit{
	{"evenings, five a week", "Europe/London", "2025-10-20", "12456", 18.5, 2.8, 70.5, 1.0, 350, 165, 135, 30 * time.Minute, false, true, true, 4},
	{"every other night", "Europe/London", "2025-10-13", "135", 22.5, 7, 84, 0.9, 280, 300, 142, time.Hour, false, true, false, 5},
	{"short daily", "America/New_York", "2025-10-06", "012345", 6.2, 2.2, 58, 0.8, 400, 170, 118, 20 * time.Minute, false, false, true, 5},
	{"thrice a week", "Australia/Sydney", "2025-09-15", "246", 12.0, 4.5, 96, 0.8, 320, 500, 150, 30 * time.Minute, true, true, true, 5},
	{"no readings kept", "Europe/Berlin", "2025-11-03", "1356", 19.0, 3.5, 64, 0.9, 300, 500, 128, 0, false, false, false, 4},
	{"Lord Howe nights", "Australia/Lord_Howe", "2025-09-22", "0246", 23.0, 6.5, 75, 0.9, 250, 200, 130, time.Hour, true, true, true, 4},
}

// monthOf writes an honest month of a person as a log folder.
func monthOf(h habit, seed uint64) fstest.MapFS {
	g := &generator{h: h, rng: rand.New(rand.NewPCG(seed, 7))}
	return g.folder()
}

type generator struct {
	h        habit
	rng      *rand.Rand
	sessions strings.Builder
	readings strings.Builder
}

func (g *generator) normal(mean, sd float64) float64 {
	return mean + sd*max(-2.5, min(2.5, g.rng.NormFloat64()))
}

func (g *generator) pressure(mean float64) string {
	p := g.normal(mean, 9)
	if g.h.fives {
		return fmt.Sprint(5 * math.Round(p/5))
	}
	return fmt.Sprint(math.Round(p))
}

func (g *generator) folder() fstest.MapFS {
	h := g.h
	first, _ := time.Parse(time.DateOnly, h.first)
	loc, _ := time.LoadLocation(h.zone)
	g.sessions.WriteString("session,date,start,end,clock_change,status,reason,weight_before_kg,weight_after_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,pulse_before_per_min,temperature_before_c,bp_after_systolic_mmhg,bp_after_diastolic_mmhg,uf_removed_l,drinks_l,rinseback_l,dialysate_l,dialysate_flow_ml_min,blood_flow_ml_min,blood_processed_l,treated_min\n")
	g.readings.WriteString("session,time,clock_change,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,arterial_pressure_mmhg,venous_pressure_mmhg,tmp_mmhg,uf_rate_l_h,uf_so_far_l,conductivity_ms_cm,dialysate_temperature_c\n")
	last := 1.5
	for day := range 7 * h.weeks {
		date := first.AddDate(0, 0, day)
		last++
		if !strings.Contains(h.weekdays, fmt.Sprint(int(date.Weekday()))) {
			continue
		}
		g.session(date, loc, last)
		last = 0
	}
	about := fmt.Sprintf("[log]\nformat = 1\nid = \"0b2f3f8e-6f0e-4d5e-9a43-3f1f6f1f0a11\"\ntime_zone = %q\ndate_style = \"iso\"\ndecimal_mark = \".\"\n"+
		"[patient]\nidentifier_system = \"urn:oid:2.25.1\"\nidentifier_value = \"1\"\nsex = \"male\"\nbirth_date = 1960-01-01\nheight_cm = 172\n"+
		"[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = %d\ndry_weight_kg = %.1f\n", h.zone, len(h.weekdays), h.dry)
	folder := fstest.MapFS{"log.toml": {Data: []byte(about)}, "sessions.csv": {Data: []byte(g.sessions.String())}}
	if h.readings > 0 {
		folder["readings.csv"] = &fstest.MapFile{Data: []byte(g.readings.String())}
	}
	return folder
}

func (g *generator) session(date time.Time, loc *time.Location, days float64) {
	h, id := g.h, date.Format("01-02")
	start := date.Add(time.Duration(g.normal(h.starts*60, 12)) * time.Minute)
	if g.rng.IntN(25) == 0 {
		fmt.Fprintf(&g.sessions, "%s,%s,,,,not done,felt ill%s\n", id, date.Format(time.DateOnly), strings.Repeat(",", 16))
		return
	}
	minutes := math.Round(g.normal(h.hours*60, 5))
	at := time.Date(start.Year(), start.Month(), start.Day(), start.Hour(), start.Minute(), 0, 0, loc)
	end := at.Add(time.Duration(minutes) * time.Minute)
	treated := minutes - math.Round(math.Abs(g.normal(4, 2)))
	before := g.normal(h.dry+min(h.gain*days, 3.2), 0.3)
	after := g.normal(h.dry, 0.2)
	drinks, rinse := 0.1*math.Round(g.normal(3, 1)), 0.25
	removed := max(0, g.normal(before-after+drinks+rinse, 0.12))
	flow := g.normal(h.flow*treated/1000, h.flow*treated/1000*0.02)
	processed := g.normal(h.blood*treated/1000*0.96, h.blood*treated/1000*0.02)
	written := func(keep bool, text string) string {
		if keep {
			return text
		}
		return ""
	}
	fmt.Fprintf(&g.sessions, "%s,%s,%s,%s,%s,done,,%.1f,%.1f,%s,%s,%.0f,%.1f,%s,%s,%.2f,%s,%s,%.1f,%.0f,%.0f,%.1f,%s\n",
		id, date.Format(time.DateOnly), at.Format("15:04"), end.Format("15:04"), marker(at, end), before, after,
		g.pressure(h.systolic), g.pressure(h.systolic*0.56), g.normal(76, 6), g.normal(36.5, 0.25),
		g.pressure(h.systolic-8), g.pressure(h.systolic*0.54), removed,
		written(h.drinks, fmt.Sprintf("%.1f", drinks)), written(h.drinks, fmt.Sprintf("%.2f", rinse)),
		flow, h.flow, h.blood, processed, written(h.treated, fmt.Sprint(treated)))
	for t := at.Add(10 * time.Minute); h.readings > 0 && t.Before(end); t = t.Add(h.readings) {
		done := removed * t.Sub(at).Minutes() / minutes
		fmt.Fprintf(&g.readings, "%s,%s,%s,%s,%s,%.0f,%.0f,%.0f,%.0f,%.2f,%.2f,%.1f,%.1f\n", id, t.Format("15:04"), marker(t, t),
			g.pressure(h.systolic-6), g.pressure(h.systolic*0.55), g.normal(74, 5), g.normal(-160, 15), g.normal(140, 12), g.normal(60, 12),
			removed/(treated/60), done, g.normal(14, 0.1), g.normal(36.5, 0.2))
	}
}

// marker is before or after for a time that comes twice.
func marker(times ...time.Time) string {
	for _, t := range times {
		for _, shift := range []time.Duration{time.Hour, 30 * time.Minute} {
			if t.Add(shift).Format("15:04") == t.Format("15:04") {
				return "before"
			}
			if t.Add(-shift).Format("15:04") == t.Format("15:04") {
				return "after"
			}
		}
	}
	return ""
}

// checkFolder reads and checks a log, and returns all findings that are more
// than information.
func checkFolder(t *testing.T, folder fstest.MapFS) []issue.Finding {
	t.Helper()
	log, findings, err := session.ReadFS(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var all []issue.Finding
	for _, f := range Check(log, findings) {
		if f.Severity != issue.Information {
			all = append(all, f)
		}
	}
	return all
}

func TestHonestMonthsRaiseNothing(t *testing.T) {
	const seeds = 40
	months, errors, warnings := 0, 0, 0
	for _, h := range honest {
		for seed := range uint64(seeds) {
			months++
			for _, f := range checkFolder(t, monthOf(h, seed)) {
				t.Logf("%s, seed %d: %s %s at %v: %q, %s, expected %s", h.name, seed, f.Severity, f.Rule, f.Cells, f.Value, f.Details, f.Expected)
				if f.Severity == issue.Error {
					errors++
				} else {
					warnings++
				}
			}
		}
	}
	t.Logf("%d honest months: %d errors, %d warnings", months, errors, warnings)
	if errors > 0 || warnings > months/10 {
		t.Errorf("%d honest months raised %d errors and %d warnings", months, errors, warnings)
	}
}
