package session

import (
	"regexp"
	"strconv"
	"time"
)

var namedDay = regexp.MustCompile(`(?:^|\D)((?:19|20)\d\d)(?:[-_./]?(\d\d)[-_./]?(\d\d))?(?:\D|$)`)

// NamedDay is the day in the name of a session; where the name holds only a
// year, the day of the session in that year. ok is false for a name without
// either.
func (s *Session) NamedDay() (day time.Time, ok bool) {
	m := namedDay.FindStringSubmatch(s.ID)
	if m == nil || s.IDDerived || m[2] == "" && !s.Date.OK() {
		return day, false
	}
	year, _ := strconv.Atoi(m[1])
	_, month, ofMonth := s.Date.Time.Date()
	if m[2] != "" {
		number, _ := strconv.Atoi(m[2])
		month = time.Month(number)
		ofMonth, _ = strconv.Atoi(m[3])
	}
	day = time.Date(year, month, ofMonth, 0, 0, 0, 0, s.Date.Time.Location())
	return day, day.Month() == month
}
