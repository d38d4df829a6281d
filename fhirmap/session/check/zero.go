package check

import (
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// zeros finds a 0 that cannot be measured, and so means a value that was not
// taken. Amounts such as drinks and saline may be 0. It runs before all
// comparisons, which a 0 would spoil.
func (c *checker) zeros() {
	for _, s := range c.log.Sessions {
		eachNumber(s, func(field session.Field, v session.Value, l *session.Lab) { c.zero(s, field, v, l != nil) })
	}
}

func (c *checker) zero(s *session.Session, field session.Field, v session.Value, result bool) {
	number, ok := c.good(v)
	limit, known := c.around(s).LimitOf(string(field))
	// Where the possible values begin at 0 or below it, 0 may be measured, but for a
	// result that nobody has as low.
	if !ok || number != 0 || !known || limit.HardLow <= 0 && (!result || limit.SoftLow <= 0) || skippedNothing(s, number, field) ||
		field == "dialysate_volume" && c.known(s).Isolated() || s.Status == session.CutShort && slices.Contains(onlyTreated, field) {
		return
	}
	f := atValue("clin-zero", "the {} cannot be zero", v, name(field))
	f.Expected = issue.T("an empty cell, or not done")
	c.doubt(f, s)
}
