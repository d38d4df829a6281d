package check

import (
	"math"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// followed is a quantity measured repeatedly in a session: its columns in the
// order of time, the readings in the middle, and the columns of the partner, a
// quantity that changes with it when a change is real.
type followed struct {
	fields, partners [5]session.Field
	// least is a difference that is never reported, moves the share of a real change
	// by which the partner moves, below zero in the other direction (common practice).
	least, moves float64
	// close is how near the expected number a slip of the pen has to lead.
	close float64
	// circuit is set for what the machine shows of the circuit and the dialysate.
	circuit bool
}

var (
	systolics  = [5]session.Field{"bp_before_systolic", "bp_before_standing_systolic", "bp_systolic", "bp_after_systolic", "bp_after_standing_systolic"}
	diastolics = [5]session.Field{"bp_before_diastolic", "bp_before_standing_diastolic", "bp_diastolic", "bp_after_diastolic", "bp_after_standing_diastolic"}
	bloodFlow  = [5]session.Field{ofReadings: "blood_flow"}
	venous     = [5]session.Field{ofReadings: "venous_line_pressure"}
	quantities = [...]followed{
		{fields: systolics, partners: diastolics, least: 30, moves: 0.25, close: 5},
		{fields: diastolics, partners: systolics, least: 20, moves: 0.5, close: 5},
		{fields: [5]session.Field{"pulse_before", "", "pulse", "pulse_after", ""}, least: 25, close: 5},
		{fields: [5]session.Field{ofReadings: "arterial_line_pressure"}, partners: bloodFlow, least: 40, moves: -0.1, close: 5, circuit: true},
		{fields: [5]session.Field{ofReadings: "venous_line_pressure"}, partners: bloodFlow, least: 40, moves: 0.1, close: 5, circuit: true},
		{fields: bloodFlow, partners: venous, least: 50, moves: 0.1, close: 1, circuit: true},
		{fields: [5]session.Field{ofReadings: "transmembrane_pressure"}, least: 40, close: 5, circuit: true},
		{fields: [5]session.Field{ofReadings: "dialysate_temperature"}, least: 1, close: 0.1, circuit: true},
		{fields: [5]session.Field{ofReadings: "dialysate_conductivity"}, least: 0.5, close: 0.1, circuit: true},
	}
)

const ofReadings = 2 // the place of the readings among the columns

// sighting is one number of a quantity.
type sighting struct {
	value           session.Value
	number, partner float64 // the partner is NaN where there is none
	place           int     // of its column
	reading         *session.Reading
}

// sightings are the numbers of a quantity in a session, in the order of time.
func (c *checker) sightings(s *session.Session, q followed) (all []sighting) {
	add := func(place int, of func(session.Field) session.Value, r *session.Reading) {
		one := sighting{value: of(q.fields[place]), place: place, reading: r}
		number, ok := c.good(one.value)
		partner, known := c.good(of(q.partners[place]))
		if one.number, one.partner = number, partner; !known {
			one.partner = math.NaN()
		}
		if ok {
			all = append(all, one)
		}
	}
	for place := range q.fields {
		if place != ofReadings {
			add(place, s.Value, nil)
			continue
		}
		for _, r := range s.Readings {
			add(place, r.Value, r)
		}
	}
	return all
}

// usually is the usual difference between the numbers of two places, the later
// minus the earlier.
type usually map[[2]int]measure

// Of the numbers of a person, nearly all are taken for usual, and spreads times how
// far these are from each other for possible (common practice).
const nearlyAll, spreads = 0.85, 2.5

func (c *checker) apartIn(q followed) usually {
	off, usual := map[[2]int][]float64{}, usually{}
	for _, s := range c.log.Sessions {
		all := c.sightings(s, q)
		for i, a := range all {
			for _, b := range all[i+1 : min(len(all), i+3)] {
				key := [2]int{a.place, b.place}
				off[key] = append(off[key], b.number-a.number)
			}
		}
	}
	for key, all := range off {
		usual[key] = measured(all, nearlyAll)
	}
	return usual
}

// isOwn reports a number that is no further from the person's others than these are.
func (c *checker) isOwn(q followed, number float64) bool {
	var all []float64
	for _, s := range c.log.Sessions {
		for _, one := range c.sightings(s, q) {
			all = append(all, one.number)
		}
	}
	own := measured(all, nearlyAll)
	return math.Abs(number-own.mid) <= spreads*own.spread
}

// expect is what one number leads to expect of another one, and how far from it
// that may be; ok is false while too few pairs are known.
func (usual usually) expect(from, to sighting, later bool) (number, room float64, ok bool) {
	key, sign := [2]int{from.place, to.place}, 1.0
	if !later {
		key, sign = [2]int{to.place, from.place}, -1
	}
	m := usual[key]
	return from.number + sign*m.mid, spreads * m.spread, m.n > 2*fewest
}

// besides are the two that are nearest to one of several in a row.
func besides(i, n int) (a, b int, ok bool) {
	switch {
	case n < 3:
		return 0, 0, false
	case i == 0:
		return 1, 2, true
	case i == n-1:
		return n - 2, n - 3, true
	}
	return i - 1, i + 1, true
}

// odd is a number that those beside it contradict.
type odd struct {
	value    session.Value
	field    session.Field
	number   float64
	expected float64 // in the unit of the value
	room     float64 // of what is expected
	meant    string  // what a slip of the pen makes of it
	beside   []issue.Cell
	// lesser is set where no slip explains it, or an event or a note does.
	lesser, explained bool
}

// oddOf finds the numbers of a quantity that are further from the two beside
// them than the person's numbers ever are, while these two agree.
func (c *checker) oddOf(s *session.Session, q followed, usual usually) (found []odd) {
	const slips, wider = 0.6, 4 // exchanged digits are reported at a smaller difference, other slips lead less near (common practice)
	all := c.sightings(s, q)
	for i, one := range all {
		a, b, ok := besides(i, len(all))
		if !ok {
			return nil
		}
		byA, roomA, knownA := usual.expect(all[a], one, i > a)
		byB, roomB, knownB := usual.expect(all[b], one, i > b)
		expected := (byA + byB) / 2
		offA, offB := one.number-byA, one.number-byB
		off, least := min(math.Abs(offA), math.Abs(offB)), q.least
		meant, slip := exchangedDigits(one.value, func(number float64) bool { return math.Abs(number-expected) <= q.close })
		if slip {
			least *= slips
		} else if q.circuit {
			meant = slipNear(one.value, expected, wider*q.close)
		}
		if q.circuit && (a > i) == (b > i) {
			least *= 2 // at the end it may be a change that stays
		}
		lowered := q.fields == bloodFlow && one.number < expected // as people do at an alarm
		if lowered || !knownA || !knownB || offA*offB <= 0 || off <= max(least, roomA, roomB) || 2*math.Abs(byA-byB) > off {
			continue
		}
		moved := one.partner - (all[a].partner+all[b].partner)/2
		if (!slip || q.circuit) && moved/((one.number-expected)*q.moves) >= 1 || q.circuit && c.isOwn(q, one.number) {
			continue
		}
		o := odd{value: one.value, field: q.fields[one.place], number: one.number, expected: math.Round(expected), room: q.close, meant: meant, beside: []issue.Cell{all[a].value.Cell, all[b].value.Cell}}
		if q.circuit {
			o.expected = math.Round(10*expected) / 10
		}
		o.lesser, o.explained = q.circuit && meant == "", explained(s, o.field, one.number > expected)
		if q.circuit {
			o.explained = o.field != "blood_flow" && interrupted(s, one.reading)
		}
		found = append(found, o)
	}
	return found
}

// nearby compares what is measured again and again in each session with what
// was measured just before and after.
func (c *checker) nearby() {
	var usual [len(quantities)]usually
	for i, q := range quantities {
		usual[i] = c.apartIn(q)
	}
	for _, s := range c.log.Sessions {
		var found []odd
		for i, q := range quantities {
			found = append(found, c.oddOf(s, q, usual[i])...)
		}
		found = append(found, c.oddFluid(s)...)
		c.reportOdd(s, found)
	}
}

// reportOdd reports numbers that contradict the two beside them. Two of them that
// fit each other's place it reports as exchanged.
func (c *checker) reportOdd(s *session.Session, found []odd) {
	for len(found) > 0 {
		one := found[0]
		found = found[1:]
		if i := slices.IndexFunc(found, one.exchangedWith); i >= 0 {
			f := exchangedNumbers(place{field: one.field, value: one.value}, place{field: found[i].field, value: found[i].value})
			f.Severity = issue.Warning
			c.doubt(f, s)
			found = slices.Delete(found, i, i+1)
			continue
		}
		rule := "clin-apart"
		if one.field == "uf_so_far" {
			rule = "clin-uf-falls"
		}
		f := atValue(rule, "the {} is far from what was measured just before and after it", one.value, name(one.field))
		f.Expected = issue.T("about {}", quantity(short(one.expected), one.value.Unit))
		switch {
		case one.explained:
			f.Severity, f.Expected = issue.Information, issue.Text{}
		case one.lesser:
			f.Severity = issue.Information
		case one.meant != "":
			f.Expected = issue.T("perhaps {}", quantity(one.meant, one.value.Unit))
		}
		c.suspect[one.value.Cell] = true
		c.notUnusual(one.value.Cell)
		f.Cells = append(f.Cells, one.beside...)
		c.add(f, s)
	}
}

// exchangedWith reports whether each of two numbers fits the place of the other.
func (o odd) exchangedWith(b odd) bool {
	return math.Abs(o.number-b.expected) <= b.room && math.Abs(b.number-o.expected) <= o.room
}

// flowing is the fluid removed by the time of a reading.
type flowing struct {
	reading       *session.Reading
	row           int // of the readings of the session
	hours, litres float64
	rate          float64 // L/h, NaN where there is none
}

func (c *checker) flowingIn(s *session.Session) (all []flowing) {
	for i, r := range s.Readings {
		litres, ok := c.good(r.Value("uf_so_far"))
		if !ok || !r.At.OK() || c.suspect[r.At.Cell] {
			continue
		}
		one := flowing{r, i, r.At.Time.Sub(s.Date.Time).Hours(), litres, math.NaN()}
		if rate, known := c.inLimitUnit("uf_rate", r.Value("uf_rate")); known {
			one.rate = rate
		}
		all = append(all, one)
	}
	return all
}

// inTurn reports readings that follow each other in time.
func inTurn(all []flowing) bool {
	const least = 5.0 / 60 // h between two readings (common practice)
	for i := 1; i < len(all); i++ {
		if all[i].hours < all[i-1].hours+least {
			return false
		}
	}
	return true
}

func slope(a, b flowing) float64 { return (b.litres - a.litres) / (b.hours - a.hours) }

// oddFluid finds a rate, the fluid removed so far or the time of a reading that
// the readings beside it contradict while the fluid removed grows steadily.
func (c *checker) oddFluid(s *session.Session) (found []odd) {
	all := c.flowingIn(s)
	_, timed := c.elapsed(s)
	var soFar []session.Value
	for _, one := range all {
		soFar = append(soFar, one.reading.Value("uf_so_far"))
	}
	step := lastDigit(soFar)
	for i, one := range all {
		others := slices.Delete(slices.Clone(all), i, i+1)
		if len(others) < 2 || !inTurn(others) || timed && !clockWithin(one.reading.At.Time, s.Start.Time.Add(-plausible.ReadingTimes.Early), s.End.Time.Add(plausible.ReadingTimes.Late)) {
			continue // a time outside the session is reported as such
		}
		at := min(max(i, 1), len(others)-1)
		rate, ok := steady(others, at)
		if !ok {
			continue
		}
		a, b := others[at-1], others[at]
		o := odd{beside: []issue.Cell{a.reading.Value("uf_so_far").Cell, b.reading.Value("uf_so_far").Cell}}
		part := (one.hours - a.hours) / (b.hours - a.hours)
		expected := a.litres + part*(b.litres-a.litres)
		rounding := step / 2 * (1 + math.Abs(1-part) + math.Abs(part))
		since := min(math.Abs(one.hours-a.hours), math.Abs(one.hours-b.hours))
		own := one.ownRate(s, step)
		if f, is := c.oddTime(s, one, a, b, rate, step); is && !own {
			f.Cells = append(f.Cells, o.beside...)
			c.doubt(f, s)
			return nil
		}
		if !inTurn(all) {
			continue
		}
		if o, is := oddLitres(one, o, expected, rate*since, rounding); is && !own {
			found = append(found, o)
		}
		if o, is := oddRate(s, one, o, rate); is {
			found = append(found, o)
		}
	}
	return found
}

// oddTime reports the time of a reading that is further from the one at which
// the fluid removed reached its amount, by each of two other readings, than
// the clock and the rounding explain, and further from when it is usually read.
func (c *checker) oddTime(s *session.Session, one, a, b flowing, rate, step float64) (f issue.Finding, is bool) {
	const close, byDigits = 15, 5 // minutes (common practice)
	m := one.reading.At
	byA, byB := a.hours+(one.litres-a.litres)/rate, b.hours+(one.litres-b.litres)/rate
	meant := after(m, 60*((byA+byB)/2-one.hours))
	rounding := 60 * step / rate
	off := 60 * min(math.Abs(one.hours-byA), math.Abs(one.hours-byB))
	moved, slip := clockMeant(m, meant)
	least := float64(close)
	between := (one.hours-a.hours)*(one.hours-b.hours) < 0 // else a pause may have been there
	if slip && between && math.Abs(moved.Sub(meant).Minutes()) <= min(rounding+1, byDigits) {
		least = byDigits
	}
	likely := c.readingTime(s, one.row)
	_, pen := exchangedDigits(one.reading.Value("uf_so_far"), func(litres float64) bool {
		return math.Abs(litres-a.litres-rate*(one.hours-a.hours)) <= 2*step
	})
	if off <= least+rounding || (one.hours < byA) != (one.hours < byB) || likely.IsZero() && (!slip || pen) ||
		!likely.IsZero() && math.Abs(m.Time.Sub(likely).Minutes()) <= math.Abs(meant.Sub(likely).Minutes()) {
		return f, false
	}
	f = at("clin-uf-falls", "the time of the reading does not fit the fluid removed so far and the readings beside it", m.Cell)
	if one.hours == a.hours || one.hours == b.hours {
		f = at("clin-reading-twice", "two readings have the same time", m.Cell)
	}
	f.Value, f.Mend = m.Text, issue.T("look at the time of the reading")
	f.Cells = append(f.Cells, one.reading.Value("uf_so_far").Cell)
	f.Expected = issue.T("about {}", meant.Round(5*time.Minute).Format("15:04"))
	if slip {
		f.Expected = issue.T("perhaps {}", spelt(m, moved))
	}
	return f, true
}

// steady is the rate of fluid removal around two readings in a row; ok is false
// if that changes or too few readings have it.
func steady(all []flowing, b int) (rate float64, ok bool) {
	const least, share = 3, 0.2 // rates set by hand, and read at another minute (common practice)
	rates := []float64{slope(all[b-1], all[b])}
	for _, one := range all[b-1 : b+1] {
		if !math.IsNaN(one.rate) {
			rates = append(rates, one.rate)
		}
	}
	if b > 1 {
		rates = append(rates, slope(all[b-2], all[b-1]))
	}
	if b < len(all)-1 {
		rates = append(rates, slope(all[b], all[b+1]))
	}
	rate = median(rates)
	changes := func(one float64) bool { return !within(one, rate, share) }
	return rate, rate > 0 && len(rates) >= least && !slices.ContainsFunc(rates, changes)
}

// lastDigit is the step in which values are written, in their unit.
func lastDigit(all []session.Value) float64 {
	most := 0
	for _, v := range all {
		_, decimals, _ := strings.Cut(v.Decimal.String(), ".")
		most = max(most, len(decimals))
	}
	return math.Pow10(-most)
}

// ownRate reports whether the fluid removed so far is that of the rate in its
// row since the start of the session.
func (f flowing) ownRate(s *session.Session, step float64) bool {
	return math.Abs(f.rate*f.reading.At.Time.Sub(s.Start.Time).Hours()-f.litres) <= step
}

// oddLitres reports whether the fluid removed so far differs from the expected
// one by more than a share of the flow between two readings and the rounding of
// the three numbers.
func oddLitres(one flowing, o odd, expected, flows, rounding float64) (odd, bool) {
	const display, share = 0.1, 0.3 // L, and of the flow between two readings (common practice)
	v := one.reading.Value("uf_so_far")
	o.value, o.field, o.number, o.expected, o.room = v, "uf_so_far", one.litres, hundredths(expected), max(display, share*flows)
	o.meant = meantBy(v, one.litres, 1, func(number float64) bool { return math.Abs(number-expected) <= o.room })
	return o, math.Abs(one.litres-expected) > o.room+rounding+plausible.Rounding
}

// oddRate reports whether a rate is far from that of the fluid removed. A person
// who lowers it for a while writes why.
func oddRate(s *session.Session, one flowing, o odd, rate float64) (odd, bool) {
	const far, off, near = 1.5, 1.1, 0.05 // times the rate, and a share of it (common practice)
	v := one.reading.Value("uf_rate")
	if math.IsNaN(one.rate) || one.rate <= 0 {
		return odd{}, false
	}
	scale := one.rate / v.Decimal.Float64()
	o.value, o.field, o.number, o.expected, o.room = v, "uf_rate", one.rate/scale, hundredths(rate/scale), near*rate/scale
	o.meant = meantBy(v, one.rate, scale, func(number float64) bool { return within(number, rate, near) })
	switch {
	case o.meant != "" && len(o.meant) == len(v.Text):
		return o, max(one.rate/rate, rate/one.rate) > off
	case one.rate < rate:
		return o, one.rate < rate/far && len(s.Events) == 0 && !one.reading.Note.OK()
	}
	return o, one.rate > far*rate
}

func hundredths(v float64) float64 { return math.Round(100*v) / 100 }

// meantBy is the number that a slip of the pen would have made of another one,
// "" for none.
func meantBy(v session.Value, number, scale float64, fits func(float64) bool) string {
	if text, ok := exchangedDigits(v, func(meant float64) bool { return fits(meant * scale) }); ok {
		return text
	}
	for _, slip := range decimalSlips {
		if fits(number * slip.factor) {
			return short(number / scale * slip.factor)
		}
	}
	return ""
}
