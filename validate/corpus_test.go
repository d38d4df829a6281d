package validate_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/fhirmap"
	sheet "runsheet.example/fhirmap/session"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// corpus is an exported session of each of as many invented people, as it is
// sent. No two share a value other than by chance; each has about 130 entries.
// It is the same every time. CORPUS, if set, is a folder to write it to.
func corpus(tb testing.TB, people int) [][]byte {
	tb.Helper()
	var all [][]byte
	for i := range people {
		log, _, err := sheet.ReadFS(person(i), sheet.Options{})
		if err != nil {
			tb.Fatal(err)
		}
		month, err := fhirmap.Map(log, fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "test"}})
		if err != nil {
			tb.Fatal(err)
		}
		text, err := month.Records()[0].Transaction()
		if err != nil {
			tb.Fatal(err)
		}
		all = append(all, text)
	}
	if folder := os.Getenv("CORPUS"); folder != "" {
		for i, text := range all {
			if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("%03d.json", i)), text, 0o600); err != nil {
				tb.Fatal(err)
			}
		}
	}
	return all
}

const corpusAbout = `[log]
format = 1
id = "%08x-27a1-4c1e-9d11-%012x"
time_zone = "Europe/London"
[patient]
identifier_system = "urn:oid:2.25.331383638406541845489215601853980652438"
identifier_value = "HHD-%05d"
sex = "%s"
birth_date = "%s"
height_cm = %d
[clinic]
name = "Unit %s"
[[prescription]]
valid_from = "%s"
sessions_per_week = %d
duration_min = %d
dry_weight_kg = %.1f
dialysate_l = %d
dialysate_flow_ml_min = %d
blood_flow_ml_min = %d
dialyser = "high-flux %.1f m2"
dialyser_koa_ml_min = %d
anticoagulant = "heparin, %d IU at the start"
[[access]]
valid_from = "%s"
kind = "fistula"
side = "%s"
site = "upper arm"
`

// person is the log of one invented person, with one session.
func person(i int) fstest.MapFS {
	r := rand.New(rand.NewPCG(uint64(i), 130))
	from := func(low, high int) int { return low + r.IntN(high-low+1) }
	word := func(all string) string { words := strings.Fields(all); return words[r.IntN(len(words))] }
	day := time.Date(2025, 1, 6, 0, 0, 0, 0, time.UTC).AddDate(0, 0, from(0, 300))
	start := day.Add(time.Duration(from(7*60, 17*60)) * time.Minute)
	minutes, dry := from(150, 210), float64(from(520, 950))/10
	blood, dialysate := 10*from(25, 38), 10*from(14, 24)
	begun := day.AddDate(0, -from(1, 9), 0).Format(time.DateOnly)
	heparin := 500 * from(2, 6)
	about := fmt.Sprintf(corpusAbout, r.Uint32(), i, i, word("male female"), day.AddDate(-from(25, 80), 0, -from(0, 360)).Format(time.DateOnly), from(155, 188),
		word("Alder Birch Cedar Elm Hazel Maple Oak Rowan Willow Yew"), begun, from(3, 6), minutes, dry, dialysate*minutes/1000, dialysate, blood,
		float64(from(14, 22))/10, 10*from(70, 120), heparin, begun, word("left right"))

	removed := float64(from(60, 180)) / 100
	after := dry + float64(from(-2, 2))/10
	clock := func(minute int) string { return start.Add(time.Duration(minute) * time.Minute).Format("15:04") }
	session := fmt.Sprintf("s%d", i)
	pressures := func(low int) string {
		high := from(low, low+30)
		return fmt.Sprintf("%d,%d", high, high*6/10+from(-4, 4))
	}
	pulse := func() int { return from(62, 84) }
	row := []any{
		session, day.Format(time.DateOnly), clock(0), clock(minutes), "done", clock(-15), fmt.Sprintf("%.1f", after+removed-0.2), pressures(125), pulse(), fmt.Sprintf("36.%d", from(1, 8)),
		clock(minutes + 12), fmt.Sprintf("%.1f", after), pressures(112), pulse(), fmt.Sprintf("%.2f", removed), "0.2", blood, dialysate, minutes,
		word("quiet warm steady tired busy slow") + " " + word("morning evening afternoon hours day"),
	}
	sessions := "session,date,start,end,status,before_at,weight_before_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,pulse_before_per_min,temperature_before_c," +
		"after_at,weight_after_kg,bp_after_systolic_mmhg,bp_after_diastolic_mmhg,pulse_after_per_min,uf_removed_l,rinseback_l,blood_flow_ml_min,dialysate_flow_ml_min,treated_min,notes\n" +
		strings.TrimSuffix(strings.Repeat("%v,", len(row)), ",") + "\n"

	var readings strings.Builder
	readings.WriteString("session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,blood_flow_ml_min,dialysate_flow_ml_min,arterial_pressure_mmhg," +
		"venous_pressure_mmhg,tmp_mmhg,uf_rate_l_h,uf_so_far_l,conductivity_ms_cm,dialysate_temperature_c\n")
	const taken = 9
	for n := range taken {
		at := 10 + n*(minutes-15)/taken
		fmt.Fprintf(&readings, "%s,%s,%s,%d,%d,%d,%d,%d,%d,%.2f,%.2f,13.%d,36.%d\n", session, clock(at), pressures(115), pulse(), blood, dialysate,
			-from(110, 180), from(120, 180), from(30, 60), removed*60/float64(minutes), removed*float64(at)/float64(minutes), from(7, 9), from(1, 9))
	}
	medicines := fmt.Sprintf("session,time,medicine,kind,dose,dose_unit,route\n%s,%s,heparin,anticoagulant,%d,IU,circuit\n", session, clock(2), heparin)
	return fstest.MapFS{
		"log.toml": {Data: []byte(about)}, "sessions.csv": {Data: fmt.Appendf(nil, sessions, row...)},
		"readings.csv": {Data: []byte(readings.String())}, "medicines.csv": {Data: []byte(medicines)},
	}
}

// TestCorpus holds the made-up people to what is said of them: another check of
// them finds nothing.
func TestCorpus(t *testing.T) {
	validator := validate.New(validate.Options{Schema: true})
	for i, text := range corpus(t, 8) {
		if entries := strings.Count(string(text), `"fullUrl":`); entries < 120 || entries > 140 {
			t.Errorf("person %d: %d entries", i, entries)
		}
		for _, f := range validator.Bytes(text, "session.json") {
			if f.Severity != issue.Information {
				t.Errorf("person %d: %s %s: %s [%s]", i, f.Rule, f.Expression, f.Details, f.Value)
			}
		}
	}
}
