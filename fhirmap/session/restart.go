package session

import "time"

// A treatment that stopped and was started again stands in the log as two
// records. They are one treatment where the first was cut short and the next
// starts within restartWithin of its end, or where the pause is no longer than
// pauseWithin. Two treatments of one day lie further apart (our choice).
const (
	restartWithin = 6 * time.Hour
	pauseWithin   = time.Hour
)

// StartedAgain reports whether a record that starts at next goes on with the
// treatment of the one before it, which ended at end.
func StartedAgain(first *Session, end, next time.Time) bool {
	pause := next.Sub(end)
	return pause <= pauseWithin || first.Status == CutShort && pause <= restartWithin
}
