package check

import (
	"math"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// account is an account of the minutes of treatment with the cells it rests
// on.
type account struct {
	plausible.Account
	field session.Field // "" for start and end
	cells []issue.Cell
}

// How much a usual value makes an account more certain (common practice).
const (
	pauseShare   = 0.10
	shareLeast   = 0.05 // by which a volume varies around its usual share
	shareSpreads = 6.0  // or so many of its usual deviations
	several      = 8    // rows whose scatter stands for the person
)

// coherent compares all accounts of the length of a session: start and end,
// treatment time, dialysate and blood processed over their flows, and fluid
// removed over its rate. It blames the account without which the others
// agree: the one that contradicts most others, and of equals the one furthest
// from them and from the person's usual length.
func (c *checker) coherent(s *session.Session) {
	if !held(s) {
		return
	}
	if c.halfDayOff(s) {
		return
	}
	all := c.accounts(s)
	usual, known := c.routine.lengthOf(c, s)
	var usually []float64
	if known {
		usually = []float64{usual.Minutes}
	}
	for len(all) > 1 {
		var accounts []plausible.Account
		for _, a := range all {
			accounts = append(accounts, a.Account)
		}
		worst := plausible.MostAtOdds(accounts, usually)
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
	if !ok || elapsed >= usual.Low && elapsed <= usual.High || c.volumeAsUsual(s, elapsed) {
		return
	}
	meant := usual.Minutes
	if others := all[:len(all)-1]; len(others) > 0 { // the clock is last
		var minutes []float64
		for _, a := range others {
			minutes = append(minutes, a.Minutes)
		}
		meant = median(minutes) + c.routine.pause
		if math.Abs(meant-elapsed) < math.Abs(meant-usual.Minutes) {
			return
		}
	}
	c.blameClock(s, meant-c.routine.pause, nil)
}

// volumeAsUsual reports whether the dialysate per minute is the usual one, which
// confirms start and end of the session.
func (c *checker) volumeAsUsual(s *session.Session, elapsed float64) bool {
	litres, ok := c.good(s.Value("dialysate_volume"))
	usual := c.routine.usual["dialysate_volume"] / c.routine.length.mid
	return ok && usual > 0 && within(litres/elapsed, usual, plausible.DialysateWithin)
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
	add(c.volumeAccount(s, "blood_processed", plausible.BloodWithin))
	add(c.volumeAccount(s, "dialysate_volume", plausible.DialysateWithin))
	add(c.treatedAccount(s))
	add(c.clockAccount(s))
	return all
}

func (c *checker) treatedAccount(s *session.Session) (account, bool) {
	v := s.Value("treated_time")
	m, ok := c.good(v)
	return account{plausible.ByMachine(m), "treated_time", []issue.Cell{v.Cell}}, ok
}

// clockAccount is the time from start to end without pauses.
func (c *checker) clockAccount(s *session.Session) (account, bool) {
	elapsed, ok := c.elapsed(s)
	if !ok {
		return account{}, false
	}
	a := account{plausible.ByClock(elapsed), "", []issue.Cell{s.End.Cell, s.Start.Cell}}
	if c.routine.paused {
		a.Minutes = elapsed - c.routine.pause
		a.Low = a.Minutes - max(plausible.PauseMinutes, pauseShare*elapsed)
	}
	return a, true
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

// volumeAccount is a volume in litres over a flow. Where no treatment time is written,
// the share that the volume usually has in the time from start to end makes it more
// exact; that in the treatment time where eight rows have one. Dialysate is shown with
// what preparing and rinsing take.
func (c *checker) volumeAccount(s *session.Session, volume session.Field, margin float64) (account, bool) {
	v := s.Value(volume)
	litres, ok := c.good(v)
	perMinute, cell, known := c.flow(s, flowOf[volume])
	if !ok || !known || perMinute <= 0 {
		return account{}, false
	}
	a := account{plausible.ByVolume(litres, perMinute, margin), volume, []issue.Cell{v.Cell, cell}}
	own, pause := c.routine.share[volume], c.routine.pause
	if s.Value("treated_time").OK() {
		own, pause = measure{}, 0
		changed := func(flow float64) bool { return !within(flow, perMinute, shareLeast) } // the pump was slowed for a while
		if treated := c.routine.treated[volume]; treated.n >= several && !slices.ContainsFunc(c.known(s).Readings[string(flowOf[volume])], changed) {
			own = treated
		}
	}
	if own.n > 0 {
		likely := a.Minutes/own.mid - pause
		room := max(shareLeast, shareSpreads*own.spread/own.mid) * likely
		if likely > a.Low && likely < a.High {
			a.Minutes, a.Low, a.High = likely, max(a.Low, likely-room), min(a.High, likely+room)
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
	a, steady := plausible.ByRates(removed, rates)
	return account{a, "uf_removed", []issue.Cell{v.Cell, first}}, ok && steady
}

// rates are the UF rates read off, in L/h, and the cell of the first.
func (c *checker) rates(s *session.Session) (rates []float64, first issue.Cell) {
	limit, _ := profiles.LimitOf("uf_rate")
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

// blame reports the account that the others contradict, at the cell that is
// most likely wrong.
func (c *checker) blame(s *session.Session, wrong account, others []account) {
	var mids []float64
	var cells []issue.Cell
	for _, a := range others {
		mids = append(mids, a.Minutes)
		cells = append(cells, a.cells...)
	}
	minutes := median(mids)
	switch wrong.field {
	case "":
		c.blameClock(s, minutes, cells)
	case "treated_time":
		f := atValue("clin-treated-time", "the treatment time does not fit the other times and amounts of the session", s.Value("treated_time"))
		f.Expected = issue.T("about {} minutes", short(roundFor(minutes)))
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
		limit, _ := profiles.LimitOf(string(flow))
		scale, _ := factor(flow, set.Unit, limit)
		f := atValue(rule, "the {} does not fit {} and time", set, name(flow), name(wrong.field))
		f.Expected = issue.T("about {}", quantity(short(roundFor(litres*1000/minutes/scale)), set.Unit))
		c.blameCell(s, f, append([]issue.Cell{v.Cell}, cells...))
		return
	}
	f := atValue(rule, "the {} does not fit {} and time", v, name(wrong.field), name(flow))
	f.Expected = issue.T("about {}", quantity(short(roundFor(perMinute*minutes/1000)), "L"))
	c.blameCell(s, f, append([]issue.Cell{partner}, cells...))
}

// blameUF reports the fluid removed, or the rate when the weights confirm the
// fluid removed, and neither goal nor last reading the rate.
func (c *checker) blameUF(s *session.Session, minutes float64, wrong account, cells []issue.Cell) {
	v := s.Value("uf_removed")
	rates, first := c.rates(s)
	if expected, most, ok := c.known(s).FluidByWeights(); ok && plausible.FluidFits(v.Decimal.Float64(), expected, most) && (c.sameFluid(s) != nil || !c.rateConfirmed(s)) {
		f := at("clin-uf-rate", "the UF rate does not fit the fluid removed and the time", first)
		if above := c.sameFluid(s); above != nil { // the readings, which nobody copied, decide
			f = atValue("month-copied", "weights and fluid removed are those of the row above, and the readings say otherwise", v)
			f.Expected = issue.T("perhaps about {} L removed, and other weights", short(roundFor(median(rates)*minutes/60)))
			c.blameCell(s, f, []issue.Cell{s.Value("weight_before").Cell, s.Value("weight_after").Cell, above.Value("uf_removed").Cell, first})
			return
		}
		c.blameCell(s, f, append([]issue.Cell{v.Cell}, cells...))
		return
	}
	f := atValue("clin-uf-rate", "the fluid removed does not fit the UF rate and the time", v)
	f.Expected = issue.T("about {}", quantity(short(roundFor(median(rates)*minutes/60)), "L"))
	c.blameCell(s, f, append(wrong.cells[1:], cells...))
}

// rateConfirmed reports a rate that gives the goal, or what the last reading
// leads to.
func (c *checker) rateConfirmed(s *session.Session) bool {
	const close = 0.1 // common practice
	litres, _ := c.byOthers(s)
	return within(litres[0], litres[1], close) || within(litres[2], litres[1], close)
}

// sameFluid is the session in the row above when its weights and the fluid
// removed are those of this one.
func (c *checker) sameFluid(s *session.Session) *session.Session {
	i := slices.Index(c.log.Sessions, s)
	if i == 0 || slices.ContainsFunc(ofFluid, func(field session.Field) bool {
		return !s.Value(field).OK() || s.Value(field).Text != c.log.Sessions[i-1].Value(field).Text
	}) {
		return nil
	}
	return c.log.Sessions[i-1]
}

// blameClock reports the start or the end: the one whose change keeps the
// readings inside the session and both closer to the usual times of day.
func (c *checker) blameClock(s *session.Session, minutes float64, cells []issue.Cell) {
	const later = 15 * time.Minute // of a reading, where the treatment went on (common practice)
	length := time.Duration(minutes+c.routine.pause) * time.Minute
	start, end := s.End.Time.Add(-length), s.Start.Time.Add(length)
	wrong, right, meant, other, details := s.End, s.Start, end, length, "the end does not fit the other times and amounts of the session"
	if c.cost(s, start, s.End.Time) < c.cost(s, s.Start.Time, end) {
		wrong, right, meant, other = s.Start, s.End, start, -length
		details = "the start does not fit the other times and amounts of the session"
	}
	f := at("clin-clock", details, wrong.Cell)
	f.Value = wrong.Text
	wentOn := wrong == s.End && slices.ContainsFunc(s.Readings, func(r *session.Reading) bool {
		return r.At.OK() && r.At.Time.After(end.Add(later)) && r.At.Time.Before(s.End.Time)
	})
	if wentOn && strings.TrimSpace(said(s)) != "" {
		return // the treatment was interrupted, as the person wrote, and went on
	}
	if !wentOn {
		f.Expected = issue.T("about {}", right.Time.Add(other).Round(5*time.Minute).Format("15:04"))
		if moved, ok := clockMeant(wrong, meant); ok {
			f.Expected = issue.T("perhaps {}", spelt(wrong, moved))
		}
	}
	c.suspect[right.Cell] = true // a comparison with it would report it again
	c.blameCell(s, f, append([]issue.Cell{right.Cell}, cells...))
}

// cost is the deviation of a start and an end from the usual times of day and from
// the other times of the session, in minutes.
func (c *checker) cost(s *session.Session, start, end time.Time) float64 {
	const outside, most = 1000, 60
	cost := c.routine.start.off(start) + c.routine.end.off(end)
	near := func(m session.Moment, to time.Time, usually float64) {
		if m.OK() && !m.DateOnly && !c.suspect[m.Cell] {
			cost += min(most, math.Abs(m.Time.Sub(to).Minutes()-usually))
		}
	}
	near(s.BeforeAt, start, -c.routine.before.mid)
	near(s.AfterAt, end, c.routine.after.mid)
	for i, r := range s.Readings {
		if r.At.OK() && (r.At.Time.Before(start.Add(-plausible.ReadingTimes.Early)) || r.At.Time.After(end.Add(plausible.ReadingTimes.Late))) {
			cost += outside
		}
		if i == 0 {
			near(r.At, start, c.routine.first.mid)
		}
		if i == len(s.Readings)-1 {
			near(r.At, end, -c.routine.last.mid)
		}
	}
	for _, m := range s.Medicines {
		if usual, known := c.routine.given[m.Name.Text]; known {
			near(m.At, start, usual.mid)
		}
	}
	for _, l := range s.Labs {
		switch l.When.Text {
		case "before":
			near(l.Drawn, start, 0)
		case "after":
			near(l.Drawn, end, 0)
		}
	}
	if m := s.EnteredAt; m.OK() && !m.DateOnly && m.Time.Before(end) {
		cost += most // it is written down when it is over
	}
	return cost
}

// readingsOutside blames the start, or the end, when most readings are on the
// other side of it.
func (c *checker) readingsOutside(s *session.Session) {
	if _, ok := c.elapsed(s); !ok {
		return
	}
	early, late := 0, 0
	var first, last time.Time
	for _, r := range s.Readings {
		if !r.At.OK() || c.suspect[r.At.Cell] {
			continue
		}
		if first.IsZero() || r.At.Time.Before(first) {
			first = r.At.Time
		}
		if r.At.Time.After(last) {
			last = r.At.Time
		}
		if r.At.Time.Before(s.Start.Time.Add(-plausible.ReadingTimes.Early)) {
			early++
		} else if r.At.Time.After(s.End.Time.Add(plausible.ReadingTimes.Late)) {
			late++
		}
	}
	if max(early, late) < 2 || 2*max(early, late) < len(s.Readings) {
		return
	}
	by := last.Sub(s.Start.Time)
	if early > late {
		by = s.End.Time.Sub(first)
	}
	c.blameClock(s, by.Minutes()-c.routine.pause, nil)
}
