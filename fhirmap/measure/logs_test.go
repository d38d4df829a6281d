package measure

import (
	"cmp"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// firstMonday is the first day of the logs made here.
var firstMonday = time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC)

// made is one session of a log made for a test.
type made struct {
	day, minute   int // day 0 is firstMonday, minute the start within the day
	treated       int
	uf            float64
	before, after float64 // weights, filled in by weigh
	skipped       bool
	sample        string // "before after" in mmol/L
	late          int    // minutes after the end at which the second is drawn
	status        string // "done" when empty
	blank         string // heading of a cell left empty
	dialyser      string
	alone         bool // fluid removed without dialysate
}

// weigh fills in weights from a constant gain in L/day and each session's UF.
func weigh(sessions []made, dryKg, gainPerDay float64) []made {
	weight, at := dryKg, 0.0
	for i := range sessions {
		s := &sessions[i]
		if s.skipped {
			continue
		}
		start := float64(s.day)*1440 + float64(s.minute)
		if i == 0 {
			weight += s.uf
		} else {
			weight += gainPerDay * (start - at) / 1440
		}
		s.before, s.after = weight, weight-s.uf
		weight, at = s.after, start+float64(s.treated)
	}
	return sessions
}

const madeAbout = `[log]
format = 1
id = "6f0c2f1e-6a0b-4f0a-9a55-2a3b8c1d7e90"
time_zone = "UTC"
date_style = "iso"

[patient]
identifier_system = "urn:oid:2.25.331383638406541845489215601853980652438"
identifier_value = "HHD-00099"
sex = "male"
birth_date = "1970-02-01"
height_cm = 175

[[prescription]]
valid_from = "2025-12-01"
sessions_per_week = 3
duration_min = 240
dry_weight_kg = 70.0
dialyser = "high-flux"
dialyser_koa_ml_min = 800
residual_urea_clearance_ml_min = 1.5

[[access]]
valid_from = "2025-12-01"
kind = "fistula"
`

var madeHeadings = []string{
	"session", "date", "start", "end", "status", "weight_before_kg", "weight_after_kg",
	"uf_removed_l", "dialysate_l", "dialysate_flow_ml_min", "blood_flow_ml_min", "treated_min", "dialyser",
}

// madeLog reads a log made of sessions, as a person's files would be read.
func madeLog(t testing.TB, about string, sessions []made) *session.Log {
	t.Helper()
	var rows, labs strings.Builder
	fmt.Fprintln(&rows, strings.Join(madeHeadings, ","))
	fmt.Fprintln(&labs, "session,drawn_time,when,test,value,unit")
	for _, s := range sessions {
		id := fmt.Sprintf("s%d-%d", s.day, s.minute)
		date := firstMonday.AddDate(0, 0, s.day)
		start := date.Add(time.Duration(s.minute) * time.Minute)
		end := start.Add(time.Duration(s.treated) * time.Minute)
		cells := []string{id, start.Format("2006-01-02"), start.Format("15:04"), end.Format("15:04"), cmp.Or(s.status, "done"),
			fmt.Sprintf("%.4f", s.before), fmt.Sprintf("%.4f", s.after), fmt.Sprintf("%.4f", s.uf), "", "500", "300", fmt.Sprint(s.treated), s.dialyser}
		if s.skipped {
			cells = []string{id, date.Format("2006-01-02"), "", "", "not done", "", "", "", "", "", "", "", ""}
		}
		if s.alone {
			cells[8], cells[9] = "0", ""
		}
		for j, heading := range madeHeadings {
			if s.blank != "" && heading == s.blank {
				cells[j] = ""
			}
		}
		fmt.Fprintln(&rows, strings.Join(cells, ","))
		before, after, _ := strings.Cut(s.sample, " ")
		drawn := end.Add(time.Duration(s.late) * time.Minute)
		if before != "" {
			fmt.Fprintf(&labs, "%s,%s,before,urea,%s,mmol/L\n", id, start.Format("15:04"), before)
		}
		if after != "" {
			fmt.Fprintf(&labs, "%s,%s,after,urea,%s,mmol/L\n", id, drawn.Format("15:04"), after)
		}
	}
	log, findings, err := session.ReadFS(fstest.MapFS{
		"log.toml":     {Data: []byte(about)},
		"sessions.csv": {Data: []byte(rows.String())},
		"labs.csv":     {Data: []byte(labs.String())},
	}, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		if f.Severity == issue.Error {
			t.Fatalf("the log made for the test has a mistake: %+v", f)
		}
	}
	return log
}

// madeGain is the fluid gained by thrice, L/day: 7.5 L a week over the time
// between sessions.
const madeGain = 7.5 / (7 - 3*240.0/1440)

// thrice is Monday, Wednesday and Friday at 18:00 for some weeks, with the
// fluid of each interval removed in each session.
func thrice(weeks int) []made {
	var all []made
	for w := range weeks {
		for _, d := range []struct {
			day   int
			hours float64
		}{{0, 68}, {2, 44}, {4, 44}} {
			all = append(all, made{day: 7*w + d.day, minute: 1080, treated: 240, uf: madeGain * d.hours / 24})
		}
	}
	return weigh(all, 70, madeGain)
}
