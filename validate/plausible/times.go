package plausible

import (
	"slices"
	"time"
)

// Around is how far before the start and after the end of a session a time of
// one kind may lie (common practice).
type Around struct{ Early, Late time.Duration }

// The times of a session's log. The first and last readings are taken while
// lines are connected and given back. Weighing and blood pressure are within
// a few hours of the session. A medicine may be given while setting up, or
// after; an infusion runs through the circuit. Water is tested and the machine
// set up hours before.
var (
	ReadingTimes  = Around{30 * time.Minute, 30 * time.Minute}
	WeighingTimes = Around{3 * time.Hour, 3 * time.Hour}
	MedicineTimes = Around{2 * time.Hour, 4 * time.Hour}
	InfusionEnds  = Around{2 * time.Hour, 30 * time.Minute}
	CheckTimes    = Around{12 * time.Hour, 12 * time.Hour}
)

// MachineEvents are the kinds of events that need a treatment under way.
var MachineEvents = []string{"alarm", "circuit", "needles"}

// EventTimes are those of an event of a kind; symptoms and the rest come on
// later than what needs the machine.
func EventTimes(kind string) Around {
	late := 12 * time.Hour
	if slices.Contains(MachineEvents, kind) {
		late = 4 * time.Hour
	}
	return Around{2 * time.Hour, late}
}
