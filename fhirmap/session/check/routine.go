package check

import (
	"math"
	"slices"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/plausible"
)

// routine is what is usual in a log, from all its sessions held.
type routine struct {
	// length is the usual time from start to end and what nearly all
	// sessions are within, in minutes.
	length measure
	// pause is the usual time between start and end without treatment, in
	// minutes; paused is false when it is not known.
	pause      float64
	paused     bool
	start, end timeOfDay
	// before and after are how long before the start, and after the end, the
	// weight is usually taken, in minutes.
	before, after measure
	// first and last are how long after the start the first reading, and before
	// the end the last one, is usually taken, in minutes.
	first, last measure
	// given is how long after the start each medicine is usually given, in
	// minutes, by its name.
	given map[string]measure
	// usual are the medians of volumes in L and flows in mL/min, share those
	// of volume over flow as a share of the time from start to end.
	usual map[session.Field]float64
	share map[session.Field]measure
	// treated is the share of volume over flow of the treatment time written.
	treated map[session.Field]measure
	// misfit is the fluid removed less that by the weights, in L.
	misfit measure
}

// measure is a median of n values, and how far from it they usually are.
type measure struct {
	mid, spread float64
	n           int
}

// measured is the median of values that are not NaN, and the deviation that a
// share of them does not exceed.
func measured(values []float64, share float64) measure {
	values = slices.DeleteFunc(slices.Clone(values), math.IsNaN)
	m := measure{n: len(values)}
	if m.n == 0 {
		return m
	}
	m.mid = median(values)
	off := make([]float64, m.n)
	for i, v := range values {
		off[i] = math.Abs(v - m.mid)
	}
	slices.Sort(off)
	m.spread = off[int(share*float64(m.n-1))]
	return m
}

// timeOfDay is a usual time of day; the zero value is none.
type timeOfDay struct {
	minutes float64
	known   bool
}

// learn gathers what is usual.
func (c *checker) learn() {
	const half, nearlyAll = 0.5, 0.85
	h := routine{usual: map[session.Field]float64{}, share: map[session.Field]measure{}, treated: map[session.Field]measure{}}
	h.misfit = measured(c.misfits(c.log.Sessions, "uf_removed", 0), half)
	var lengths, pauses, starts, ends, before, after, first, last []float64
	given := map[string][]float64{}
	c.learnFlows(&h)
	for _, s := range c.log.Sessions {
		elapsed, timed := c.elapsed(s)
		if before, more := c.sameTreatment(s); !held(s) || !timed || s.Status != session.Done || before > 0 || more {
			continue
		}
		lengths = append(lengths, elapsed)
		starts, ends = append(starts, ofDay(s.Start.Time)), append(ends, ofDay(s.End.Time))
		if s.BeforeAt.OK() {
			before = append(before, s.Start.Time.Sub(s.BeforeAt.Time).Minutes())
		}
		if s.AfterAt.OK() {
			after = append(after, s.AfterAt.Time.Sub(s.End.Time).Minutes())
		}
		for _, m := range s.Medicines {
			if m.At.OK() {
				given[m.Name.Text] = append(given[m.Name.Text], m.At.Time.Sub(s.Start.Time).Minutes())
			}
		}
		if from, to, ok := readFrom(s); ok {
			first, last = append(first, from), append(last, to)
		}
		if treated, ok := c.good(s.Value("treated_time")); ok {
			pauses = append(pauses, elapsed-treated)
		}
	}
	h.given = map[string]measure{}
	for medicine, values := range given {
		h.given[medicine] = measured(values, nearlyAll)
	}
	h.length = measured(lengths, nearlyAll)
	h.before, h.after = measured(before, nearlyAll), measured(after, nearlyAll)
	h.first, h.last = measured(first, nearlyAll), measured(last, nearlyAll)
	h.start, h.end = usualTime(starts), usualTime(ends)
	pause := measured(pauses, half)
	if h.paused = pause.n > fewest; h.paused {
		h.pause = max(0, pause.mid)
	} else if share, ok := h.share["dialysate_volume"]; ok {
		h.pause, h.paused = max(0, (1-share.mid)*h.length.mid), true
	}
	c.routine = h
}

// learnFlows gathers the usual volumes and flows, and the share of the time of
// a session for which the flow ran.
func (c *checker) learnFlows(h *routine) {
	const half = 0.5
	amounts, shares, treated := map[session.Field][]float64{}, map[session.Field][]float64{}, map[session.Field][]float64{}
	for _, s := range c.log.Sessions {
		if !held(s) {
			continue
		}
		elapsed, timed := c.elapsed(s)
		for volume, flow := range flowOf {
			litres, measured := c.good(s.Value(volume))
			perMinute, _, known := c.flow(s, flow)
			if measured {
				amounts[volume] = append(amounts[volume], litres)
			}
			if known {
				amounts[flow] = append(amounts[flow], perMinute)
			}
			if measured && known && timed && s.Status == session.Done && perMinute > 0 {
				shares[volume] = append(shares[volume], litres*1000/perMinute/elapsed)
				if minutes, written := c.good(s.Value("treated_time")); written && minutes > 0 {
					treated[volume] = append(treated[volume], litres*1000/perMinute/minutes)
				}
			}
		}
	}
	for field, values := range amounts {
		if len(values) > fewest {
			h.usual[field] = median(values)
		}
	}
	for field, values := range shares {
		if len(values) > 2*fewest {
			h.share[field] = measured(values, half)
		}
	}
	for field, values := range treated {
		h.treated[field] = measured(values, half)
	}
}

// flowOf are the volumes of a session and their flows.
var flowOf = map[session.Field]session.Field{"dialysate_volume": "dialysate_flow", "blood_processed": "blood_flow"}

// lengthOf is how long a session is likely to be, from start to end: as the
// person's others, or else as prescribed. ok is false when neither is known.
func (h routine) lengthOf(c *checker, s *session.Session) (usual account, ok bool) {
	const least, spreads = 50, 2
	before, more := c.sameTreatment(s)
	if s.Status != session.Done || !s.Date.OK() || more {
		return account{}, false
	}
	if mid := h.length.mid - before; h.length.n > 2*fewest {
		room := max(least, spreads*h.length.spread)
		return account{Account: plausible.Account{Minutes: mid, Low: mid - room, High: mid + room}}, true
	}
	p, _ := c.log.About.PrescriptionOn(s.Date.Time)
	minutes, ok := c.good(p.DurationMin)
	return account{Account: plausible.Account{Minutes: minutes - before, Low: minutes/2 - before, High: minutes*2 - before}}, ok
}

// sameTreatment returns the minutes of the earlier records of the treatment that
// this record continues. more reports another treatment on that day or a record
// that continues this one, so that its own length is not the usual one.
func (c *checker) sameTreatment(s *session.Session) (before float64, more bool) {
	for _, other := range c.log.Sessions {
		switch {
		case other == s || !held(other):
		case c.clockDoubted(other) || !other.Start.OK() || !other.End.OK():
			more = more || other.Date.OK() && other.Date.Time.Equal(s.Date.Time)
		case !s.Start.OK():
		case other.End.Time.After(s.Start.Time):
			more = more || other.Date.OK() && other.Date.Time.Equal(s.Date.Time) && s.End.OK() && !other.Start.Time.Before(s.End.Time)
		case goesOn(other, s):
			before += other.End.Time.Sub(other.Start.Time).Minutes()
		default:
			more = more || other.Date.OK() && other.Date.Time.Equal(s.Date.Time)
		}
	}
	return before, more
}

// goesOn reports whether a record continues the treatment of an earlier record.
func goesOn(first, s *session.Session) bool {
	return held(first) && held(s) && first.End.OK() && s.Start.OK() && !s.Start.DateOnly && !s.Start.Time.Before(first.End.Time) &&
		calc.StartedAgain(first.Status == session.CutShort, s.Start.Time.Sub(first.End.Time))
}

func ofDay(t time.Time) float64 { return float64(60*t.Hour() + t.Minute()) }

// apartOnClock is the distance of two times of day, in minutes.
func apartOnClock(a, b float64) float64 {
	d := math.Abs(a - b)
	return min(d, 24*60-d)
}

// usualTime is the time of day closest to all the others; of a long log, to
// those of a part of it.
func usualTime(times []float64) timeOfDay {
	const enough = 200
	times = times[:min(len(times), enough)]
	best, least := 0.0, math.Inf(1)
	for _, a := range times {
		sum := 0.0
		for _, b := range times {
			sum += apartOnClock(a, b)
		}
		if sum < least {
			best, least = a, sum
		}
	}
	return timeOfDay{best, len(times) > fewest}
}

// off is how far a moment is from the usual time, in minutes; 0 when none is
// known.
func (u timeOfDay) off(t time.Time) float64 {
	if !u.known {
		return 0
	}
	return apartOnClock(ofDay(t), u.minutes)
}

func offUsual(v, usual float64) float64 {
	if usual <= 0 || v <= 0 {
		return 0
	}
	return math.Abs(math.Log(v / usual))
}
