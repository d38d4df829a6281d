package check

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/fhirmap/session"
)

// honestRows are logs of ten regular sessions and rows of one more kind. A rule
// is what the log may raise, and "" none of those listed as not wanted.
func TestHonestRows(t *testing.T) {
	const columns = "session,date,start,end,status,reason,weight_before_kg,weight_after_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,uf_removed_l,urine_l,dialysate_l,dialysate_flow_ml_min"
	day := func(n int, rest string) string {
		return fmt.Sprintf("2025-11-%02d%s,2025-11-%02d,", n, rest[:1], n) + rest[1:] + "\n"
	}
	regular := func(urine float64, flow string) (rows string) {
		for n := range 10 {
			removed := 1.6 + float64(n*7%5)/10
			text := ""
			if urine > 0 {
				text = fmt.Sprintf("%.1f", urine+float64(n*3%4)/10)
			}
			rows += day(1+n, fmt.Sprintf("a18:%02d,21:%02d,done,,%.1f,72.0,%d,%d,%.1f,%s,30,%s", n*7%20, n*11%20, 72+removed, 131+n*n%17, 71+n*n%13, removed, text, flow))
		}
		return rows
	}
	for _, tt := range []struct{ name, rows, want, unwanted string }{
		{"the urine of the day", regular(1.2, ""), "clin-urine-day", "clin-uf-weights"},
		{"little urine during treatment", regular(0.05, ""), "", "clin-urine-day clin-uf-weights"},
		{"a wrong weight beside urine", regular(0, "") + day(12, "a18:05,21:05,done,,75.5,72.0,131,71,1.8,0.2,30,"), "clin-uf-weights", "clin-urine-day"},
		{"started again", regular(0, "") + day(12, "a18:04,18:56,cut short,clotted,74.0,not done,140,72,0.5,,8,") +
			day(12, "b19:34,21:36,done,,not done,72.1,138,70,1.4,,20,"), "", "clin-clock"},
		{"started again, an hour too long", regular(0, "") + day(12, "a18:04,18:56,cut short,clotted,74.0,not done,140,72,0.5,,,") +
			day(12, "b19:34,22:56,done,,not done,72.1,138,70,1.4,,,"), "clin-clock", ""},
		{"two short ones in a day", regular(0, "") + day(12, "a08:17,10:20,done,,74.0,72.6,140,72,1.4,,,") + day(12, "b19:16,21:17,done,,73.1,72.0,138,70,1.1,,,"), "", "clin-clock"},
		{"a short one with less dialysate", regular(0, "") + day(12, "a18:04,20:06,done,,74.0,72.4,140,72,1.6,,20,"), "", "clin-clock"},
		{"an hour slipped", regular(0, "") + day(12, "a18:04,20:06,done,,74.0,72.4,140,72,1.6,,30,"), "clin-clock", ""},
		{"ultrafiltration alone", regular(0, "170") + day(12, "a18:04,21:06,done,,74.0,72.4,140,72,1.6,,0,0"), "", "clin-zero clin-unusual"},
		{"ultrafiltration alone, no flow written", regular(0, "170") + day(12, "a18:04,21:06,done,,74.0,72.4,140,72,1.6,,0,"), "", "clin-zero clin-unusual"},
		{"no dialysate although it flowed", regular(0, "170") + day(12, "a18:04,21:06,done,,74.0,72.4,140,72,1.6,,0,170"), "clin-zero", ""},
		{"five falling by chance", series(63, 62, 61, 60, 59), "", "month-copied"},
		{"eight rising by one step", series(71, 72, 73, 74, 75, 76, 77, 78), "month-copied", ""},
	} {
		folder := fstest.MapFS{"log.toml": {Data: []byte(aboutNoPlan)}, sessionsFile: {Data: []byte(columns + "\n" + tt.rows)}}
		rules := map[string]bool{}
		log, findings, err := session.ReadFS(folder, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range append(findings, Check(log, nil)...) {
			rules[f.Rule] = true
		}
		if tt.want != "" && !rules[tt.want] {
			t.Errorf("%s: found %v, want %s", tt.name, rules, tt.want)
		}
		for _, rule := range strings.Fields(tt.unwanted) {
			if rules[rule] {
				t.Errorf("%s: found %s", tt.name, rule)
			}
		}
	}
}

// series are sessions with these diastolic pressures.
func series(diastolic ...int) (rows string) {
	for i, d := range append([]int{74, 66, 81}, diastolic...) {
		rows += fmt.Sprintf("%02d,2025-11-%02d,18:%02d,21:%02d,done,,%.1f,%.1f,%d,%d,%.1f,,30,\n", i, 1+i, i*7%20, i*11%20,
			73.8+float64(i*7%5)/10, 72+float64(i*3%4)/10, 131+i*i%17, d, 1.8+float64(i*7%5)/10-float64(i*3%4)/10)
	}
	return rows
}

// What falls by one step is said to fall.
func TestSeriesFalls(t *testing.T) {
	folder := fstest.MapFS{"log.toml": {Data: []byte(aboutNoPlan)}, sessionsFile: {Data: []byte(
		"session,date,start,end,status,reason,weight_before_kg,weight_after_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,uf_removed_l,urine_l,dialysate_l,dialysate_flow_ml_min\n" +
			series(78, 77, 76, 75, 74, 73, 72))}}
	for _, f := range checkFolder(t, folder) {
		if f.Rule == "month-copied" && strings.Contains(f.Details.String(), "fall") {
			return
		}
	}
	t.Error("a falling series is not said to fall")
}

// A dry weight prescribed in pounds is compared in kilograms.
func TestDryWeightInPounds(t *testing.T) {
	for pounds, wrong := range map[string]bool{"158.7": false, "1587": true} {
		about := aboutNoPlan + "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 5\ndry_weight_lb = " + pounds + "\n"
		folder := fstest.MapFS{"log.toml": {Data: []byte(about)}, sessionsFile: {Data: []byte(
			"session,date,start,end,status,reason,weight_before_kg,weight_after_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,uf_removed_l,urine_l,dialysate_l,dialysate_flow_ml_min\n" +
				series(70, 77, 71, 75, 79))}}
		found := false
		for _, f := range checkFolder(t, folder) {
			found = found || strings.Contains(f.Details.String(), "dry weight")
		}
		if found != wrong {
			t.Errorf("%s lb: found %v", pounds, found)
		}
	}
}
