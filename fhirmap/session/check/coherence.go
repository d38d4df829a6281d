package check

import (
	"math"
	"slices"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// account is what one part of a session says of the minutes of treatment: a
// number, the interval it leaves room for, and the cells it rests on.
type account struct {
	field              session.Field // "" for start and end
	minutes, low, high float64
	cells              []issue.Cell
}

func (a account) fits(b account) bool { return a.low <= b.high && b.low <= a.high }

// How exact each account is, as a share of its amount (common practice).
const (
	dialysateWithin = 0.10
	bloodWithin     = 0.15 // displayed blood flow is above the real one
	ufWithin        = 0.15 // rates read off by hand
	ufLeast         = 0.25 // L
	ufSteady        = 0.10 // among the rates read off
	displayMinutes  = 3.0  // of a treatment time
	clockMinutes    = 5.0  // between the machine's clock and the wall's
	pauseMinutes    = 40.0 // without treatment, beyond the person's usual ones
	pauseShare      = 0.10
	unknownPauses   = 0.30 // share without treatment when what is usual is not known
	shareLeast      = 0.05 // by which a volume varies around its usual share
	shareSpreads    = 6.0  // or so many of its usual deviations
)

// coherent compares all that a session says of its length: start and end,
// treatment time, dialysate and blood processed over their flows, and fluid
// removed over its rate. It blames the one account without which the others
// agree: the one that contradicts most others, and of equals the one furthest
// from them and from the person's usual length.
func (c *checker) coherent(s *session.Session) {
	if !held(s) {
		return
	}
	all := c.accounts(s)
	usual, known := c.routine.lengthOf(c, s)
	var usually []float64
	if known {
		usually = []float64{usual.minutes}
	}
	for len(all) > 1 {
		worst := mostAtOdds(all, usually)
		if worst < 0 {
			break
		}
		wrong := all[worst]
		all = slices.Delete(slices.Clone(all), worst, worst+1)
		c.blame(s, wrong, all)
	}
	if known {
		c.unusualLength(s, usual, all)
	}
	c.readingsOutside(s)
}

// unusualLength blames start or end for a length that is not the usual one,
// unless the other accounts are closer to it than to the usual one.
func (c *checker) unusualLength(s *session.Session, usual account, all []account) {
	elapsed, ok := c.elapsed(s)
	if !ok || elapsed >= usual.low && elapsed <= usual.high {
		return
	}
	meant := usual.minutes
	if others := all[:len(all)-1]; len(others) > 0 { // the clock stands last
		var minutes []float64
		for _, a := range others {
			minutes = append(minutes, a.minutes)
		}
		meant = median(minutes) + c.routine.pause
		if math.Abs(meant-elapsed) < math.Abs(meant-usual.minutes) {
			return
		}
	}
	c.blameClock(s, meant-c.routine.pause, nil)
}

// accounts are the accounts of a session.
func (c *checker) accounts(s *session.Session) []account {
	var all []account
	add := func(a account, ok bool) {
		if ok {
			all = append(all, a)
		}
	}
	add(c.ufAccount(s))
	add(c.volumeAccount(s, "blood_processed", bloodWithin))
	add(c.volumeAccount(s, "dialysate_volume", dialysateWithin))
	add(c.treatedAccount(s))
	add(c.clockAccount(s))
	return all
}

func (c *checker) treatedAccount(s *session.Session) (account, bool) {
	v := s.Value("treated_time")
	m, ok := c.good(v)
	return account{"treated_time", m, m - displayMinutes, m + displayMinutes, []issue.Cell{v.Cell}}, ok
}

// clockAccount is the time from start to end without pauses.
func (c *checker) clockAccount(s *session.Session) (account, bool) {
	elapsed, ok := c.elapsed(s)
	if !ok {
		return account{}, false
	}
	low := elapsed - max(pauseMinutes, unknownPauses*elapsed)
	if c.routine.paused {
		low = elapsed - c.routine.pause - max(pauseMinutes, pauseShare*elapsed)
	}
	return account{"", elapsed - c.routine.pause, low, elapsed + clockMinutes, []issue.Cell{s.End.Cell, s.Start.Cell}}, true
}

// elapsed is the time from start to end in minutes.
func (c *checker) elapsed(s *session.Session) (float64, bool) {
	if !s.Start.OK() || !s.End.OK() || c.clockDoubted(s) {
		return 0, false
	}
	return s.End.Time.Sub(s.Start.Time).Minutes(), true
}

// minutes is the treatment time, or else the time from start to end.
func (c *checker) minutes(s *session.Session) (float64, bool) {
	if treated, ok := c.good(s.Value("treated_time")); ok {
		return treated, true
	}
	return c.elapsed(s)
}

// volumeAccount is a volume in litres over a flow. Where no treatment time is
// written, the share that the volume usually has in the time from start to end
// makes it more exact.
func (c *checker) volumeAccount(s *session.Session, volume session.Field, within float64) (account, bool) {
	v := s.Value(volume)
	litres, ok := c.good(v)
	perMinute, cell, known := c.flow(s, flowOf[volume])
	if !ok || !known || perMinute <= 0 {
		return account{}, false
	}
	minutes := litres * 1000 / perMinute
	a := account{volume, minutes, minutes / (1 + within), minutes / (1 - within), []issue.Cell{v.Cell, cell}}
	if own, ok := c.routine.share[volume]; ok && !s.Value("treated_time").OK() {
		likely := minutes/own.mid - c.routine.pause
		room := max(shareLeast, shareSpreads*own.spread/own.mid) * likely
		if likely > a.low && likely < a.high {
			a.minutes, a.low, a.high = likely, max(a.low, likely-room), min(a.high, likely+room)
		}
	}
	return a, true
}

// ufAccount is the fluid removed over three or more UF rates that hardly
// change; a changing rate cannot be averaged from a few readings.
func (c *checker) ufAccount(s *session.Session) (account, bool) {
	v := s.Value("uf_removed")
	removed, ok := c.good(v)
	rates, first := c.rates(s)
	if !ok || len(rates) < fewest {
		return account{}, false
	}
	mid := median(slices.Clone(rates))
	if mid <= 0 || slices.ContainsFunc(rates, func(rate float64) bool { return !within(rate, mid, ufSteady) }) {
		return account{}, false
	}
	slack := max(ufWithin*removed, ufLeast)
	return account{"uf_removed", removed / mid * 60, (removed - slack) / mid * 60, (removed + slack) / mid * 60, []issue.Cell{v.Cell, first}}, true
}

// rates are the UF rates read off, in L/h, and the cell of the first.
func (c *checker) rates(s *session.Session) (rates []float64, first issue.Cell) {
	limit, _ := issue.LimitOf("uf_rate")
	for _, r := range s.Readings {
		v := r.Value("uf_rate")
		number, good := c.good(v)
		scale, fits := factor("uf_rate", v.Unit, limit)
		if !good || !fits {
			continue
		}
		if len(rates) == 0 {
			first = v.Cell
		}
		rates = append(rates, number*scale)
	}
	return rates, first
}

// mostAtOdds is the account that contradicts most others, -1 when all agree.
// Of equals, the one furthest from the median of all and of what is usual.
func mostAtOdds(all []account, usually []float64) int {
	for _, a := range all {
		usually = append(usually, a.minutes)
	}
	mid := median(slices.Clone(usually))
	worst, most, furthest := -1, 0, 0.0
	for i, a := range all {
		odds := 0
		for j, b := range all {
			if i != j && !a.fits(b) {
				odds++
			}
		}
		if off := math.Abs(a.minutes - mid); odds > most || odds == most && odds > 0 && off > furthest {
			worst, most, furthest = i, odds, off
		}
	}
	return worst
}

// blame reports the account that the others contradict, at the cell that is
// most likely wrong.
func (c *checker) blame(s *session.Session, wrong account, others []account) {
	var mids []float64
	var cells []issue.Cell
	for _, a := range others {
		mids = append(mids, a.minutes)
		cells = append(cells, a.cells...)
	}
	minutes := median(mids)
	switch wrong.field {
	case "":
		c.blameClock(s, minutes, cells)
	case "treated_time":
		f := atValue("clin-treated-time", "the treatment time does not fit the other times and amounts of the session", s.Value("treated_time"))
		f.Expected = "about " + short(roundFor(minutes)) + " minutes"
		c.blameCell(s, f, cells)
	case "uf_removed":
		c.blameUF(s, minutes, wrong, cells)
	default:
		c.blameVolume(s, minutes, wrong, cells)
	}
}

func (c *checker) blameCell(s *session.Session, f issue.Finding, others []issue.Cell) {
	c.suspect[f.Cells[0]] = true
	f.Cells = append(f.Cells, others...)
	c.add(f, s)
}

// blameVolume reports a volume, or its flow when that is the one that is not
// near the person's usual one.
func (c *checker) blameVolume(s *session.Session, minutes float64, wrong account, cells []issue.Cell) {
	flow, rule := flowOf[wrong.field], "clin-dialysate-volume"
	if wrong.field == "blood_processed" {
		rule = "clin-blood-volume"
	}
	v, partner := s.Value(wrong.field), wrong.cells[1]
	perMinute, _, _ := c.flow(s, flow)
	litres := v.Decimal.Float64()
	set := s.Value(flow)
	if offUsual(perMinute, c.routine.usual[flow]) > max(0.1, offUsual(litres, c.routine.usual[wrong.field])) && set.Cell == partner {
		limit, _ := issue.LimitOf(string(flow))
		scale, _ := factor(flow, set.Unit, limit)
		f := atValue(rule, "the "+name(flow)+" does not fit "+name(wrong.field)+" and time", set)
		f.Expected = "about " + short(roundFor(litres*1000/minutes/scale)) + " " + spoken(set.Unit)
		c.blameCell(s, f, append([]issue.Cell{v.Cell}, cells...))
		return
	}
	f := atValue(rule, "the "+name(wrong.field)+" does not fit "+name(flow)+" and time", v)
	f.Expected = "about " + short(roundFor(perMinute*minutes/1000)) + " L"
	c.blameCell(s, f, append([]issue.Cell{partner}, cells...))
}

// blameUF reports the fluid removed, or the rate when the weights confirm the
// fluid removed.
func (c *checker) blameUF(s *session.Session, minutes float64, wrong account, cells []issue.Cell) {
	v := s.Value("uf_removed")
	rates, first := c.rates(s)
	if expected, most, ok := c.byWeights(s); ok && fluidFits(v.Decimal.Float64(), expected, most) {
		f := at("clin-uf-rate", "the UF rate does not fit the fluid removed and the time", first)
		f.Expected = "about " + short(roundFor(v.Decimal.Float64()/minutes*60)) + " L/h"
		c.blameCell(s, f, append([]issue.Cell{v.Cell}, cells...))
		return
	}
	f := atValue("clin-uf-rate", "the fluid removed does not fit the UF rate and the time", v)
	f.Expected = "about " + short(roundFor(median(rates)*minutes/60)) + " L"
	c.blameCell(s, f, append(wrong.cells[1:], cells...))
}

// blameClock reports the start or the end: the one whose change leaves the
// readings inside the session and brings both closer to the usual times of day.
func (c *checker) blameClock(s *session.Session, minutes float64, cells []issue.Cell) {
	length := time.Duration(minutes+c.routine.pause) * time.Minute
	start, end := s.End.Time.Add(-length), s.Start.Time.Add(length)
	wrong, right, meant, other, details := s.End, s.Start, end, length, "the end does not fit the other times and amounts of the session"
	if c.cost(s, start, s.End.Time) < c.cost(s, s.Start.Time, end) {
		wrong, right, meant, other = s.Start, s.End, start, -length
		details = "the start does not fit the other times and amounts of the session"
	}
	f := at("clin-clock", details, wrong.Cell)
	f.Value = wrong.Text
	f.Expected = "about " + right.Time.Add(other).Round(5*time.Minute).Format("15:04")
	for _, slip := range []time.Duration{-time.Hour, time.Hour, -12 * time.Hour, 12 * time.Hour} {
		if moved := wrong.Time.Add(slip); moved.Sub(meant).Abs() <= 20*time.Minute {
			f.Expected = "perhaps " + moved.Format("15:04")
			break
		}
	}
	c.suspect[right.Cell] = true // what is compared with it would be told again
	c.blameCell(s, f, append([]issue.Cell{right.Cell}, cells...))
}

// cost is how badly a start and an end fit the readings and the usual times of
// day, in minutes.
func (c *checker) cost(s *session.Session, start, end time.Time) float64 {
	const outside = 1000
	cost := c.routine.start.off(start) + c.routine.end.off(end)
	for _, r := range s.Readings {
		if r.At.OK() && (r.At.Time.Before(start.Add(-readingSlack)) || r.At.Time.After(end.Add(readingSlack))) {
			cost += outside
		}
	}
	return cost
}

// readingsOutside blames the start, or the end, when most readings are on the
// other side of it.
func (c *checker) readingsOutside(s *session.Session) {
	elapsed, ok := c.elapsed(s)
	if !ok {
		return
	}
	early, late := 0, 0
	var first, last time.Time
	for _, r := range s.Readings {
		if !r.At.OK() {
			continue
		}
		if first.IsZero() || r.At.Time.Before(first) {
			first = r.At.Time
		}
		if r.At.Time.After(last) {
			last = r.At.Time
		}
		if r.At.Time.Before(s.Start.Time.Add(-readingSlack)) {
			early++
		} else if r.At.Time.After(s.End.Time.Add(readingSlack)) {
			late++
		}
	}
	if max(early, late) < 2 || 2*max(early, late) < len(s.Readings) {
		return
	}
	if early > late {
		elapsed = s.End.Time.Sub(first).Minutes()
	} else {
		elapsed = last.Sub(s.Start.Time).Minutes()
	}
	c.blameClock(s, elapsed-c.routine.pause, nil)
}

func offUsual(v, usual float64) float64 {
	if usual <= 0 || v <= 0 {
		return 0
	}
	return math.Abs(math.Log(v / usual))
}
