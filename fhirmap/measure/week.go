package measure

import (
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// daysPerWeek is the length of the window that stands for "the week" of a
// session with blood samples: the seven local days that end with its own.
const daysPerWeek = 7

// week counts the sessions and the ultrafiltration of the seven days that end
// with the session's day. It needs a log that covers them: a window that
// begins before the first session of the log would count too few.
func (c *collector) week() (start time.Time, ok bool) {
	start = c.s.Date.Time.AddDate(0, 0, 1-daysPerWeek)
	if !c.log.Sessions[0].Date.OK() || c.log.Sessions[0].Date.Time.After(start) {
		return start, false
	}
	var sessions int
	var litres float64
	var cells, ufCells []issue.Cell
	allUF := true
	for i := c.at; i >= 0; i-- {
		s := c.log.Sessions[i]
		if !s.Date.OK() || s.Date.Time.Before(start) {
			break
		}
		if s.Broken {
			return start, false
		}
		if s.Status == session.SkippedStatus {
			continue
		}
		sessions++
		cells = append(cells, s.Date.Cell)
		uf := s.Value("uf_removed")
		number, _, converted := convert(uf, "L")
		if !uf.OK() || !converted {
			allUF = false
			continue
		}
		litres += number
		ufCells = append(ufCells, uf.Cell)
	}
	c.counted("sessions_per_week", float64(sessions), cells...)
	if allUF {
		c.counted("weekly_uf", roundNoise(litres), ufCells...)
	}
	return start, true
}
