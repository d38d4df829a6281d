package validate_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/fhirmap"
	sheet "runsheet.example/fhirmap/session"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// schedule is a log made for a test: sessions on some days of every week.
type schedule struct {
	days             []int // of the week, 0 is Monday
	weeks            int
	first            string // a Monday
	start, minutes   int
	blood, dialysate string
	sampled          int // the session that has blood samples, -1 for none
	koaChanges       bool
	treatedFromClock bool
	notDone, alone   int // a session not done, and one of fluid removal alone; 0 for none
}

const scheduleAbout = `[log]
format = 1
id = "7e2b8a52-6a8e-4c2b-8a54-0d3f1c0a9d11"
time_zone = "Europe/London"
[patient]
identifier_system = "urn:oid:2.25.331383638406541845489215601853980652438"
identifier_value = "HHD-00077"
sex = "female"
birth_date = "1980-03-09"
height_cm = 165
[[prescription]]
valid_from = "2025-01-01"
sessions_per_week = %d
dialyser_koa_ml_min = 900
residual_urea_clearance_ml_min = 0.8
`

// log writes the schedule as a person's files.
func (p schedule) log(t *testing.T) *sheet.Log {
	t.Helper()
	about := fmt.Sprintf(scheduleAbout, len(p.days))
	monday, err := time.Parse(time.DateOnly, p.first)
	if err != nil {
		t.Fatal(err)
	}
	if p.koaChanges {
		about += fmt.Sprintf("[[prescription]]\nvalid_from = %q\nsessions_per_week = %d\ndialyser_koa_ml_min = 1100\nresidual_urea_clearance_ml_min = 0.8\n", monday.AddDate(0, 0, 16).Format(time.DateOnly), len(p.days))
	}
	var rows, labs strings.Builder
	fmt.Fprint(&rows, "session,date,start,end,status,weight_before_kg,weight_after_kg,uf_removed_l,dialysate_flow_ml_min,blood_flow_ml_min,treated_min,dialysate_l\n")
	fmt.Fprintln(&labs, "session,drawn_time,when,test,value,unit")
	before := -2
	for n := range p.weeks * len(p.days) {
		day := 7*(n/len(p.days)) + p.days[n%len(p.days)]
		date := monday.AddDate(0, 0, day)
		start := date.Add(time.Duration(p.start) * time.Minute)
		end := start.Add(time.Duration(p.minutes) * time.Minute)
		gain := 0.85 * float64(day-before)
		weight := 62 + gain + 0.1*float64(n%3)
		treated := fmt.Sprint(p.minutes - 4)
		if p.treatedFromClock {
			treated = ""
		}
		if n > 0 && n == p.notDone {
			fmt.Fprintf(&rows, "n%d,%s,,,not done,,,,,,,\n", n, date.Format(time.DateOnly))
			continue
		}
		flow, volume := p.dialysate, ""
		if n > 0 && n == p.alone {
			flow, volume = "", "0"
		}
		fmt.Fprintf(&rows, "n%d,%s,%s,%s,done,%.1f,%.1f,%.2f,%s,%s,%s,%s\n", n, date.Format(time.DateOnly), start.Format("15:04"), end.Format("15:04"),
			weight, 62.1, gain, flow, p.blood, treated, volume)
		if n == p.sampled {
			fmt.Fprintf(&labs, "n%d,%s,before,urea,22.0,mmol/L\nn%d,%s,after,urea,8.4,mmol/L\n", n, start.Format("15:04"), n, end.Format("15:04"))
		}
		before = day
	}
	log, _, err := sheet.ReadFS(fstest.MapFS{
		"log.toml": {Data: []byte(about)}, "sessions.csv": {Data: []byte(rows.String())}, "labs.csv": {Data: []byte(labs.String())},
	}, sheet.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return log
}

// weekLogs are logs whose weeks have a model, as different as they get.
func weekLogs(t *testing.T) map[string]*sheet.Log {
	month, _, err := sheet.ReadFolder("../testdata/month", sheet.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return map[string]*sheet.Log{
		"the demo month": month,
		"three a week with samples": schedule{days: []int{0, 2, 4}, weeks: 6, first: "2025-05-05", start: 1110, minutes: 245,
			blood: "300", dialysate: "500", sampled: 10}.log(t),
		"from flows, time from the clock": schedule{days: []int{0, 1, 3, 4, 6}, weeks: 5, first: "2025-05-05", start: 420, minutes: 160,
			blood: "380", dialysate: "170", sampled: -1, treatedFromClock: true}.log(t),
		"nights into Monday over the change of the clocks, another dialyser": schedule{days: []int{1, 3, 6}, weeks: 7, first: "2025-09-29", start: 1320, minutes: 480,
			blood: "220", dialysate: "300", sampled: 9, koaChanges: true}.log(t),
		"one not done, one of fluid alone": schedule{days: []int{1, 5}, weeks: 7, first: "2025-05-05", start: 540, minutes: 210,
			blood: "300", dialysate: "400", sampled: 4, notDone: 7, alone: 9}.log(t),
	}
}

var weekOptions = fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "test"}}

// records maps a log; the texts are one for each record, the weeks last.
func records(t *testing.T, log *sheet.Log) []string {
	t.Helper()
	month, err := fhirmap.Map(log, weekOptions)
	if err != nil {
		t.Fatal(err)
	}
	var texts []string
	for _, r := range month.Records() {
		text, err := r.Transaction()
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(text))
	}
	return texts
}

// weekFindings checks texts as the files of a folder and returns what is found
// of weeks and computed values.
func weekFindings(t *testing.T, texts []string) []issue.Finding {
	t.Helper()
	folder := t.TempDir()
	for i, text := range texts {
		if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("record-%03d.json", i)), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	report, err := validate.Paths(t.Context(), []string{folder}, nil, validate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(report.Findings, func(f issue.Finding) bool {
		return !strings.HasPrefix(f.Rule, "calc-") && !strings.HasPrefix(f.Rule, "prov-") && f.Severity != issue.Error
	})
}

func TestWeeksAreComputedAgain(t *testing.T) {
	for name, log := range weekLogs(t) {
		t.Run(name, func(t *testing.T) {
			texts := records(t, log)
			for _, f := range weekFindings(t, texts) {
				t.Errorf("%s: %s: %s, %s", f.Rule, f.Details, f.Value, f.Expected)
			}
			if n := strings.Count(texts[len(texts)-1], `"model-urea-pool-1"`); n < 3 {
				t.Errorf("%d weeks with a model", n)
			}
			for _, f := range weekFindings(t, texts[len(texts)-1:]) {
				if f.Rule != "calc-week-elsewhere" || f.Severity != issue.Information {
					t.Errorf("the weeks alone: %s: %s", f.Rule, f.Details)
				}
			}
			if n := len(weekFindings(t, texts[len(texts)-1:])); n < 3 {
				t.Errorf("the weeks alone: %d findings", n)
			}
		})
	}
}

// bump changes the last digit but places of the number that stands behind what
// is written, in the one part of the text that begins with within.
func bump(t *testing.T, text, within, before string, by float64) string {
	t.Helper()
	from := strings.Index(text, within)
	at := strings.Index(text[max(from, 0):], before)
	if from < 0 || at < 0 {
		t.Fatalf("there is no %s behind %s", before, within)
	}
	at += from + len(before)
	end := at + strings.IndexAny(text[at:], ",}")
	var number float64
	if err := json.Unmarshal([]byte(text[at:end]), &number); err != nil {
		t.Fatal(err)
	}
	return text[:at] + fmt.Sprintf("%.6f", number+by) + text[end:]
}

func TestChangedWeeksAreFound(t *testing.T) {
	log := weekLogs(t)["three a week with samples"]
	valueOf := func(code string) string { return `"code":"` + code + `"` }
	for _, c := range []struct {
		name, within, before string
		by                   float64
		record               int // of the records; the weeks are the last
		rules                []string
	}{
		{"standard Kt/V", valueOf("std-kt-v-weekly"), `"valueQuantity":{"value":`, 0.02, -1, []string{"calc-value-differs", "calc-week-differs"}},
		{"EKR", valueOf("ekr"), `"valueQuantity":{"value":`, 0.2, -1, []string{"calc-value-differs", "calc-week-differs"}},
		{"time-averaged urea", valueOf("time-averaged-urea"), `"valueQuantity":{"value":`, -0.2, -1, []string{"calc-value-differs", "calc-week-differs"}},
		{"nPCR", valueOf("70959-2"), `"valueQuantity":{"value":`, 0.03, -1, []string{"calc-value-differs", "calc-week-differs"}},
		{"sessions", valueOf("sessions-done"), `"valueQuantity":{"value":`, 1, -1, []string{"calc-value-differs", "calc-week-differs"}},
		{"hours", valueOf("hours-done"), `"valueQuantity":{"value":`, 0.5, -1, []string{"calc-value-differs", "calc-week-differs"}},
		{"fluid removed", valueOf("uf-done"), `"valueQuantity":{"value":`, 0.1, -1, []string{"calc-value-differs", "calc-week-differs"}},
		{"urea of the first pool", valueOf("model-urea-pool-1"), `"value":`, 3, -1, []string{"calc-week-differs", "calc-week-state"}},
		{"clearance factor", valueOf("model-clearance-factor"), `"value":`, 0.1, -1, []string{"calc-week-differs", "calc-week-state"}},
		{"body water", valueOf("model-body-water"), `"value":`, 1, -1, []string{"calc-week-differs"}},
		{"a session's blood flow", valueOf("blood-flow-rate"), `"valueQuantity":{"value":`, -60, 4, []string{"calc-week-differs", "calc-week-state"}},
		{"a session's weight", valueOf("8347-7"), `"valueQuantity":{"value":`, 2, 4, []string{"calc-week-differs"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			texts := records(t, log)
			at := c.record
			if at < 0 {
				at = len(texts) - 1
			}
			texts[at] = bump(t, texts[at], c.within, c.before, c.by)
			found := map[string]bool{}
			for _, f := range weekFindings(t, texts) {
				found[f.Rule] = true
			}
			for _, rule := range c.rules {
				if !found[rule] {
					t.Errorf("no %s among %v", rule, found)
				}
			}
		})
	}
	texts := records(t, log)
	weeks := texts[len(texts)-1]
	from := strings.Index(weeks, `"code":"model-reference-weight"`)
	texts[len(texts)-1] = weeks[:from] + strings.Replace(weeks[from:], "model-reference-weight", "input-weekly-uf", 1)
	if found := weekFindings(t, texts); !slices.ContainsFunc(found, func(f issue.Finding) bool {
		return f.Rule == "calc-week-incomplete" && strings.Contains(f.Details.String(), "reference_weight")
	}) {
		t.Errorf("a state without reference weight: %v", found)
	}
}

// observation is what the integration below reads of the exported JSON.
type observation struct {
	Identifier      []struct{ Value string }
	Code            struct{ Coding []struct{ Code string } }
	EffectivePeriod struct{ Start, End time.Time }
	PartOf          []struct{ Reference string }
	ValueQuantity   struct {
		Value float64
		Code  string
	}
	Component []struct {
		Code          struct{ Coding []struct{ Code string } }
		ValueQuantity struct{ Value float64 }
	}
	DerivedFrom []struct {
		Reference  string
		Identifier struct{ Value string }
	}
}

// readObservations reads every Observation of the records, and the fullUrl of
// each.
func readObservations(t *testing.T, texts []string) (all []observation, urls []string) {
	t.Helper()
	for _, text := range texts {
		var bundle struct {
			Entry []struct {
				FullURL  string `json:"fullUrl"`
				Resource json.RawMessage
			}
		}
		if err := json.Unmarshal([]byte(text), &bundle); err != nil {
			t.Fatal(err)
		}
		for _, e := range bundle.Entry {
			if !strings.Contains(string(e.Resource), `"resourceType":"Observation"`) {
				continue
			}
			var o observation
			// An effectivePeriod may hold a day only; such a one is no treatment.
			if err := json.Unmarshal(e.Resource, &o); err == nil {
				all, urls = append(all, o), append(urls, e.FullURL)
			}
		}
	}
	return all, urls
}

// integrated is a week by a fourth-order Runge-Kutta integration of the two
// pools, in steps of a quarter of a minute.
type integrated struct{ meanBefore, averaged, minutes float64 }

// treatment is a session read from its Observations.
type treatment struct{ start, end, uf, clearance, weight float64 }

func treatments(week observation, all []observation, koa float64) []treatment {
	byIdentity := map[string]observation{}
	for _, o := range all {
		byIdentity[o.Identifier[0].Value] = o
	}
	type session struct {
		start   float64
		numbers map[string]float64
	}
	var order []string
	sessions := map[string]*session{}
	for _, ref := range week.DerivedFrom {
		o, ok := byIdentity[ref.Identifier.Value]
		if !ok {
			continue // the week before
		}
		hub := o.PartOf[0].Reference
		if sessions[hub] == nil {
			sessions[hub] = &session{numbers: map[string]float64{}}
			order = append(order, hub)
		}
		code := o.Code.Coding[len(o.Code.Coding)-1].Code
		number := o.ValueQuantity.Value
		if o.ValueQuantity.Code == "mL" {
			number /= 1000
		}
		sessions[hub].numbers[code] = number
		if code == "99741-1" {
			sessions[hub].start = o.EffectivePeriod.Start.Sub(week.EffectivePeriod.Start).Minutes()
		}
	}
	var out []treatment
	for _, hub := range order {
		s := sessions[hub]
		minutes, uf := s.numbers["treatment-time-delivered"], 1000*s.numbers["99741-1"]
		qb, qd, quf := 0.89*s.numbers["blood-flow-rate"], s.numbers["dialysate-flow-rate"], uf/minutes
		z := math.Exp(0.8 * koa / qb * (1 - qb/qd))
		kd := qb * (z - 1) / (z - qb/qd)
		out = append(out, treatment{s.start, s.start + minutes, quf, kd*(1-quf/qb) + quf, s.numbers["8347-7"]})
	}
	return out
}

func integrate(week observation, sessions []treatment) integrated {
	state := map[string]float64{}
	for _, c := range week.Component {
		state[c.Code.Coding[0].Code] = c.ValueQuantity.Value
	}
	litres, generation, residual := state["model-urea-volume"], state["model-urea-generation"], state["residual-urea-clearance"]
	out := integrated{minutes: week.EffectivePeriod.End.Sub(week.EffectivePeriod.Start).Minutes()}
	volume := 1000 * state["model-body-water"]
	y := [3]float64{state["model-urea-pool-1"] / 100 * volume / 3, state["model-urea-pool-2"] / 100 * volume * 2 / 3, 0}
	counted := 0.0
	leg := func(from, to, loss, clearance float64) {
		rate := func(at float64, y [3]float64) [3]float64 {
			v := volume - loss*(at-from)
			c1, c2 := y[0]/(v/3), y[1]/(v*2/3)
			across := 16 * litres * (c2 - c1)
			if refill := loss * 2 / 3; refill > 0 {
				across += refill * c2
			} else {
				across += refill * c1
			}
			return [3]float64{generation/3 + across - (clearance+residual)*c1, generation*2/3 - across, c1}
		}
		n := int(math.Ceil((to - from) * 4))
		h := (to - from) / float64(n)
		for i := range n {
			at := from + float64(i)*h
			add := func(k [3]float64, f float64) (out [3]float64) {
				for j := range y {
					out[j] = y[j] + f*k[j]
				}
				return out
			}
			k1 := rate(at, y)
			k2 := rate(at+h/2, add(k1, h/2))
			k3 := rate(at+h/2, add(k2, h/2))
			k4 := rate(at+h, add(k3, h))
			for j := range y {
				y[j] += h / 6 * (k1[j] + 2*k2[j] + 2*k3[j] + k4[j])
			}
		}
		volume -= loss * (to - from)
	}
	at := 0.0
	for _, s := range sessions {
		water := 1000 * (litres - state["model-reference-weight"] + s.weight)
		if until := math.Min(s.start, out.minutes); until > at {
			leg(at, until, -(water-volume)/(s.start-at), 0)
			at = until
		}
		if s.start >= out.minutes {
			break
		}
		if s.start >= 0 {
			counted++
			out.meanBefore += 100 * y[0] / (volume / 3)
		}
		end := math.Min(s.end, out.minutes)
		leg(at, end, s.uf, s.clearance*state["model-clearance-factor"])
		at = end
	}
	if at < out.minutes {
		leg(at, out.minutes, -1000*state["model-fluid-gain-rate"]/1440, 0)
	}
	out.meanBefore /= counted
	out.averaged = 100 * y[2] / out.minutes
	return out
}

// A week integrated by a method that is not ours, from the exported JSON alone,
// has the values that the export states.
func TestWeekIntegratedFromTheExport(t *testing.T) {
	logs := weekLogs(t)
	for _, name := range []string{"three a week with samples", "nights into Monday over the change of the clocks, another dialyser"} {
		all, urls := readObservations(t, records(t, logs[name]))
		checked := 0
		for i, week := range all {
			koas := 0
			koa, volume, generation := 0.0, 0.0, 0.0
			for _, c := range week.Component {
				switch c.Code.Coding[0].Code {
				case "input-dialyser-koa":
					koa = c.ValueQuantity.Value
					koas++
				case "model-urea-volume":
					volume = c.ValueQuantity.Value
				case "model-urea-generation":
					generation = c.ValueQuantity.Value
				}
			}
			if week.Code.Coding[0].Code != "urea-model-week" || koas != 1 {
				continue
			}
			checked++
			got := integrate(week, treatments(week, all, koa))
			want := map[string][2]float64{
				"std-kt-v-weekly":    {10080 * generation / (10 * volume * got.meanBefore), 0.01},
				"ekr":                {100 * generation / got.averaged, 0.1},
				"time-averaged-urea": {got.averaged * 0.93 * 10 / 28.014, 0.1},
			}
			for _, o := range all {
				if len(o.DerivedFrom) == 0 || o.DerivedFrom[0].Reference != urls[i] || len(o.PartOf) > 0 {
					continue
				}
				if w, ok := want[o.Code.Coding[0].Code]; ok && math.Abs(o.ValueQuantity.Value-w[0]) > w[1]*0.501 {
					t.Errorf("%s: week of %s: %s is %v, integrated %v", name, week.EffectivePeriod.Start, o.Code.Coding[0].Code, o.ValueQuantity.Value, w[0])
				}
			}
		}
		if checked < 3 {
			t.Errorf("%s: %d weeks were integrated", name, checked)
		}
	}
}
