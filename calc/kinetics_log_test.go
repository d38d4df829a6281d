package calc

import (
	"strings"
	"testing"
)

// Ten weeks in which 0.25 L of rinse-back is removed at every session: the
// body's water follows the weights and does not drift.
func TestWaterFollowsTheWeights(t *testing.T) {
	body := Body{VolumeL: 36, GenerationMgPerMin: 6, Pools: TwoPools()}
	log := LoggedWeeks{ReferenceKg: 70, EndMin: 10 * MinutesPerWeek}
	for i := range 50 {
		log.Sessions = append(log.Sessions, LoggedSession{
			StartMin: float64(i) * 2000, TreatedMin: 165, ClearanceMLPerMin: 150,
			UFLitres: Known(1.75), WeightBeforeKg: Known(71.6), WeightAfterKg: Known(70.1),
		})
	}
	log.Sessions[7].WeightAfterKg = Maybe{}
	log.Sessions[9].WeightBeforeKg = Maybe{}
	course, notes, err := log.Course(body, UreaState{PlasmaMgPerDL: 60, InnerMgPerDL: 60})
	if err != nil {
		t.Fatal(err)
	}
	if len(notes) != 2 || !strings.Contains(notes[0], "session 8: weight after") || !strings.Contains(notes[1], "session 10: weight before") {
		t.Errorf("notes %q", notes)
	}
	run, err := Follow(body, course)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range []int{0, 5, 20, 49} {
		near(t, "volume before", run.Sessions[i].VolumeBeforeL, 37.6, 1e-9)
		near(t, "volume after", run.Sessions[i].VolumeAfterL, 36.1, 1e-9)
	}
	near(t, "after the missing weight", run.Sessions[7].VolumeAfterL, 37.6-1.75, 1e-9)
}

func TestLogWithoutWeightAndFluidSaysSo(t *testing.T) {
	log := LoggedWeeks{ReferenceKg: 70, EndMin: 5000, Sessions: []LoggedSession{{TreatedMin: 165, WeightBeforeKg: Known(71)}}}
	_, _, err := log.Course(Body{VolumeL: 36}, UreaState{})
	if err == nil || err.Error() != "session 1: neither weight after nor fluid removed was recorded" {
		t.Errorf("got %v", err)
	}
}

func TestAssumedGenerationLeavesNPCROut(t *testing.T) {
	body := Body{VolumeL: 35, GenerationMgPerMin: 1, GenerationAssumed: true}
	assumed := steady(t, body, mondayWednesdayFriday(240, 210, 2.5)).Results()
	body.GenerationMgPerMin, body.GenerationAssumed = 6, false
	measured := steady(t, body, mondayWednesdayFriday(240, 210, 2.5)).Results()
	if len(assumed) != 4 || len(measured) != 5 || assumed[0].Rounded() != measured[0].Rounded() || assumed[1].Rounded() != measured[1].Rounded() {
		t.Errorf("assumed %v, measured %v", assumed, measured)
	}
}
