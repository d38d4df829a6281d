package measure

import (
	"fmt"
	"math"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Bounds of the span that stands for "the week" of a session with blood
// samples: up to four weeks back, and at least one.
const (
	longestSpanDays  = 28
	shortestSpanDays = 7
)

// week states how many sessions a week were done, and their ultrafiltration
// per week, over the four weeks up to this session or as much of them as the
// log covers; under one week it states nothing.
//
// It counts intervals, not sessions: a window that ends with a session holds,
// on average, more sessions than its length deserves (on alternate days seven
// days always hold four, not three and a half), while the number of intervals
// between two sessions divided by the days between them is exact for every
// regular schedule. The first session of the span only marks its beginning.
func (c *collector) week() (start time.Time, ok bool) {
	first, ok := c.spanStart()
	if !ok {
		return time.Time{}, false
	}
	opening := c.log.Sessions[first]
	perWeek := 7 / float64(daysBetween(opening.Date.Time, c.s.Date.Time))
	var sessions int
	var litres float64
	c.shortest, c.longest = math.Inf(1), 0
	cells := []issue.Cell{opening.Date.Cell}
	var ufCells []issue.Cell
	allUF := true
	for _, s := range c.log.Sessions[first+1 : c.at+1] {
		if s.Status == session.SkippedStatus {
			continue
		}
		sessions++
		if in, _ := treatedTime(s); in.Key != "" {
			c.shortest, c.longest = math.Min(c.shortest, in.Number), math.Max(c.longest, in.Number)
		}
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
	c.counted("sessions_per_week", roundTo(float64(sessions)*perWeek, 2), cells...)
	if allUF {
		c.counted("weekly_uf", roundTo(litres*perWeek, 3), ufCells...)
	}
	return opening.Date.Time, true
}

// spanStart is the earliest session within the span from which every session
// up to this one is known. A session held back because of mistakes breaks the
// span: what happened then is not known.
func (c *collector) spanStart() (first int, ok bool) {
	first = -1
	for i := c.at - 1; i >= 0; i-- {
		s := c.log.Sessions[i]
		if s.Broken || !s.Date.OK() || daysBetween(s.Date.Time, c.s.Date.Time) > longestSpanDays {
			break
		}
		if s.Status != session.SkippedStatus {
			first = i
		}
	}
	if first < 0 {
		return 0, false
	}
	return first, daysBetween(c.log.Sessions[first].Date.Time, c.s.Date.Time) >= shortestSpanDays
}

// roundTo keeps the decimals that a count or a sum is stated with in the
// record, so that a dose computed again from the record is the same.
func roundTo(value float64, decimals int) float64 {
	scale := math.Pow(10, float64(decimals))
	return math.Round(value*scale) / scale
}

// alike is how far the length of a session may be from that of the sampled one,
// as a share of it, for the sessions to count as identical (our choice).
const alike = 0.1

// unlike notes for the weekly forms where the sessions of the span are not the
// identical sessions they take them for.
func (c *collector) unlike() []string {
	own := c.inputs["treated_time"].Number
	if c.shortest >= (1-alike)*own && c.longest <= (1+alike)*own {
		return nil
	}
	return []string{fmt.Sprintf("the sessions of the time counted were not identical: from %.0f to %.0f min, and the formula takes all to be like this one of %.0f min",
		c.shortest, c.longest, own)}
}
