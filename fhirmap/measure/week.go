package measure

import (
	"fmt"
	"math"
	"slices"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Limits of the span used as "the week" of a session with blood samples and as
// the starting span of the kinetic model.
const (
	longestSpanDays  = 28
	shortestSpanDays = 7
)

const tooLittleLog = "the sessions known without a gap up to this one do not fill a whole week, or two on alternate days: sessions a week cannot be counted"

// week computes the sessions done per week, and their ultrafiltration per
// week, over the whole weeks up to this session that the log covers, four at
// most. Without one it sets the reason.
//
// Only whole weeks are counted: a schedule repeats by weeks (alternate days by
// 14 days), and a part of a week has too many or too few sessions for its
// length. The first session of the span marks its beginning and is not
// counted, and a restarted treatment counts once.
//
// Decision 5. A weekly dose needs sessions a week, and a part of a week counts
// too many or too few. The span is the longest of up to four whole weeks that
// begins with a session (14 days for alternate days). Where there is none, the
// last four weeks are used if the log covers them; a shorter log gives no
// value, with the reason. A treatment started again counts once.
func (c *collector) week() (start time.Time, whyNot string) {
	treatments, first, weeks := c.wholeWeeks()
	if weeks == 0 {
		return time.Time{}, tooLittleLog
	}
	counted := treatments[first:]
	var litres float64
	c.shortest, c.longest = math.Inf(1), 0
	var cells, ufCells []issue.Cell
	allUF := true
	for _, records := range counted {
		cells = append(cells, c.log.Sessions[records[0]].Date.Cell)
		treated := 0.0
		for _, i := range records {
			s := c.log.Sessions[i]
			in, _ := treatedTime(s)
			treated += in.Number
			uf := s.Value("uf_removed")
			number, _, converted := convert(uf, "L")
			allUF = allUF && uf.OK() && converted
			litres += number
			ufCells = append(ufCells, uf.Cell)
		}
		if treated > 0 {
			c.shortest, c.longest = math.Min(c.shortest, treated), math.Max(c.longest, treated)
		}
	}
	c.counted("sessions_per_week", roundTo(float64(len(counted))/float64(weeks), 2), cells...)
	if allUF {
		c.counted("weekly_uf", roundTo(litres/float64(weeks), 3), ufCells...)
	}
	return begin(c.log.Sessions[c.records[0]]).AddDate(0, 0, -7*weeks), ""
}

// wholeWeeks returns the known treatments up to this one, the first of them to
// count, and the number of whole weeks from that one on: as far back as a
// session begins them, or four if the log covers them without one; 0 if there
// is none.
func (c *collector) wholeWeeks() (treatments [][]int, first, weeks int) {
	var starts []time.Time
	treatments, beyond := c.known()
	for _, records := range treatments {
		starts = append(starts, begin(c.log.Sessions[records[0]]))
	}
	last := len(starts) - 1
	opening := weeksApart(starts[last], starts[:last], -1)
	if opening >= 0 {
		weeks = int(math.Round(starts[last].Sub(starts[opening]).Hours() / (24 * 7)))
	}
	if full := longestSpanDays / 7; beyond && weeks < full {
		return treatments, 0, full
	}
	return treatments, opening + 1, weeks
}

// known lists the completely known treatments of the last four weeks up to
// this one, in time order; beyond reports that the log is known further back.
// A held-back session, or a week without a row, ends the list.
func (c *collector) known() (treatments [][]int, beyond bool) {
	this, later := begin(c.log.Sessions[c.records[0]]), c.s.Date.Time
	for i := c.at; i >= 0; i-- {
		s := c.log.Sessions[i]
		if s.Broken || !s.Date.OK() || daysBetween(s.Date.Time, later) > longestSilenceDays {
			break
		}
		if later = s.Date.Time; s.Status == session.SkippedStatus {
			continue
		}
		records := parts(c.log, i)
		i = records[0]
		if this.AddDate(0, 0, -longestSpanDays).Sub(begin(c.log.Sessions[i])) > nearWeeks {
			beyond = true
			break
		}
		treatments = append(treatments, records)
	}
	slices.Reverse(treatments)
	return treatments, beyond
}

// roundTo rounds to the decimals with which the record states a count or a
// sum, so that a dose computed again from the record is equal.
func roundTo(value float64, decimals int) float64 {
	scale := math.Pow(10, float64(decimals))
	return math.Round(value*scale) / scale
}

// alike is the largest relative difference between the length of a session and
// that of the sampled one for the sessions to count as identical (our choice).
const alike = 0.1

// unlike adds a note to the weekly forms if the sessions of the span are not
// identical, as the forms assume.
func (c *collector) unlike() []string {
	own := c.inputs["treated_time"].Number
	if c.shortest >= (1-alike)*own && c.longest <= (1+alike)*own {
		return nil
	}
	return []string{fmt.Sprintf("the sessions of the time counted were not identical: from %.0f to %.0f min, and the formula takes all to be like this one of %.0f min",
		c.shortest, c.longest, own)}
}
