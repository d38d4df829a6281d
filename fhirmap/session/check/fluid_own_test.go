package check

import (
	"fmt"
	"strings"
	"testing"
)

// The fluid removed that two of goal, rates and last reading agree on is proposed
// for one that the weights contradict; a wrong goal has the fluid removed.
func TestFluidByGoalAndRates(t *testing.T) {
	text := "session,time,uf_so_far_l,uf_rate_ml_h\n"
	for s := range 9 {
		for i, litres := range []string{"0.30", "0.90", "1.50"} {
			text += strings.Join([]string{"s" + string(rune('0'+s)), []string{"14:30", "15:30", "16:30"}[i], litres, "600"}, ",") + "\n"
		}
	}
	files := map[string]string{
		sessionsFile: mondays(9, "treated_min,weight_before_kg,weight_after_kg,uf_goal_l,uf_removed_l,drinks_l", everyRow("180,72.0,70.2,1.80,1.80,0")),
		readingsFile: text,
	}
	changes(t, "clin-uf-weights clin-uf-rate", "", files, []change{
		{"5.uf_removed_l=2.80", "clin-uf-weights 5.uf_removed_l 2.80 -> perhaps 1.80 L"},
		{"5.uf_goal_l=2", ""}, {"5.uf_goal_l=2.80", "clin-uf-rate 5.uf_goal_l 2.80 -> perhaps 1.80 L"},
		{"5.weight_before_kg=73.0", "clin-uf-weights 5.weight_before_kg 73.0 -> perhaps 72.0 kg"},
	})
}

// A goal of the row above, where the rates, the last reading and the weights have
// another one.
func TestGoalOfTheRowAbove(t *testing.T) {
	text := "session,time,uf_so_far_l,uf_rate_ml_h\n"
	for s := range 9 {
		for i, share := range []float64{0.5, 1.5, 2.5} {
			rate := []int{600, 300, 500}[s%3]
			text += fmt.Sprintf("s%d,%s,%.2f,%d\n", s, []string{"14:30", "15:30", "16:30"}[i], share*float64(rate)/1000, rate)
		}
	}
	files := map[string]string{
		sessionsFile: mondays(9, "treated_min,weight_before_kg,weight_after_kg,uf_goal_l,uf_removed_l,drinks_l,reason", func(i int) string {
			return []string{"180,72.0,70.2,1.8,1.80,0,", "180,71.1,70.2,0.9,0.90,0,", "180,71.7,70.2,1.5,1.50,0,"}[i%3]
		}),
		readingsFile: text,
	}
	changes(t, "clin-uf-rate", "", files, []change{
		{"6.uf_goal_l=1.8", "clin-uf-rate 6.uf_goal_l 1.8 -> perhaps 0.9 L"}, {"7.uf_goal_l=0.9", "clin-uf-rate 7.uf_goal_l 0.9 -> perhaps 1.5 L"},
		{"7.uf_goal_l=0.9;7.reason=cramps", ""},
	})
}
