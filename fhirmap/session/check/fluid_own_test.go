package check

import (
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
