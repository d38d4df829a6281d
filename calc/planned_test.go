package calc

import "testing"

// Sessions planned on alternate days are three and a half a week; a whole number
// is written without decimals.
func TestPlannedIsNotRounded(t *testing.T) {
	m, _ := MethodByID("sessions-planned")
	for number, want := range map[float64]string{3.5: "3.5", 5: "5", 10: "10", 0: "0"} {
		if got := m.Compute(Inputs{"sessions_per_week": number}).Rounded(); got != want {
			t.Errorf("%v: %s, want %s", number, got, want)
		}
	}
}
