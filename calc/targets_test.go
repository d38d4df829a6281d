package calc

import (
	"slices"
	"strings"
	"testing"
)

func ids(targets []Target) string {
	var out []string
	for _, t := range targets {
		out = append(out, t.ID)
	}
	return strings.Join(out, " ")
}

func TestTargetsMatchTheSchedule(t *testing.T) {
	for _, c := range []struct {
		name, key string
		week      Week
		want      string
	}{
		{"thrice weekly, anuric", "sp_kt_v", Week{SessionsPerWeek: 3, KruKnown: true}, "kdoqi2006-spktv-min kdoqi2006-spktv-target kdoqi2015-spktv-target kdoqi2015-spktv-min ebpg2002-spktv"},
		{"thrice weekly, residual function", "sp_kt_v", Week{SessionsPerWeek: 3, KruKnown: true, ResidualClearance: 2}, "kdoqi2006-above-min kdoqi2015-spktv-target kdoqi2015-spktv-min ebpg2002-spktv"},
		{"five a week", "sp_kt_v", Week{SessionsPerWeek: 5}, ""},
		{"five a week, weekly dose", "std_kt_v_weekly", Week{SessionsPerWeek: 5}, "kdoqi2015-std-target kdoqi2015-std-min"},
		{"alternate days, weekly dose", "std_kt_v_weekly", Week{SessionsPerWeek: 3.5}, "kdoqi2015-std-target kdoqi2015-std-min"},
		{"thrice weekly, weekly dose", "std_kt_v_weekly", Week{SessionsPerWeek: 3}, ""},
		{"URR of long sessions", "urea_reduction_ratio", Week{SessionsPerWeek: 3, HoursPerSession: 8}, "kdoqi2006-urr-target"},
		{"twice weekly", "sessions_per_week", Week{SessionsPerWeek: 2}, "ebpg2002-twice ebpg2007-sessions"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := ids(TargetsFor(c.key, c.week)); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

func TestTargetsAreSourced(t *testing.T) {
	var seen []string
	for _, target := range Targets() {
		if slices.Contains(seen, target.ID) {
			t.Errorf("%s twice", target.ID)
		}
		seen = append(seen, target.ID)
		if target.Guideline == "" || target.Grade == "" || target.Tag == "" || target.Schedule == "" {
			t.Errorf("%s: incomplete", target.ID)
		}
		if target.HasValue() == (target.Text != "") {
			t.Errorf("%s: has both or neither of value and text", target.ID)
		}
		if strings.Contains(target.Text, "adequate") {
			t.Errorf("%s: verdict word", target.ID)
		}
	}
}

// Assimon 2016 for the fixed, Mermelstein 2023 for the weight-specific lines.
func TestUFRateThresholds(t *testing.T) {
	for _, threshold := range UFRateThresholds() {
		if threshold.ID == "ufr-13" && threshold.At(70) != 910 {
			t.Errorf("13 mL/kg/h at 70 kg is %v mL/h", threshold.At(70))
		}
		if threshold.ID == "ufr-3w630" && threshold.AtPerKg(70) != 12 {
			t.Errorf("3W+630 at 70 kg is %v mL/kg/h", threshold.AtPerKg(70))
		}
	}
}
