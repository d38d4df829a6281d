package measure

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
	"runsheet.example/fhirmap/session"
)

func valuesOf(log *session.Log, at int) map[string]Value {
	found := map[string]Value{}
	for _, v := range newCollector(log, at).compute() {
		found[v.Result.Method.ID] = v
	}
	return found
}

// schedules are days of the week with a session, 0 for Monday; on alternate
// days the cycle has 14 days.
var schedules = map[string]struct {
	days    []int
	cycle   int
	perWeek float64
}{
	"two":       {[]int{0, 3}, 7, 2},
	"three":     {[]int{0, 2, 4}, 7, 3},
	"four":      {[]int{0, 1, 3, 5}, 7, 4},
	"five":      {[]int{0, 1, 2, 4, 5}, 7, 5},
	"six":       {[]int{0, 1, 2, 3, 4, 5}, 7, 6},
	"seven":     {[]int{0, 1, 2, 3, 4, 5, 6}, 7, 7},
	"alternate": {[]int{0, 2, 4, 6, 8, 10, 12}, 14, 3.5},
}

// regular makes the sessions of a schedule from the day the log starts to the
// day of the sample, whose session has it.
func regular(days []int, cycle, first, sampled int, minute func(day int) int) (all []made, at int) {
	at = -1
	for d := first; d <= first+sampled; d++ {
		for _, on := range days {
			if d%cycle != on {
				continue
			}
			m := made{day: d - first, minute: minute(d), treated: 180, uf: 0.5}
			if d-first == sampled {
				m.sample, at = "20.0 9.0", len(all)
			}
			all = append(all, m)
		}
	}
	return weigh(all, 70, 0.1), at
}

// The number of sessions a week is that of the schedule wherever in it the log
// starts and the sample falls, or there is none with a reason.
func TestSessionsAWeekAreExactOnRegularSchedules(t *testing.T) {
	for name, plan := range schedules {
		t.Run(name, func(t *testing.T) {
			known := 0
			for sampled := 8; sampled <= 40; sampled++ {
				for first := range plan.cycle {
					sessions, at := regular(plan.days, plan.cycle, first, sampled, func(day int) int { return 1050 + 37*day%60 })
					if at < 0 {
						continue
					}
					v, ok := valuesOf(madeLog(t, madeAbout, sessions), at)["stdktv-leypoldt-fixed"]
					switch {
					case !ok:
						t.Fatalf("log from day %d, sample on day %d: neither a value nor a reason", first, sampled)
					case !v.Result.OK():
						if v.Result.WhyNot != tooLittleLog || sampled >= 14 && plan.cycle == 7 || sampled >= 28 {
							t.Fatalf("log from day %d, sample on day %d: %s", first, sampled, v.Result.WhyNot)
						}
					default:
						known++
						if n := v.Inputs[2]; n.Key != "sessions_per_week" || math.Abs(n.Number/plan.perWeek-1) > 0.01 {
							t.Fatalf("log from day %d, sample on day %d: %v a week, not %v", first, sampled, n.Number, plan.perWeek)
						}
					}
				}
			}
			if known < 60 {
				t.Errorf("only %d values", known)
			}
		})
	}
}

// Random regular schedules, two treatments on a day among them.
func TestSessionsAWeekOfAnyWeeklySchedule(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		slots := rapid.SliceOfNDistinct(rapid.IntRange(0, 13), 1, 9, rapid.ID).Draw(rt, "half days")
		sampled := rapid.IntRange(0, 83).Draw(rt, "half day of the sample")
		start := rapid.IntRange(0, 13).Draw(rt, "half day the log starts")
		var all []made
		for half := start; half <= sampled; half++ {
			for _, slot := range slots {
				if half%14 == slot {
					all = append(all, made{day: half/2 - start/2, minute: 420 + half%2*660 + 17*half%40, treated: 120, uf: 0.2})
				}
			}
		}
		if len(all) == 0 {
			rt.Skip("no session")
		}
		last := len(all) - 1
		all[last].sample = "20.0 12.0"
		v := valuesOf(madeLog(t, madeAbout, weigh(all, 70, 0.1)), last)["stdktv-leypoldt-fixed"]
		if n, ok := countOfWeek(v); ok && math.Abs(n/float64(len(slots))-1) > 0.01 {
			rt.Fatalf("%v a week, not %d", n, len(slots))
		}
	})
}

func countOfWeek(v Value) (float64, bool) {
	for _, in := range v.Inputs {
		if in.Key == "sessions_per_week" && v.Result.OK() {
			return in.Number, true
		}
	}
	return 0, false
}

// A week without a row, or a session held back, ends what is known.
func TestSilenceEndsTheWeeksCounted(t *testing.T) {
	sessions := thrice(6)
	sessions = append(sessions[:6], sessions[9:]...) // nothing in the third week
	last := len(sessions) - 1
	sessions[last].sample = "20.0 7.0"
	log := madeLog(t, madeAbout, weigh(sessions, 70, 1))
	v := valuesOf(log, last)["stdktv-leypoldt-fixed"]
	if n, ok := countOfWeek(v); !ok || n != 3 || v.Start.Format("2006-01-02") != "2026-01-30" {
		t.Errorf("counted %v from %v: %s", n, v.Start, v.Result.WhyNot)
	}
	log.Sessions[last-3].Broken = true
	if v := valuesOf(log, last)["stdktv-leypoldt-fixed"]; v.Result.OK() || v.Result.Missing == nil {
		t.Errorf("a session held back within the week: %v", v.Result.Value)
	}
}

// The weekly forms say where the sessions counted were not alike.
func TestUnlikeSessionsAreNamed(t *testing.T) {
	sessions := thrice(3)
	sessions[6].treated, sessions[8].sample = 420, "20.0 7.0"
	values := valuesOf(madeLog(t, madeAbout, weigh(sessions, 70, 1)), 8)
	for _, id := range []string{"stdktv-leypoldt-fixed", "stdktv-fhn-uf-kru"} {
		if notes := strings.Join(values[id].Result.Notes, "; "); !strings.Contains(notes, "not identical: from 240 to 420 min") {
			t.Errorf("%s does not say that the long night breaks its assumption: %q", id, notes)
		}
	}
}

// restarted is three a week with the last treatment stopped after 30 minutes
// and started again an hour and a half later.
func restarted(pause int, status string) []made {
	sessions := thrice(4)
	last := len(sessions) - 1
	stub := sessions[last]
	stub.treated, stub.uf, stub.sample, stub.status = 30, 0.2, "20.0", status
	sessions[last].minute += 30 + pause
	sessions[last].treated, sessions[last].uf, sessions[last].sample = 210, sessions[last].uf-0.2, " 7.0"
	return append(sessions[:last], stub, sessions[last])
}

func TestTreatmentStartedAgainIsOneForDose(t *testing.T) {
	plain := thrice(4)
	plain[11].sample = "20.0 7.0"
	want := valuesOf(madeLog(t, madeAbout, weigh(plain, 70, madeGain)), 11)
	log := madeLog(t, madeAbout, weigh(restarted(90, "cut short"), 70, madeGain))
	got := valuesOf(log, 12)
	for _, id := range []string{"urr", "spktv-daugirdas2", "ektv-rate-av", "stdktv-leypoldt-fixed", "stdktv-fhn-uf-kru"} {
		if g, w := got[id].Result, want[id].Result; !g.OK() || math.Abs(g.Value/w.Value-1) > 0.002 {
			t.Errorf("%s: %v %s, in one piece %v", id, g.Value, g.WhyNot, w.Value)
		}
	}
	before := got["urr"].Inputs[0]
	if before.Origin != Previous || before.Session != log.Sessions[11] || before.Lab == 0 {
		t.Errorf("the urea before belongs to the first record: %+v", before)
	}
	if n, _ := countOfWeek(got["stdktv-leypoldt-fixed"]); n != 3 {
		t.Errorf("%v sessions a week", n)
	}
	if !got["spktv-daugirdas2"].Start.Equal(log.Sessions[11].Start.Time) {
		t.Error("the dose begins with the first record")
	}
	if v, has := got["idwg"]; has {
		t.Errorf("a weight gain since the first part: %v", v.Result.Value)
	}
	for id, v := range valuesOf(log, 11) {
		if v.Key() == "sp_kt_v" || v.Key() == "std_kt_v_weekly" || v.Key() == "urea_reduction_ratio" {
			t.Errorf("%s stands with the first record too", id)
		}
	}
	if v := valuesOf(log, 11)["uf-rate-per-kg"]; !v.Result.OK() || v.Inputs[1].Number != 30 {
		t.Errorf("the first record keeps values of its own: %+v", v)
	}
	counted := NewCalendar(log).Days(firstMonday, 28)
	if counted.Planned != 12 || counted.Done != 12 || counted.Shortened != 0 || counted.TreatedMin != 12*240 {
		t.Errorf("attendance: %+v", counted.Adherence)
	}
}

func TestWhatIsStartedAgain(t *testing.T) {
	for _, c := range []struct {
		pause  int
		status string
		one    bool
	}{{90, "cut short", true}, {59, "done", true}, {61, "done", false}, {359, "cut short", true}, {361, "cut short", false}} {
		sessions := restarted(c.pause, c.status)
		log := madeLog(t, madeAbout, weigh(sessions, 70, madeGain))
		if got := len(parts(log, 12)) == 2; got != c.one || goesOn(log, 11) != c.one {
			t.Errorf("%+v: one treatment %v", c, got)
		}
	}
}

// The samples must lie around the whole treatment.
func TestSamplesAroundOnePartGiveNoDose(t *testing.T) {
	for _, which := range [][2]string{{"", "20.0 7.0"}, {"20.0 18.0", ""}} {
		sessions := restarted(90, "cut short")
		sessions[11].sample, sessions[12].sample = which[0], which[1]
		v := valuesOf(madeLog(t, madeAbout, weigh(sessions, 70, madeGain)), 12)["spktv-daugirdas2"]
		if v.Result.OK() || !strings.Contains(v.Result.WhyNot, "started again") {
			t.Errorf("%v: %v %s", which, v.Result.Value, v.Result.WhyNot)
		}
	}
}

// The kinetic model sees one treatment, so its week does not rise.
func TestModelOfTreatmentStartedAgain(t *testing.T) {
	week := func(sessions []made, at int) float64 {
		k := FollowKinetics(madeLog(t, madeAbout, weigh(sessions, 70, madeGain)))
		return mainValue(t, k.Weeks[at], "std_kt_v_weekly")
	}
	plain := thrice(4)
	plain[5].sample = "20.0 7.0"
	again := append([]made(nil), plain[:7]...)
	stub := plain[7]
	stub.treated, stub.uf, stub.status = 30, 0.2, "cut short"
	rest := plain[7]
	rest.minute, rest.treated, rest.uf = rest.minute+120, 210, rest.uf-0.2
	again = append(append(again, stub, rest), plain[8:]...)
	near(t, "week with a treatment started again", week(again, 2), week(plain, 2), 0.01)
}

// Two true treatments of one day have their dose each.
func TestTwoTreatmentsOnOneDay(t *testing.T) {
	var all []made
	for d := range 21 {
		all = append(all, made{day: d, minute: 420, treated: 120, uf: 0.5}, made{day: d, minute: 1080, treated: 120, uf: 0.5})
	}
	all[40].sample, all[41].sample = "14.0 8.0", "11.0 7.0"
	log := madeLog(t, madeAbout, weigh(all, 70, 1))
	for at, days := range map[int]float64{40: 0.542, 41: 0.458} {
		values := valuesOf(log, at)
		v := values["stdktv-leypoldt-fixed"]
		if n, ok := countOfWeek(v); !ok || n != 14 {
			t.Errorf("%v a week: %s", n, v.Result.WhyNot)
		}
		log.About.Prescriptions[0].SessionsPerWeek.Decimal, _ = session.ParseDecimal("14", '.')
		single := valuesOf(log, at)["spktv-daugirdas2-gfac"]
		if !single.Result.OK() || single.Inputs[5].Number != days {
			t.Errorf("interval %v, not %v: %s", fmt.Sprint(single.Inputs), days, single.Result.WhyNot)
		}
	}
}

// No access recorded gives no value that depends on it; a catheter gets none
// of an arteriovenous access.
func TestAccessDecidesTheForm(t *testing.T) {
	none, _, _ := strings.Cut(madeAbout, "[[access]]")
	sessions := thrice(4)
	sessions[11].sample = "20.0 7.0"
	sessions = weigh(sessions, 70, madeGain)
	unknown := valuesOf(madeLog(t, none, sessions), 11)
	for id, why := range map[string]string{"ektv-tattersall-by-access": "vascular access", "stdktv-leypoldt-fixed": "no equilibrated Kt/V"} {
		if v, kept := unknown[id]; !kept || v.Result.OK() || !strings.Contains(v.Result.WhyNot, why) {
			t.Errorf("%s: %v %s", id, v.Result.Value, v.Result.WhyNot)
		}
	}
	if v := unknown["spktv-daugirdas2"]; !v.Result.OK() {
		t.Errorf("single-pool Kt/V does not depend on the access: %s", v.Result.WhyNot)
	}
	catheter := madeLog(t, strings.Replace(madeAbout, "fistula", "catheter", 1), sessions)
	for _, log := range []*session.Log{catheter, madeLog(t, none, sessions)} {
		for id, v := range valuesOf(log, 11) {
			if v.Result.OK() && strings.Contains(v.Result.Method.Range, "arteriovenous") {
				t.Errorf("%s is for an arteriovenous access", id)
			}
		}
		for id, v := range formsOf(t, log, 11) {
			if strings.Contains(v.Result.Method.Range, "arteriovenous") {
				t.Errorf("%s is for an arteriovenous access", id)
			}
		}
	}
	if v := valuesOf(catheter, 11)["stdktv-fhn-uf-kru"]; !v.Result.OK() || v.Inputs[1].Method != "ektv-tattersall-cvc" {
		t.Errorf("weekly form of a catheter: %+v", v)
	}
	own := madeLog(t, madeAbout, sessions)
	own.Sessions[11].Texts["access"] = session.Text{Text: "the other arm", Absence: session.Present}
	if v := valuesOf(own, 11)["ektv-tattersall-by-access"]; v.Result.OK() || v.Result.WhyNot == "" {
		t.Errorf("a session by another access than the usual: %+v", v)
	}
}
