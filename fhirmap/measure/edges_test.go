package measure

import (
	"slices"
	"strings"
	"testing"
	"time"

	"runsheet.example/calc"
	"runsheet.example/calc/kinetics"
	"runsheet.example/fhirmap/session"
)

// Treatments of one day share their prescribed length up to seven sessions a
// week; with more, a day has several prescribed ones.
func TestDailyPrescriptionSharesTheDay(t *testing.T) {
	for weekly, want := range map[string][]float64{"7": {100, 140}, "8": {240, 240}} {
		log := madeLog(t, strings.Replace(madeAbout, "sessions_per_week = 3", "sessions_per_week = "+weekly, 1),
			weigh([]made{{day: 0, minute: 420, treated: 100, uf: 1}, {day: 0, minute: 1080, treated: 200, uf: 1}}, 70, 1))
		for i, minutes := range want {
			if got := PlannedMinutes(log, i); !got.Known || got.Value != minutes {
				t.Errorf("%s a week, treatment %d: %+v", weekly, i, got)
			}
		}
	}
}

// The averaged weight names the session whose weight, time or dry weight is
// missing.
func TestExcessNamesWhatIsMissing(t *testing.T) {
	for blank, want := range map[string]string{
		"weight_before_kg": "not recorded on 2026-01-07: weight before dialysis", "weight_after_kg": "not recorded on 2026-01-07: weight after dialysis",
	} {
		sessions := thrice(1)
		sessions[1].blank = blank
		if why := WeightExcess(madeLog(t, madeAbout, sessions), firstMonday, 7).Result.WhyNot; why != want {
			t.Errorf("without %s: %q", blank, why)
		}
	}
	if why := WeightExcess(madeLog(t, strings.Replace(madeAbout, "dry_weight_kg = 70.0\n", "", 1), thrice(1)), firstMonday, 7).Result.WhyNot; why != "no dry weight is known" {
		t.Errorf("without a dry weight: %q", why)
	}
	for _, change := range []func(*session.Session){
		func(s *session.Session) { s.Start.Absence = session.Unreadable },
		func(s *session.Session) { s.Start.DateOnly = true },
		func(s *session.Session) { s.End.Absence = session.Unreadable },
	} {
		log := madeLog(t, madeAbout, thrice(1))
		change(log.Sessions[1])
		if why := WeightExcess(log, firstMonday, 7).Result.WhyNot; why != "not recorded on 2026-01-07: start and end" {
			t.Errorf("without a time: %q", why)
		}
	}
	log := madeLog(t, madeAbout, thrice(1))
	log.Sessions[1].Broken = true
	if why := WeightExcess(log, firstMonday, 7).Result.WhyNot; why != "the session of 2026-01-07 is held back because of mistakes" {
		t.Errorf("with a session held back: %q", why)
	}
	if why := WeightExcess(madeLog(t, madeAbout, thrice(1)[:1]), firstMonday, 7).Result.WhyNot; why != "fewer than two sessions" {
		t.Errorf("one session: %q", why)
	}
}

// The notes of a week say where its model starts.
func TestNotesNameTheStartOfTheModel(t *testing.T) {
	sampled := thrice(5)
	sampled[7].sample = "20.0 7.0"
	for _, c := range []struct {
		sessions    []made
		start, note string
	}{
		{sampled, "the samples of 2026-01-21", "fitted to the samples of 2026-01-21: body water 39.5 L (watson-male), clearance "},
		{thrice(5), "flows and body size", "estimated from flows and body size, without blood samples; body water by watson-male"},
	} {
		k := FollowKinetics(madeLog(t, madeAbout, c.sessions))
		w := k.Weeks[2]
		if got := w.Fit.Start(); got != c.start {
			t.Errorf("starts from %q, not %q", got, c.start)
		}
		m, _ := w.Main()
		for _, v := range m.Values {
			if !slices.ContainsFunc(v.Notes, func(note string) bool { return strings.HasPrefix(note, c.note) }) {
				t.Errorf("%s has the notes %q, none %q", v.Method.ID, v.Notes, c.note)
			}
		}
	}
}

// The hours before the first session and after the last are named where a week
// has them.
func TestNotesNameTheEndsOfTheLog(t *testing.T) {
	k := FollowKinetics(madeLog(t, madeAbout, append(thrice(5), made{day: 35, skipped: true}, made{day: 41, skipped: true})))
	for week, want := range map[int][2]bool{0: {true, false}, 2: {false, false}, 4: {false, true}} {
		m, ok := k.Weeks[week].Main()
		if !ok {
			t.Fatalf("week %d: %s", week, k.Weeks[week].WhyNot)
		}
		for i, note := range []string{"the hours of the week before the first session known rest on that repetition", "after the last session of the log fluid is taken to be gained at the mean rate of the span"} {
			if got := slices.Contains(m.Values[0].Notes, note); got != want[i] {
				t.Errorf("week %d: %q is %v", week, note, got)
			}
		}
	}
}

// Each formula of body water is a case; Watson's also with its standard
// deviation. One volume alone, or one fitted, is no question.
func TestVolumesInQuestion(t *testing.T) {
	watson, hume, woman := bodyWater{"watson-male", 40}, bodyWater{"hume-male", 38}, bodyWater{"watson-female", 30}
	for _, c := range []struct {
		volumes []bodyWater
		by      fitBy
		want    map[string]float64
	}{
		{[]bodyWater{watson, hume}, byClearance, map[string]float64{"Watson": 40, "less 1 SD": 36.24, "plus 1 SD": 43.76, "Hume": 38}},
		{[]bodyWater{woman}, byNothing, map[string]float64{"Watson": 30, "less 1 SD": 26.4, "plus 1 SD": 33.6}},
		{[]bodyWater{hume}, byClearance, nil}, {[]bodyWater{hume, hume}, byClearance, map[string]float64{"Hume": 38}}, {[]bodyWater{watson, hume}, byVolume, nil},
	} {
		r := &kineticRun{part: &stretch{steps: []step{{volumes: c.volumes, clearance: 200, printed: 250}}}}
		got := map[string]float64{}
		asked := r.questions(variant{by: c.by})
		for _, q := range asked {
			if q.input == "urea volume" {
				for _, one := range q.cases {
					got[one.label] = one.value
				}
			}
		}
		if len(got) != len(c.want) {
			t.Errorf("%v: %v", c.volumes, got)
		}
		for label, litres := range c.want {
			near(t, label, got[label], litres, 1e-12)
		}
		if last := asked[len(asked)-1]; (last.input == "dialyser clearance") != (c.by == byNothing) || c.by == byNothing && (last.cases[0].value != 200 || last.cases[1].value != 250) {
			t.Errorf("%v: the last question is %+v", c.by, last)
		}
	}
}

// A session that starts before the one before it has ended stops the model; one
// that starts as it ends does not.
func TestSessionsThatOverlapStopTheModel(t *testing.T) {
	first := step{start: firstMonday, minutes: 240}
	for later, want := range map[time.Duration]string{
		240*time.Minute - 1: "the session of 2026-01-05 starts before the one before it has ended", 240 * time.Minute: "",
	} {
		s := stretch{steps: []step{first}}
		if got := s.follows(step{start: firstMonday.Add(later)}); got != want {
			t.Errorf("%v later: %q", later, got)
		}
	}
}

// A treatment in two records has the clearances of both, each for its time.
func TestClearanceOfATreatmentInTwoRecords(t *testing.T) {
	log := madeLog(t, madeAbout, weigh(restarted(90, "cut short"), 70, madeGain))
	k := &kinetic{log: log}
	first, why1 := k.step(11, false)
	second, why2 := k.step(12, true)
	whole, why := k.treatment(12)
	if why+why1+why2 != "" {
		t.Fatal(why, why1, why2)
	}
	near(t, "clearance", whole.clearance, (30*first.clearance+210*second.clearance)/240, 1e-12)
	near(t, "clearance as printed", whole.printed, (30*first.printed+210*second.printed)/240, 1e-12)
	near(t, "fluid removed", whole.ufL, first.ufL+second.ufL, 1e-12)
	near(t, "weight before", whole.weight, first.weight, 1e-12)
	if whole.minutes != 240 || !whole.start.Equal(first.start) {
		t.Errorf("%v min from %v", whole.minutes, whole.start)
	}
}

// The first record of a log may be the first part of a treatment.
func TestFirstRecordStartedAgain(t *testing.T) {
	sessions := []made{
		{day: 0, minute: 600, treated: 60, uf: 0.5, status: "cut short"}, {day: 0, minute: 720, treated: 180, uf: 1},
	}
	log := madeLog(t, madeAbout, weigh(sessions, 70, 1))
	if got := parts(log, 1); !slices.Equal(got, []int{0, 1}) {
		t.Errorf("parts %v", got)
	}
}

// A session counts for the same place in the week up to eight hours off; of two,
// the nearer, and of equals the first.
func TestWeeksApartAtItsLimits(t *testing.T) {
	from := firstMonday.Add(18 * time.Hour)
	week := from.AddDate(0, 0, -7)
	for _, c := range []struct {
		off  []time.Duration
		want int
	}{
		{[]time.Duration{nearWeeks}, 0}, {[]time.Duration{-nearWeeks}, 0}, {[]time.Duration{nearWeeks + 1}, -1}, {[]time.Duration{-nearWeeks - 1}, -1},
		{[]time.Duration{-3 * time.Hour, 2 * time.Hour}, 1}, {[]time.Duration{-2 * time.Hour, 3 * time.Hour}, 0}, {[]time.Duration{-time.Hour, time.Hour}, 0},
	} {
		var starts []time.Time
		for _, off := range c.off {
			starts = append(starts, week.Add(off))
		}
		if got := weeksApart(from, starts, -1); got != c.want {
			t.Errorf("%v: %d, want %d", c.off, got, c.want)
		}
	}
}

// The sums of a week name the session that lacks its part, and none when one is
// held back.
func TestWeekNamesTheSessionThatIsMissing(t *testing.T) {
	const rows = "session,date,start,end,status,weight_after_kg,uf_removed_l,treated_min\n" +
		"a,2026-01-05,18:00,21:00,done,70,2,180\nb,2026-01-07,,,done,WEIGHT,UF,TREATED\nc,2026-01-11,18:00,21:00,done,70,2,180\n"
	for _, c := range []struct {
		weight, uf, treated string
		held                bool
		want                map[string]string // reasons by key
	}{
		{"70", "2", "180", false, map[string]string{"sessions_done": "3", "hours_done": "9.00", "uf_done": "6.00"}},
		{"70", "", "", false, map[string]string{"sessions_done": "3", "hours_done": "the session of 2026-01-07 has no treated time", "uf_done": "the session of 2026-01-07 has no fluid removed"}},
		{"", "", "", false, map[string]string{"sessions_done": "the session of 2026-01-07 has no value by which the record counts it"}},
		{"", "2", "", false, map[string]string{"sessions_done": "3", "uf_done": "6.00"}},
		{"70", "2", "180", true, map[string]string{"sessions_done": heldBack, "hours_done": heldBack, "uf_done": heldBack}},
	} {
		log := written(t, madeAbout, map[string]string{"sessions.csv": strings.NewReplacer("WEIGHT", c.weight, "UF", c.uf, "TREATED", c.treated).Replace(rows)})
		log.Sessions[1].Broken = c.held
		for _, v := range Weeks(log)[0].Values {
			want, asked := c.want[v.Key()]
			got := v.Result.Rounded()
			if !v.Result.OK() {
				got = v.Result.WhyNot
			}
			if asked && got != want {
				t.Errorf("%+v: %s is %q", c, v.Key(), got)
			}
		}
	}
}

const heldBack = "the session of 2026-01-07 is held back because of mistakes"

// Without a blood sample a week has doses and no value that needs the generation
// of urea; without a model each value has the reason of the model.
func TestWeekWithoutASampleSaysSo(t *testing.T) {
	reasons := func(sessions []made, week int) map[string]string {
		out := map[string]string{}
		for _, v := range Weeks(madeLog(t, madeAbout, sessions))[week].Values {
			out[v.Key()] = v.Result.WhyNot
		}
		return out
	}
	const needed = "no blood sample tells the generation of urea"
	if got := reasons(thrice(5), 2); got["npcr"] != needed || got["time_averaged_urea_plasma"] != needed || got["std_kt_v_weekly"] != "" || got["ekr"] != "" {
		t.Errorf("from flows: %q", got)
	}
	sampled := thrice(5)
	sampled[7].sample = "20.0 7.0"
	if got := reasons(sampled, 2); got["npcr"] != "" || got["time_averaged_urea_plasma"] != "" || got["std_kt_v_weekly"] != "" {
		t.Errorf("from samples: %q", got)
	}
	blank := thrice(5)
	blank[7].blank = "blood_flow_ml_min"
	const missing = "not known of the session of 2026-01-21: blood flow"
	if got := reasons(blank, 2); got["npcr"] != missing || got["std_kt_v_weekly"] != missing {
		t.Errorf("without a flow: %q", got)
	}
}

// A prescription of the week counts if it holds on each of its days.
func TestPlannedOfOnePrescription(t *testing.T) {
	for from, want := range map[string]string{
		"2025-12-01": "3", "2026-01-12": "4", "2026-01-13": "the prescription changed within the week", "2026-01-18": "the prescription changed within the week", "2026-01-19": "3",
	} {
		about := strings.Replace(madeAbout, "\n[[access]]", "\n[[prescription]]\nvalid_from = \""+from+"\"\nsessions_per_week = 4\n\n[[access]]", 1)
		if from == "2025-12-01" {
			about = madeAbout
		}
		for _, v := range Weeks(madeLog(t, about, thrice(3)))[1].Values {
			if got := v.Result.Rounded() + v.Result.WhyNot; v.Key() == "sessions_planned" && got != want {
				t.Errorf("from %s: %q", from, got)
			}
		}
	}
}

// Urea in another unit is an input in mmol/L, written in full.
func TestUreaIsAnInputInMmolPerL(t *testing.T) {
	for test, want := range map[string]string{"urea,20.0,mmol/L": "20.0", "urea,120,mg/dL": "19.981350739309978", "BUN,56,mg/dL": "19.99000499750125"} {
		log := written(t, madeAbout, map[string]string{
			"sessions.csv": "session,date,start,end,status\na,2026-01-05,18:00,21:00,done\n",
			"labs.csv":     "session,drawn_time,when,test,value,unit\na,17:55,before," + test + "\na,21:00,after," + test + "\n",
		})
		c := newCollector(log, 0)
		if pair, why := c.pair(); pair == nil || c.inputs["urea_before"].Text != want {
			t.Errorf("%s: %q %s", test, c.inputs["urea_before"].Text, why)
		}
	}
}

// The second sample is equilibrated from half an hour after the end on, and taken
// as drawn at the end where its time is not known.
func TestSampleHalfAnHourLater(t *testing.T) {
	for drawn, want := range map[string][2]bool{"21:29": {false, false}, "21:30": {true, false}, "": {false, true}} {
		log := written(t, madeAbout, map[string]string{
			"sessions.csv": "session,date,start,end,status\na,2026-01-05,18:00,21:00,done\n",
			"labs.csv":     "session,drawn_time,when,test,value,unit\na,17:55,before,urea,20,mmol/L\na," + drawn + ",after,urea,8,mmol/L\n",
		})
		pair, why := newCollector(log, 0).pair()
		if pair == nil {
			t.Fatal(why)
		}
		if taken := slices.Contains(pair.notes, "when the sample after dialysis was drawn is not recorded: taken as drawn at the end"); pair.equilibrated != want[0] || taken != want[1] {
			t.Errorf("drawn at %q: %+v", drawn, pair)
		}
	}
}

// Units of a log as the methods need them.
func TestUnitsOfTheMethods(t *testing.T) {
	for _, c := range []struct {
		number, unit, wanted, text string
	}{
		{"1500", "mL", "L", "1.5"}, {"1.50", "L", "L", "1.50"}, {"3", "h", "min", "180"}, {"9", "L/h", "mL/min", "150"}, {"150", "mL/min", "L/h", "9"},
		{"500", "mL/h", "L/h", "0.5"}, {"70000", "g", "kg", "70"}, {"100", "[lb_av]", "kg", "45.359237"}, {"1.5", "m", "cm", "150"}, {"10", "[in_i]", "cm", "25.4"},
	} {
		d, err := session.ParseDecimal(c.number, '.')
		if err != nil {
			t.Fatal(err)
		}
		if _, text, ok := convert(session.Value{Decimal: d, Unit: c.unit, Absence: session.Present}, c.wanted); !ok || text != c.text {
			t.Errorf("%s %s in %s: %q", c.number, c.unit, c.wanted, text)
		}
	}
	if _, _, ok := convert(session.Value{Unit: "kg"}, "L"); ok {
		t.Error("kg in litres")
	}
}

// The main model is the first that has values, in a week as in a run.
func TestMainModelIsTheFirstWithValues(t *testing.T) {
	r := kineticRun{courses: []course{{whyNot: "none"}, {}, {}}}
	if got := r.mainVariant(); got != 1 {
		t.Errorf("variant %d", got)
	}
	week := KineticWeek{Models: []WeekModel{{WhyNot: "none"}, {Name: "second", Values: []calc.Result{{Method: calc.Method{Key: "ekr"}, WhyNot: "none"}}}}}
	m, ok := week.Main()
	if _, has := m.Value("ekr"); !ok || m.Name != "second" || has {
		t.Errorf("%+v", m)
	}
	if got := spread([]SensitivityCase{{StdKtV: 2}, {StdKtV: 2.5}, {StdKtV: 9, WhyNot: "none"}}); got != 0.5 {
		t.Errorf("spread %v", got)
	}
	if got := spread([]SensitivityCase{{WhyNot: "none"}}); got != 0 {
		t.Errorf("spread of no case: %v", got)
	}
	single := exchangeQuestion(variant{}).cases
	for i, factor := range []float64{0.5, 1, 2, 0} {
		near(t, single[i].label, single[i].value, factor*kinetics.ExchangePerLitre, 1e-12)
	}
}
