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
	// How often something odd is written, one in so many.
	odd := rapid.SampledFrom([]int{3, 30, 300}).Draw(t, "odd")
	usually := func(usual string, others ...string) string {
		if rapid.IntRange(1, odd).Draw(t, "how") == odd {
			return rapid.SampledFrom(others).Draw(t, "other")
		}
		return usual
	}
	for i := range rapid.IntRange(0, 40).Draw(t, "sessions") {
		day += rapid.SampledFrom([]int{1, 2, 2, 3}).Draw(t, "gap")
		if usually("", "long") == "long" {
			day += rapid.SampledFrom([]int{-1, 9, 40}).Draw(t, "silence")
		}
		date := firstMonday.AddDate(0, 0, day).Format("2006-01-02")
		hour := rapid.IntRange(5, 22).Draw(t, "hour")
		cells := []string{fmt.Sprintf("s%d", i), date, fmt.Sprintf("%02d:00", hour), fmt.Sprintf("%02d:30", (hour+3)%24),
			usually("done", "cut short", "not done"), "72.5", "70.4", usually("2.1", "0", "9", "-1"), "500", usually("300", "0", "30"),
			usually("200", "", "1", "900"), ""}
		if usually("", "blank") == "blank" {
			cells[rapid.IntRange(1, len(cells)-1).Draw(t, "which")] = ""
		}
		fmt.Fprintln(&rows, strings.Join(cells, ","))
		if rapid.IntRange(0, 4).Draw(t, "sampled") == 0 {
			for _, when := range []string{"before", "after"} {
				fmt.Fprintf(&labs, "s%d,,%s,urea,%s,mmol/L\n", i, when, usually(map[string]string{"before": "20", "after": "9"}[when], "21", "7.5", "0", "<1"))
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
