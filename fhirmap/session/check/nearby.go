package check

import (
	"cmp"
	"math"
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// followed is a quantity measured repeatedly in a session: its columns in the
// order of time, the readings in the middle, and the columns of the partner, a
// quantity that changes with it when a change is real.
type followed struct {
	fields, partners [5]session.Field
	// least is a difference that is never reported, and share one of the number, moves
	// the share of a real change by which the partner moves, below zero in the other
	// direction (common practice).
	least, share, moves float64
	// close is how near the expected number a slip of the pen has to lead.
	close float64
	// circuit is set for what the machine shows of the circuit and the dialysate, steady
	// for what it keeps by itself.
	circuit, steady bool
	// always is what all readings of the log but one have, NaN where they differ.
	always float64
}

var (
	systolics  = [5]session.Field{"bp_before_systolic", "bp_before_standing_systolic", "bp_systolic", "bp_after_systolic", "bp_after_standing_systolic"}
	diastolics = [5]session.Field{"bp_before_diastolic", "bp_before_standing_diastolic", "bp_diastolic", "bp_after_diastolic", "bp_after_standing_diastolic"}
	bloodFlow  = [5]session.Field{ofReadings: "blood_flow"}
	venous     = [5]session.Field{ofReadings: "venous_line_pressure"}
	quantities = [...]followed{
		{fields: systolics, partners: diastolics, least: 22, moves: 0.25, close: 5},
		{fields: diastolics, partners: systolics, least: 18, moves: 0.5, close: 5},
		{fields: [5]session.Field{"pulse_before", "", "pulse", "pulse_after", ""}, least: 25, close: 5},
		{fields: [5]session.Field{ofReadings: "arterial_line_pressure"}, partners: bloodFlow, least: 40, moves: -0.1, close: 5, circuit: true},
		{fields: [5]session.Field{ofReadings: "venous_line_pressure"}, partners: bloodFlow, least: 40, moves: 0.1, close: 5, circuit: true},
		{fields: bloodFlow, partners: venous, least: 20, share: 0.1, moves: 0.1, close: 1, circuit: true},
		{fields: [5]session.Field{ofReadings: "transmembrane_pressure"}, least: 40, close: 5, circuit: true},
		{fields: [5]session.Field{ofReadings: "dialysate_flow"}, share: 0.1, circuit: true, steady: true},
		{fields: [5]session.Field{ofReadings: "dialysate_temperature"}, least: 0.7, close: 0.1, circuit: true, steady: true},
		{fields: [5]session.Field{ofReadings: "dialysate_conductivity"}, least: 0.3, close: 0.1, circuit: true, steady: true},
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

// alwaysOf is the number that all readings of a log but one have of what is set.
func (c *checker) alwaysOf(q followed) float64 {
	const least = 20 // readings (common practice)
	if !q.steady && q.fields != bloodFlow {
		return math.NaN()
	}
	n, total := map[float64]int{}, 0
	for _, s := range c.log.Sessions {
		for _, r := range s.Readings {
			if number, ok := c.good(r.Value(q.fields[ofReadings])); ok {
				n[number]++
				total++
			}
		}
	}
	for number, times := range n {
		if total >= least && times == total-1 {
			return number
		}
	}
	return math.NaN()
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
	return math.Abs(number-own.mid) <= spreads*own.spread || q.share > 0 && slices.Index(all, number) != lastIndex(all, number)
}

// drawsLess reports a reading whose arterial pressure is less negative than in all
// the others of its session, as at a lower blood flow.
func (c *checker) drawsLess(s *session.Session, r *session.Reading) bool {
	own, read := c.good(r.Value("arterial_line_pressure"))
	return read && !slices.ContainsFunc(s.Readings, func(other *session.Reading) bool {
		pressure, ok := c.good(other.Value("arterial_line_pressure"))
		return other != r && ok && pressure >= own
	})
}

// lastIndex is the last place of a number, -1 for none.
func lastIndex(all []float64, number float64) int {
	for i, one := range slices.Backward(all) {
		if one == number {
			return i
		}
	}
	return -1
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
	const slips, wider, decimal, byFives = 0.6, 4, 0.15, 5 // exchanged digits are reported at a smaller difference, other slips lead less near (common practice)
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
		off, least, close := min(math.Abs(offA), math.Abs(offB)), max(q.least, q.share*math.Abs(expected)), max(q.close, q.share/50*math.Abs(expected))
		meant, slip := exchangedDigits(one.value, func(number float64) bool { return math.Abs(number-expected) <= close })
		if slip {
			least *= slips
		} else if q.circuit {
			meant = cmp.Or(slipNear(one.value, expected, min(wider*close, least/2)), withPointMoved(one.number, 1, func(number float64) bool {
				return within(number, expected, decimal) && asFine(one.value.Unit, one.number, number)
			}))
		}
		if q.circuit && a+b != 2*i {
			least *= 2 // at the end it may be a change that stays
		}
		if oneSlip(short(one.number), short(q.always)) && (q.share == 0 || math.Mod(one.number, byFives) != 0) { // flows are lowered for a while
			found = append(found, odd{value: one.value, field: q.fields[one.place], number: one.number, expected: q.always, room: close, meant: short(q.always), beside: []issue.Cell{all[a].value.Cell, all[b].value.Cell}})
			continue
		}
		lowered := q.fields == bloodFlow && one.number < expected && (len(s.Events) > 0 || one.reading.Note.OK() || c.drawsLess(s, one.reading)) // as people do at an alarm
		if lowered || !knownA || !knownB || offA*offB <= 0 || off <= max(least, roomA, roomB) || 2*math.Abs(byA-byB) > off {
			continue
		}
		moved := one.partner - (all[a].partner+all[b].partner)/2
		if (!slip || q.circuit) && moved/((one.number-expected)*q.moves) >= 1 || q.circuit && c.isOwn(q, one.number) {
			continue
		}
		o := odd{value: one.value, field: q.fields[one.place], number: one.number, expected: math.Round(expected), room: close, meant: meant, beside: []issue.Cell{all[a].value.Cell, all[b].value.Cell}}
		if q.circuit {
			o.expected = math.Round(10*expected) / 10
		}
		clear := q.steady && off > 2*max(least, roomA, roomB) || one.number == 0 && one.partner > 0 // blood flows, and presses
		o.lesser, o.explained = q.circuit && meant == "" && !clear, explained(s, o.field, !math.Signbit(offA))
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
	all := quantities
	for i, q := range all {
		usual[i], all[i].always = c.apartIn(q), c.alwaysOf(q)
	}
	for _, s := range c.log.Sessions {
		var found []odd
		for i, q := range all {
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
