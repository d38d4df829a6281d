package measure

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// written reads a log from the text of its files.
func written(t testing.TB, about string, files map[string]string) *session.Log {
	t.Helper()
	disk := fstest.MapFS{"log.toml": {Data: []byte(about)}}
	for name, text := range files {
		disk[name] = &fstest.MapFile{Data: []byte(text)}
	}
	log, _, err := session.ReadFS(disk, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return log
}

// Facts of the trade (common practice): 30 L at 10 L/h is a treatment of three
// hours; 1.0 L over three hours is 0.33 L/h; an hourly rate of half a litre
// removes 1.0 L in two hours.
func TestVolumeRateAndTimeImplyEachOther(t *testing.T) {
	log := written(t, madeAbout, map[string]string{
		"sessions.csv": "session,date,start,end,status,uf_goal_l,dialysate_l,dialysate_flow_l_h,treated_min\n" +
			"a,2026-01-05,18:00,21:00,done,1.0,30,10,180\n" +
			"b,2026-01-07,18:00,21:00,done,1.0,30,10,\n" +
			"c,2026-01-09,18:00,20:00,done,1.0,30,10,120\n",
		"readings.csv": "session,time,uf_rate_l_h\na,18:10,0.5\nb,18:10,0.33\nb,19:10,0.40\n",
	})
	plans := FluidPlans(log)
	a := plans[0]
	near(t, "time the dialysate lasts", a.Implied.Dialysate.TimeMin.Value, 180, 1e-12)
	near(t, "time 1.0 L takes at half a litre an hour", a.Implied.UF.TimeMin.Value, 120, 1e-12)
	near(t, "rate for 1.0 L over three hours", a.Implied.UF.RateLPerH.Value, 1.0/3, 1e-12)
	if !a.Implied.Dialysate.Agree || a.Implied.UF.Agree {
		t.Error("30 L, 10 L/h and three hours agree; 1.0 L, 0.5 L/h and three hours do not")
	}
	near(t, "UF ends early by", a.Implied.UFEndsEarlyMin.Value, 60, 1e-12)
	if b := plans[1]; !b.RateChanged || b.Set.UFLPerH.Value != 0.33 || b.Highest != 0.40 || !b.Implied.UF.Agree {
		t.Errorf("rate of the first reading, and that it changed: %+v", b)
	}
	if plans[2].Implied.Dialysate.Agree {
		t.Error("30 L at 10 L/h in two hours agree")
	}
}

func TestDefinitionsOfHypotension(t *testing.T) {
	const sessions = "session,date,start,end,status,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,bp_before_standing_systolic_mmhg,bp_before_standing_diastolic_mmhg,saline_l\n"
	for _, test := range []struct {
		name, row, readings, events string
		nadir, ebpg, kdoqi, stand   calc.Answer
	}{
		{"fall with cramp and saline", "a,2026-01-05,18:00,21:00,done,140,80,118,75,0.2", "a,19:00,104,66", "a,19:05,symptom,cramp,", calc.No, calc.Yes, calc.Yes, calc.Yes},
		{"fall with headache and a word", "a,2026-01-05,18:00,21:00,done,140,80,135,78,0", "a,19:00,104,66", "a,19:05,symptom,headache,two tablets", calc.No, calc.No, calc.No, calc.No},
		{"fall with headache, dizziness and a word", "a,2026-01-05,18:00,21:00,done,140,80,135,78,0", "a,19:00,104,66", "a,19:05,symptom,Kopfschmerzen und Schwindel,two tablets", calc.No, calc.NotAssessable, calc.Yes, calc.No},
		{"fall with words not known", "a,2026-01-05,18:00,21:00,done,140,80,135,78,0.2", "a,19:00,104,66", "a,19:05,symptom,felt odd,", calc.No, calc.NotAssessable, calc.NotAssessable, calc.No},
		{"words not known, then a cramp", "a,2026-01-05,18:00,21:00,done,140,80,135,78,0.2", "a,19:00,104,66", "a,19:05,symptom,felt odd,\na,19:10,symptom,cramp,\na,19:20,symptom,itching,", calc.No, calc.Yes, calc.Yes, calc.No},
		{"fall with cramp and nothing done", "a,2026-01-05,18:00,21:00,done,140,80,135,78,0", "a,19:00,104,66", "a,19:05,symptom,cramp,", calc.No, calc.No, calc.Yes, calc.No},
		{"fall alone", "a,2026-01-05,18:00,21:00,done,140,80,135,78,", "a,19:00,104,66", "a,19:05,alarm,air,", calc.No, calc.No, calc.No, calc.No},
		{"nadir", "a,2026-01-05,18:00,21:00,done,140,80,,,", "a,19:00,88,50", "a,19:05,symptom,faint,", calc.Yes, calc.NotAssessable, calc.Yes, calc.NotAssessable},
		{"high before, below 100", "a,2026-01-05,18:00,21:00,done,162,80,,,", "a,19:00,98,60", "", calc.Yes, calc.NotAssessable, calc.NotAssessable, calc.NotAssessable},
		{"no readings", "a,2026-01-05,18:00,21:00,done,140,80,,,", "", "a,19:05,symptom,cramp,sat back", calc.NotAssessable, calc.NotAssessable, calc.NotAssessable, calc.NotAssessable},
	} {
		t.Run(test.name, func(t *testing.T) {
			h := PressuresOf(written(t, madeAbout, map[string]string{
				"sessions.csv": sessions + test.row + "\n",
				"readings.csv": "session,time,bp_systolic_mmhg,bp_diastolic_mmhg\n" + test.readings + "\n",
				"events.csv":   "session,time,kind,what,action\n" + test.events + "\n",
			}))[0]
			for i, want := range []calc.Answer{test.nadir, test.ebpg, test.kdoqi} {
				if got := h.Hypotension[i]; got.Answer != want {
					t.Errorf("%s: %v, want %v (%s)", got.Name, got.Answer, want, got.Why)
				}
			}
			if got := h.Standing[0].Answer; got != test.stand {
				t.Errorf("standing: %v, want %v", got, test.stand)
			}
		})
	}
}

func TestPressurePatterns(t *testing.T) {
	var sessions, readings strings.Builder
	sessions.WriteString("session,date,start,end,status,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,bp_after_systolic_mmhg,bp_after_diastolic_mmhg\n")
	readings.WriteString("session,time,bp_systolic_mmhg,bp_diastolic_mmhg\n")
	for i := range 8 {
		lowest := 120
		if i < 2 {
			lowest = 85
		}
		fmt.Fprintf(&sessions, "s%d,2026-01-%02d,18:00,21:00,done,130,80,%d,82\n", i, 5+i, 130+5*i)
		fmt.Fprintf(&readings, "s%d,19:00,%d,60\n", i, lowest)
	}
	log := written(t, madeAbout, map[string]string{"sessions.csv": sessions.String(), "readings.csv": readings.String()})
	got := PressurePatterns(log, PressuresOf(log))
	// Two of eight sessions: 25 %, below 30 and above 20. Rises of the last
	// six: 10, 15, 20, 25, 30, 35; five above 10.
	for i, want := range []calc.Answer{calc.No, calc.Yes, calc.Yes} {
		if got[i].Answer != want {
			t.Errorf("%s, %s: %v, want %v", got[i].Name, got[i].Definition, got[i].Answer, want)
		}
	}
}

func TestCalendarCountsWhatTheRowsSay(t *testing.T) {
	sessions := thrice(4)
	sessions[4].skipped = true
	sessions[7].treated = 215
	sessions[8].treated = 231 // nine minutes are not shortened
	log := madeLog(t, madeAbout, weigh(sessions, 70, 1))
	log.Sessions[10].Broken = true
	c := NewCalendar(log)
	second := c.Days(firstMonday.AddDate(0, 0, 7), 7)
	third := c.Days(firstMonday.AddDate(0, 0, 14), 7)
	last := c.Days(firstMonday.AddDate(0, 0, 21), 7)
	if second.Done != 2 || second.Missed != 1 || third.Shortened != 1 || third.ShortMin != 25 || last.Done != 2 || last.HeldBack != 1 {
		t.Errorf("second %+v\nthird %+v\nlast %+v", second, third, last)
	}
	month := c.Days(firstMonday, 28)
	near(t, "sessions a week over 28 days", month.SessionsPerWeek, 10.0/4, 1e-12)
	near(t, "hours a week over 28 days", month.HoursPerWeek, (8*240+215+231)/60.0/4, 1e-12)
	if !c.Covers(firstMonday, firstMonday.AddDate(0, 0, 25)) || c.Covers(firstMonday, firstMonday.AddDate(0, 0, 26)) {
		t.Error("the log covers its first to its last day and no more")
	}
}

// The worked example of the time-averaged excess, by hand: one interval of 44 h
// from 70.0 to 72.1 kg and one of 68 h from 70.2 to 73.0 kg, dry weight 70.0.
func TestWeightExcess(t *testing.T) {
	sessions := []made{
		{day: 0, minute: 1080, treated: 240, before: 72, after: 70, uf: 2},
		{day: 2, minute: 1080, treated: 240, before: 72.1, after: 70.2, uf: 1.9},
		{day: 5, minute: 1080, treated: 240, before: 73, after: 70.5, uf: 2.5},
		{day: 7, minute: 1080, treated: 240, before: 73.5, after: 70, uf: 2},
	}
	v := WeightExcess(madeLog(t, madeAbout, sessions[:3]), firstMonday, 7)
	want := ((70+72.1)/2*44+(70.2+73)/2*68)/(44+68) - 70
	near(t, "excess", v.Result.Value, want, 1e-12)
	if len(v.Inputs) == 0 || v.Inputs[0].Key != "dry_weight" || len(v.Cells()) != 6 {
		t.Errorf("%d inputs with cells %v, want the dry weight and five weights", len(v.Inputs), v.Cells())
	}
	longer := WeightExcess(madeLog(t, madeAbout, sessions), firstMonday, 7)
	near(t, "with the interval to the next week", longer.Result.Value, ((70+72.1)/2*44+(70.2+73)/2*68+(70.5+73.5)/2*44)/(44+68+44)-70, 1e-12)
	sessions[1].blank = "weight_after_kg"
	if why := WeightExcess(madeLog(t, madeAbout, sessions), firstMonday, 7).Result.WhyNot; why != "not recorded on 2026-01-07: weight after dialysis" {
		t.Errorf("a missing weight: %q", why)
	}
}

func TestAccessTrendIsOfOneConditionOnly(t *testing.T) {
	about := madeAbout + "needle_gauge = 15\n"
	var sessions, readings strings.Builder
	sessions.WriteString("session,date,start,end,status\n")
	readings.WriteString("session,time,blood_flow_ml_min,venous_pressure_mmhg,arterial_pressure_mmhg\n")
	for i := range 6 {
		fmt.Fprintf(&sessions, "s%d,2026-01-%02d,18:00,21:00,done\n", i, 5+2*i)
		// Within a session the pressure rises by 40; from session to session
		// by 2 in two days, 30 in 30 days.
		for j, more := range []int{0, 20, 40} {
			fmt.Fprintf(&readings, "s%d,%d:00,300,%d,-150\n", i, 18+j, 120+2*i+more)
		}
		fmt.Fprintf(&readings, "s%d,20:30,200,90,-80\n", i)
	}
	got := AccessTrends(written(t, about, map[string]string{"sessions.csv": sessions.String(), "readings.csv": readings.String()}))
	if len(got) != 2 || got[0].Field != "venous_line_pressure" || len(got[0].Trends) != 2 {
		t.Fatalf("%+v", got)
	}
	slow, fast := got[0].Trends[0], got[0].Trends[1]
	if slow.BloodFlow != 200 || slow.PerMonth != 0 || slow.NeedleGauge != 15 {
		t.Errorf("at 200 mL/min: %+v", slow)
	}
	near(t, "trend in 30 days", fast.PerMonth, 30, 1e-9)
	near(t, "median", fast.Median, 145, 1e-12)
}

func formsOf(t testing.TB, log *session.Log, at int) map[string]Value {
	t.Helper()
	found := map[string]Value{}
	for _, v := range Forms(log)[at] {
		found[v.Result.Method.ID] = v
	}
	return found
}

// The two-point protein catabolic rate is defined for two and three sessions a
// week only, and for the place of the session in the week.
func TestProteinOnlyWithinItsSchedule(t *testing.T) {
	for at, want := range map[int]string{9: "npcr-3-first-kru", 10: "npcr-3-midweek-kru", 11: "npcr-3-last-kru"} {
		sessions := thrice(5)
		sessions[at].sample = "20.0 7.0"
		forms := formsOf(t, madeLog(t, madeAbout, sessions), at)
		if _, ok := forms[want]; !ok {
			t.Errorf("session %d: no %s", at, want)
		}
		for id := range forms {
			if strings.HasPrefix(id, "npcr") && id != want {
				t.Errorf("session %d: %s is for another place in the week", at, id)
			}
		}
	}
	var daily []made
	for d := range 14 {
		daily = append(daily, made{day: d, minute: 1080, treated: 150, uf: 1})
	}
	daily[12].sample = "16.0 9.0"
	for id := range formsOf(t, madeLog(t, madeAbout, weigh(daily, 70, 1)), 12) {
		if strings.HasPrefix(id, "npcr") {
			t.Errorf("daily sessions: %s", id)
		}
	}
}

// A sample drawn half an hour later gives an equilibrated value directly, no
// single-pool one, and serves the kinetic model as what it is.
func TestDelayedSample(t *testing.T) {
	sessions := thrice(4)
	log := madeLog(t, madeAbout, sessions)
	s := log.Sessions[7]
	late := func(when string, text string, at session.Moment) *session.Lab {
		d, err := session.ParseDecimal(text, '.')
		if err != nil {
			t.Fatal(err)
		}
		return &session.Lab{Drawn: at, When: session.Text{Text: when, Absence: session.Present}, Test: session.Text{Text: "urea", Absence: session.Present},
			Value: session.Value{Text: text, Decimal: d, Unit: "mmol/L", Absence: session.Present}}
	}
	drawn := s.End
	drawn.Time = drawn.Time.Add(equilibratedAfter)
	s.Labs = []*session.Lab{late("before", "20.0", s.Start), late("after", "8.0", drawn)}
	values := valuesOf(log, 7)
	if v, ok := values["ektv-delayed-sample"]; !ok || !v.Result.OK() || v.Inputs[1].Key != "urea_equilibrated" {
		t.Errorf("no equilibrated value from the late sample: %v", v)
	}
	if v, ok := values["urr-delayed-sample"]; !ok || math.Abs(v.Result.Value-60) > 1e-9 {
		t.Errorf("no reduction ratio as drawn: %v", v)
	}
	if v := values["stdktv-leypoldt-fixed"]; !v.Result.OK() {
		t.Errorf("no weekly dose: %v", v.Result.WhyNot)
	}
	if v := values["spktv-daugirdas2"]; v.Result.OK() || !strings.Contains(v.Result.WhyNot, "already equilibrated") || len(v.Result.Missing) != 1 {
		t.Errorf("a single-pool value from an equilibrated sample: %v", v)
	}
	for id := range formsOf(t, log, 7) {
		if strings.HasPrefix(id, "spktv") || strings.HasPrefix(id, "ektv") || id == "stdktv-gotch" || id == "urea-rebound" {
			t.Errorf("%s from an equilibrated sample", id)
		}
	}
	if _, again := values["stdktv-fhn-uf-kru"]; again {
		t.Error("the form that asks for a single-pool value has one")
	}
	late1 := FollowKinetics(log).Fits[0]
	s.Labs[1].Drawn = s.End
	early := FollowKinetics(log).Fits[0]
	if !late1.Equilibrated || early.Equilibrated || !(late1.Models[0].Factor > early.Models[0].Factor) {
		t.Errorf("the same urea half an hour later means more clearance: %v, at the end %v", late1.Models[0].Factor, early.Models[0].Factor)
	}
}

// The KoA of the prescription belongs to its dialyser and no other.
func TestKoAOfAnotherDialyserIsNotKnown(t *testing.T) {
	sessions := thrice(1)
	sessions[1].dialyser = "low-flux"
	sessions[2].dialyser = "High-Flux"
	all := Log(madeLog(t, madeAbout, sessions))
	for i, want := range []bool{true, false, true} {
		if _, got := all[i].Value("dialysate_saturation"); got != want {
			t.Errorf("session %d: saturation %v, want %v", i, got, want)
		}
	}
}

// Forms leave the values of the record as they are.
func TestFormsDoNotRepeatTheRecord(t *testing.T) {
	log, _, err := session.ReadFolder("../../testdata/month", session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	recorded, forms := Log(log), Forms(log)
	count := 0
	for i, s := range recorded {
		ids := map[string]bool{}
		for _, v := range s.Values {
			ids[v.Result.Method.ID] = true
		}
		for _, v := range forms[i] {
			count++
			if ids[v.Result.Method.ID] {
				t.Errorf("%s: %s is in the record already", s.ID, v.Result.Method.ID)
			}
			if !v.Result.OK() || math.IsNaN(v.Result.Value) || len(v.Inputs) != len(v.Result.Inputs) {
				t.Errorf("%s: %s: %v with %d inputs", s.ID, v.Result.Method.ID, v.Result.Value, len(v.Inputs))
			}
		}
	}
	if count < 150 {
		t.Errorf("only %d other forms in the month", count)
	}
}
