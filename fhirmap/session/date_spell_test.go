package session

import (
	"testing"
	"time"
)

// A day is proposed in the form of the cell, where that is of the declared style.
func TestDayInTheFormOfTheCell(t *testing.T) {
	day := time.Date(2026, time.May, 9, 0, 0, 0, 0, time.UTC)
	for _, tt := range []struct{ like, style, want string }{
		{"11/05/2025", "dmy", "09/05/2026"}, {"14/8/2026", "mdy", "5/9/2026"}, {"3.5.2026", "dmy", "9.5.2026"}, {"11/05/2025 00:00", "dmy", "09/05/2026"},
		{"2025-05-11", "dmy", "2026-05-09"}, {"11/05/2025", "iso", "2026-05-09"}, {"11/05/2025", "", "2026-05-09"}, {"May 11", "dmy", "2026-05-09"},
	} {
		if got := SpellDay(tt.like, tt.style, day); got != tt.want {
			t.Errorf("%s, %q: %s, want %s", tt.like, tt.style, got, tt.want)
		}
	}
}
