package measure

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"runsheet.example/fhirmap/session"
)

// anyLog draws a log that a tired person may have kept: cells blank, rows
// missing, numbers odd, samples here and there.
func anyLog(t *rapid.T) *session.Log {
	var rows, labs strings.Builder
	fmt.Fprintln(&rows, strings.Join(madeHeadings, ","))
	fmt.Fprintln(&labs, "session,drawn_time,when,test,value,unit")
	day := 0
	for i := range rapid.IntRange(0, 40).Draw(t, "sessions") {
		day += rapid.SampledFrom([]int{0, 1, 1, 2, 2, 3, 9, 40}).Draw(t, "gap")
		date := firstMonday.AddDate(0, 0, day).Format("2006-01-02")
		hour := rapid.IntRange(5, 22).Draw(t, "hour")
		cells := []string{fmt.Sprintf("s%d", i), date, fmt.Sprintf("%02d:00", hour), fmt.Sprintf("%02d:30", (hour+3)%24),
			rapid.SampledFrom([]string{"done", "done", "done", "cut short", "not done"}).Draw(t, "status"),
			"72.5", "70.4", rapid.SampledFrom([]string{"2.1", "0", "9", "-1"}).Draw(t, "uf"), "500", rapid.SampledFrom([]string{"300", "0", "30"}).Draw(t, "flow"),
			rapid.SampledFrom([]string{"200", "", "1", "900"}).Draw(t, "treated"), ""}
		if rapid.IntRange(0, 9).Draw(t, "blank") == 0 {
			cells[rapid.IntRange(1, len(cells)-1).Draw(t, "which")] = ""
		}
		fmt.Fprintln(&rows, strings.Join(cells, ","))
		if rapid.IntRange(0, 4).Draw(t, "sampled") == 0 {
			for _, when := range []string{"before", "after"} {
				fmt.Fprintf(&labs, "s%d,,%s,urea,%s,mmol/L\n", i, when, rapid.SampledFrom([]string{"20", "9", "7.5", "0", "<1"}).Draw(t, "urea"))
			}
		}
	}
	log, _, err := session.ReadFS(fstest.MapFS{
		"log.toml": {Data: []byte(madeAbout)}, "sessions.csv": {Data: []byte(rows.String())}, "labs.csv": {Data: []byte(labs.String())},
	}, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return log
}

// Whatever a log says, each week has values that are numbers above zero, or one
// reason why not, and never both.
func TestAnyLogHasValuesOrReasons(t *testing.T) {
	withValue, without := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		log := anyLog(rt)
		k := FollowKinetics(log)
		for _, w := range k.Weeks {
			m, ok := w.Main()
			if ok == (w.WhyNot != "") {
				rt.Fatalf("week of %s: value %v, reason %q", w.Monday.Format("2006-01-02"), ok, w.WhyNot)
			}
			if !ok {
				without++
				continue
			}
			withValue++
			for _, r := range m.Values {
				if r.OK() && !(r.Value > 0 && !math.IsInf(r.Value, 0)) {
					rt.Fatalf("week of %s: %s is %v", w.Monday.Format("2006-01-02"), r.Method.ID, r.Value)
				}
			}
		}
		for _, f := range k.Fits {
			if f.WhyNot == "" && len(f.Models) == 0 {
				rt.Fatalf("a fit without model and reason")
			}
		}
		Forms(log)
		FluidPlans(log)
		PressurePatterns(log, PressuresOf(log))
		AccessTrends(log)
		WeightExcess(log, firstMonday, 7)
		NewCalendar(log).Days(firstMonday, 28)
	})
	if withValue == 0 || without == 0 {
		t.Errorf("%d weeks with values and %d without: the logs drawn test one side only", withValue, without)
	}
}
