package measure

import (
	"strings"
	"testing"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// Two sessions a week have their own two-point forms, for the session after the
// long interval and the one after the short.
func TestProteinOfTwoSessionsAWeek(t *testing.T) {
	about := strings.Replace(madeAbout, "sessions_per_week = 3", "sessions_per_week = 2", 1)
	for at, want := range map[int]string{8: "npcr-2-first", 9: "npcr-2-second"} {
		for residual, suffix := range map[string]string{"1.5": "-kru", "0": ""} {
			all, _ := regular([]int{0, 3}, 7, 0, 40, func(int) int { return 1080 })
			all[at].sample = "20.0 7.0"
			log := madeLog(t, strings.Replace(about, "clearance_ml_min = 1.5", "clearance_ml_min = "+residual, 1), all)
			forms := formsOf(t, log, at)
			for id := range forms {
				if strings.HasPrefix(id, "npcr") && id != want+suffix {
					t.Errorf("session %d: %s", at, id)
				}
			}
			if _, ok := forms[want+suffix]; !ok {
				t.Errorf("session %d: no %s", at, want+suffix)
			}
		}
	}
}

// The other formulas of body water are forms of a session, and so are the pulse
// pressures before and after, at the start and the end.
func TestFormsOfASession(t *testing.T) {
	log := written(t, madeAbout, map[string]string{
		"sessions.csv": "session,date,start,end,status,weight_after_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,bp_after_systolic_mmhg,bp_after_diastolic_mmhg\n" +
			"a,2026-01-05,18:00,21:00,done,70,140,80,120,70\n",
	})
	s, pressures, volumes := log.Sessions[0], 0, 0
	for _, v := range Forms(log)[0] {
		switch v.Result.Method.ID {
		case "pulse-pressure":
			pressures++
			at, want := s.Start.Time, 60.0
			if v.When == "after" {
				at, want = s.End.Time, 50
			}
			if !v.Start.Equal(at) || !v.End.Equal(at) || v.Result.Value != want {
				t.Errorf("%s: %v at %v", v.When, v.Result.Value, v.Start)
			}
		case "hume-male":
			volumes++
		case "watson-male":
			t.Error("the first formula stands in the record")
		}
	}
	if pressures != 2 || volumes != 1 {
		t.Errorf("%d pulse pressures and %d other volumes", pressures, volumes)
	}
}

// Pressure that falls during dialysis is no intradialytic hypertension, and a
// session without a blood pressure in it still has its rise.
func TestPressureThatFalls(t *testing.T) {
	rows := "session,date,start,end,status,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,bp_after_systolic_mmhg,bp_after_diastolic_mmhg\n"
	for _, day := range []string{"05", "06", "07", "08", "09", "10"} {
		rows += "s" + day + ",2026-01-" + day + ",18:00,21:00,done,150,80,BP,70\n"
	}
	for after, want := range map[string]calc.Answer{"130": calc.No, "160": calc.No, "161": calc.Yes} {
		log := written(t, madeAbout, map[string]string{"sessions.csv": strings.ReplaceAll(rows, "BP", after)})
		got := PressurePatterns(log, PressuresOf(log))
		if d := got[len(got)-1]; d.Answer != want {
			t.Errorf("150 before, %s after: %v (%s), want %v", after, d.Answer, d.Why, want)
		}
	}
}

// A day of a calendar begins at midnight: a session held back on a Monday
// belongs to the week it opens, however early it was.
func TestHeldBackOnTheFirstDay(t *testing.T) {
	sessions := thrice(3)
	sessions[3].minute = 0
	log := madeLog(t, madeAbout, weigh(sessions, 70, 1))
	log.Sessions[3].Broken = true
	c := NewCalendar(log)
	for week, want := range []int{0, 1, 0} {
		if got := c.Days(firstMonday.AddDate(0, 0, 7*week), 7).HeldBack; got != want {
			t.Errorf("week %d: %d held back, want %d", week, got, want)
		}
	}
}

// Weeks say how many sessions could not be placed, and nothing where all were.
func TestWeeksNameWhatIsMissing(t *testing.T) {
	log := madeLog(t, madeAbout, thrice(3))
	if notes := FollowKinetics(log).Notes; len(notes) != 0 {
		t.Errorf("nothing is missing, and yet %q", notes)
	}
	log.Sessions[1].Date.Absence = session.Unreadable
	log.Sessions[4].Broken, log.Sessions[5].Broken = true, true
	notes := FollowKinetics(log).Notes
	if len(notes) != 2 || !strings.HasPrefix(notes[0], "1 session has no readable date") || !strings.HasPrefix(notes[1], "2 sessions are held back") {
		t.Errorf("%q", notes)
	}
}

// The session that closes the time lends its weight before and needs none
// after; silence of seven days is bridged, of eight it is not.
func TestExcessAtItsEnds(t *testing.T) {
	sessions := []made{
		{day: 0, minute: 1080, treated: 240, before: 72, after: 70, uf: 2},
		{day: 7, minute: 1080, treated: 240, before: 72, after: 70, uf: 2, blank: "weight_after_kg"},
	}
	v := WeightExcess(madeLog(t, madeAbout, sessions), firstMonday, 7)
	near(t, "excess", v.Result.Value, 1, 1e-12)
	sessions[1].day = 8
	if why := WeightExcess(madeLog(t, madeAbout, sessions), firstMonday, 8).Result.WhyNot; !strings.HasPrefix(why, "nothing is written between") {
		t.Errorf("eight days of silence: %q", why)
	}
}

// The dry weight in force is the latest written in a session since the
// prescription began, from the first session of the log on, else that of the
// prescription; one of another name stands before it with a weight of its own
// only.
func TestDryWeightInForce(t *testing.T) {
	const rows = "session,date,start,end,status,dry_weight_kg,prescription\n" +
		"a,2026-01-05,18:00,21:00,done,69.0,\nb,2026-01-07,18:00,21:00,done,,\nc,2026-01-09,18:00,21:00,done,,guest\nd,2026-01-12,18:00,21:00,done,,\ne,2026-01-14,18:00,21:00,done,68.0,\nf,2026-01-15,18:00,21:00,done,,\n"
	later := "\n[[prescription]]\nvalid_from = \"2026-01-12\"\nsessions_per_week = 3\ndry_weight_kg = 71.0\n"
	for named, want := range map[string][]string{
		"\n[[prescription]]\nname = \"guest\"\nvalid_from = \"2025-12-01\"\ndry_weight_kg = 66.0\n": {"69.0", "69.0", "66.0", "71.0", "68.0", "68.0"},
		"\n[[prescription]]\nname = \"guest\"\nvalid_from = \"2025-12-01\"\nduration_min = 200\n":   {"69.0", "69.0", "69.0", "71.0", "68.0", "68.0"},
	} {
		about := strings.Replace(madeAbout, "\n[[access]]", later+named+"\n[[access]]", 1)
		log := written(t, about, map[string]string{"sessions.csv": rows})
		for i, kg := range want {
			if v, ok := DryWeight(log, i); !ok || v.Text != kg {
				t.Errorf("session %s: %q, want %s", log.Sessions[i].ID, v.Text, kg)
			}
		}
	}
}

// Where no session lies whole weeks from the sampled one, the span that is taken
// to repeat reaches as far as four weeks go: back from a sample, and forward
// from the first session where there is none.
func TestSpanWithoutWholeWeeks(t *testing.T) {
	irregular := func() []made {
		var all []made
		for _, day := range []int{0, 2, 5, 8, 11, 13, 16, 19, 23, 26, 31} {
			all = append(all, made{day: day, minute: 1080, treated: 240, uf: 2})
		}
		return weigh(all, 70, 0.8)
	}
	fits := FollowKinetics(madeLog(t, madeAbout, irregular())).Fits
	if f := fits[0]; f.WhyNot != "" || f.Sessions != 9 || f.Days != 26 || f.Session.Date.Time.Day() != 31 {
		t.Errorf("without samples: %d sessions in %v days up to %v (%s)", f.Sessions, f.Days, f.Session.Date.Time, f.WhyNot)
	}
	sampled := irregular()
	sampled[10].sample = "20.0 7.0"
	for _, f := range FollowKinetics(madeLog(t, madeAbout, sampled)).Fits {
		if f.Session.Date.Time.Day() == 5 && (f.WhyNot != "" || f.Sessions != 8 || f.Days != 26) {
			t.Errorf("from the sample: %d sessions in %v days (%s)", f.Sessions, f.Days, f.WhyNot)
		}
	}
	const want = "the 6 sessions in the 14.0 days up to 2026-01-21 are taken to have repeated before"
	regular := thrice(5)
	regular[7].sample = "20.0 7.0"
	if f := FollowKinetics(madeLog(t, madeAbout, regular)).Fits[0]; f.Sessions != 6 || f.Notes[0] != want {
		t.Errorf("whole weeks: %d sessions, %q", f.Sessions, f.Notes)
	}
}

// Less than the shortest span gives no model, with the reason.
func TestSpanTooShort(t *testing.T) {
	for days, fits := range map[int]bool{shortestSpanDays - 1: false, shortestSpanDays: true} {
		var all []made
		for day := 0; day <= days; day += days / 2 {
			all = append(all, made{day: day, minute: 1080, treated: 240, uf: 2})
		}
		all[len(all)-1].day = days
		f := FollowKinetics(madeLog(t, madeAbout, weigh(all, 70, 0.8))).Fits[0]
		if (f.WhyNot == "") != fits {
			t.Errorf("%d days: %q", days, f.WhyNot)
		}
	}
}
