package month

import "testing"

// The prescription of each week counts, and of two in one week the smaller.
func TestPrescribedPerWeek(t *testing.T) {
	const monday = 20000
	e := Expected{Prescribed: []Prescribed{{From: monday - 30, SessionsPerWeek: 5}, {From: monday + 3, SessionsPerWeek: 4}, {From: monday + 14, SessionsPerWeek: 0}}}
	for _, tt := range []struct {
		start int64
		want  float64
	}{{monday - 40, 0}, {monday - 33, 0}, {monday - 30, 5}, {monday - 7, 5}, {monday, 4}, {monday + 7, 4}, {monday + 10, 0}, {monday + 14, 0}} {
		if got := e.perWeek(tt.start); got != tt.want {
			t.Errorf("week from day %d: %v, want %v", tt.start, got, tt.want)
		}
	}
}
