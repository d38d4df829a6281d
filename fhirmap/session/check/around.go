package check

import (
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// around are the circumstances of a session, which may be nil for what holds
// for the log as a whole.
func (c *checker) around(s *session.Session) issue.Circumstances {
	var day session.Moment
	var known issue.Circumstances
	if s != nil {
		day = s.Date
		known.Minutes, _ = c.minutes(s)
		known.WeightKg = c.weightOf(s)
	} else if len(c.log.Sessions) > 0 {
		day = c.log.Sessions[0].Date
	}
	years, ok := c.log.About.AgeOn(day)
	known.AgeYears, known.AgeKnown = float64(years), ok
	return known
}

// weightOf is a weight of the session, else the dry weight, 0 when none is
// known.
func (c *checker) weightOf(s *session.Session) float64 {
	for _, field := range weightFields {
		if kg, ok := c.good(s.Value(field)); ok {
			return kg
		}
	}
	kg, _ := c.dryWeightOf(s)
	return kg
}
