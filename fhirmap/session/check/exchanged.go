package check

import (
	"maps"
	"math"
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// place is a cell of one row that may have been exchanged with another one.
type place struct {
	field session.Field // or a setting of a medicine
	lab   *session.Lab  // the result of a laboratory, or nil
	// limited is the field whose limits hold: of a result, that of its phase.
	limited session.Field
	cell    issue.Cell
	// set is what was set here, if the column is one of settings; an empty cell
	// holds "".
	set    entry
	isSet  bool
	value  session.Value
	number float64
	known  bool // whether there is a number
	// verdict compares the number with the limits of its own column.
	verdict plausible.Verdict
	// others are the person's other results of this test and phase, in the unit of
	// the limits.
	others []float64
}

// exchangedCells finds two exchanged cells of a row: as written they contradict
// the limits, the person's other rows or the rest of the row, and exchanged they
// contradict nothing. A row with more such cells is shifted, not exchanged.
func (c *checker) exchangedCells() {
	rows := c.settings()
	set := tallied(rows, func(r ownRow) map[string]entry { return r.numbers })
	c.exchangedColumns()
	own := c.ownRanges()
	for _, row := range rows {
		s := row.session
		found := c.exchangedIn(s, c.placesOf(s, session.SheetSessions, s.Value, row.numbers), own, set)
		for _, r := range s.Readings {
			c.exchangedIn(s, c.placesOf(s, session.SheetReadings, r.Value, nil), own, nil)
		}
		for _, when := range []string{"before", "after", "other"} {
			c.exchangedIn(s, c.resultsOf(s, when), own, nil)
		}
		if !found {
			c.exchangedByRow(s)
		}
	}
}

// placesOf are the numbers of a row, and its settings.
func (c *checker) placesOf(s *session.Session, sheet session.Sheet, value func(session.Field) session.Value, settings map[string]entry) []place {
	var row []place
	known := c.known(s)
	settings = maps.Clone(settings)
	for _, column := range session.Columns {
		if column.Sheet != sheet {
			continue
		}
		v := value(column.Field)
		p := place{field: column.Field, limited: column.Field, cell: v.Cell, value: v}
		if p.number, p.known = c.good(v); p.known && v.Unit == column.Unit {
			p.verdict = p.judge(known, p.number)
		} else {
			p.known = false
		}
		if p.set, p.isSet = settings[string(column.Field)]; p.isSet && !c.suspect[p.set.cell] {
			p.cell = p.set.cell
			delete(settings, string(column.Field))
		}
		if p.known || p.isSet {
			row = append(row, p)
		}
	}
	for _, column := range slices.Sorted(maps.Keys(settings)) {
		row = append(row, place{field: session.Field(column), cell: settings[column].cell, set: settings[column], isSet: true})
	}
	return row
}

// resultsOf are the numbers of one blood sample.
func (c *checker) resultsOf(s *session.Session, when string) (row []place) {
	for _, l := range s.Labs {
		number, ok := c.good(l.Value)
		if p, known := resultIn(l); ok && known && l.When.Text == when {
			p.number, p.known, p.verdict, p.others = number, true, p.judge(c.known(s), number), c.otherResults(s, p)
			row = append(row, p)
		}
	}
	return row
}

func resultIn(l *session.Lab) (place, bool) {
	field, known := session.TestField(l.Test.Text)
	return place{field: field, limited: field.At(l.When.Text), cell: l.Value.Cell, value: l.Value, lab: l}, known
}

// otherResults are the possible results of the other sessions that belong in a place,
// in the unit of its limits.
func (c *checker) otherResults(s *session.Session, p place) (others []float64) {
	for _, other := range c.log.Sessions {
		for _, l := range other.Labs {
			if o, known := resultIn(l); known && other != s && o.limited == p.limited {
				if number, ok := c.inLimitUnit(p.field, l.Value); ok && number > 0 && !impossible(string(p.limited), number) {
					others = append(others, number)
				}
			}
		}
	}
	return others
}

// exchangedResults reports two results of one sample, one of them far from the
// person's other results of its test, that are both closer to them in each other's
// place, and as usual. Of two samples, it is the one that this brings closer to the
// middle of what is usual. Without another sample, one result has to be impossible, or
// outside usual limits that are narrow, and both usual in each other's place.
func exchangedResults(known *plausible.Session, a, b place) bool {
	const far, least, narrow = 0.25, 0.1, 2.0 // of the usual range, as a ratio; and the ends of one (common practice)
	if a.lab == nil || !a.known || !b.known {
		return false
	}
	atA, atB := a.judge(known, b.number), b.judge(known, a.number)
	if atA > a.verdict || atB > b.verdict {
		return false
	}
	off := func(p place, number float64, from []float64) float64 {
		limit, _ := known.LimitOf(string(p.limited))
		scale, _ := factor(p.field, p.value.Unit, limit)
		usual := math.Sqrt(limit.SoftLow * limit.SoftHigh)
		if len(from) > 0 {
			usual = median(from)
		}
		return math.Abs(math.Log(number*scale/usual)) / math.Log(limit.SoftHigh/limit.SoftLow)
	}
	outside := func(p place) bool {
		limit, _ := known.LimitOf(string(p.limited))
		return p.verdict == plausible.Impossible || p.verdict > plausible.Usual && limit.SoftHigh <= narrow*limit.SoftLow
	}
	samples := min(len(a.others), len(b.others))
	if samples == 0 {
		return (outside(a) || outside(b)) && max(atA, atB) == plausible.Usual
	}
	nowA, nowB, thenA, thenB := off(a, a.number, a.others), off(b, b.number, b.others), off(a, b.number, a.others), off(b, a.number, b.others)
	return max(nowA, nowB) >= far && min(nowA, nowB) >= least && thenA < nowA && thenB < nowB && 2*(thenA+thenB) < nowA+nowB &&
		(samples > 1 || off(a, b.number, nil)+off(b, a.number, nil) < off(a, a.number, nil)+off(b, b.number, nil))
}

// exchangedIn reports the one pair of cells of a row that is exchanged.
func (c *checker) exchangedIn(s *session.Session, row []place, own map[session.Field][]float64, set tally) bool {
	var f issue.Finding
	known, n := c.known(s), 0
	for i, a := range row {
		for _, b := range row[i+1:] {
			certain, limits := exchangedByLimits(known, a, b)
			if !pairFits(s, a, b) || !pairFits(s, b, a) {
				continue
			}
			switch {
			case !ofOnePair(a.field, b.field) && (limits || exchangedByOwn(own, a, b) || exchangedResults(known, a, b) || c.pulseForPressure(s, own, a, b)):
				f = exchangedNumbers(a, b)
				if unit := otherUnitOf(known, a, b); !unit.IsZero() {
					f.Expected = issue.T("{}, or {}", f.Expected, unit)
				}
				if !limits || !certain {
					f.Severity = issue.Warning
				}
			case exchangedSettings(set, a, b):
				f = settingsFinding(s, a, b)
			default:
				continue
			}
			n++
		}
	}
	if n == 1 {
		c.doubt(f, s)
	}
	return n == 1
}

func exchangedNumbers(a, b place) issue.Finding {
	f := atValue("clin-exchanged", "these two numbers look exchanged: {} and {}", a.value, name(a.field), name(b.field))
	f.Cells = append(f.Cells, b.value.Cell)
	f.Expected = issue.T("perhaps {} and {}", b.value.Text, a.value.Text)
	return f
}

// pairFits reports that a number in the place of a result has no urea rise.
func pairFits(s *session.Session, at, from place) bool {
	if at.lab == nil {
		return true
	}
	fits := pairWith(s, at.lab)
	return fits == nil || fits(from.number)
}

// otherUnitOf is one of two results in another unit if that is what explains it as
// well as the exchange: it is usual in one other unit, the other result as it is, and
// neither has others of the person.
func otherUnitOf(known *plausible.Session, places ...place) (meant issue.Text) {
	n := 0
	for _, p := range places {
		limit, _ := known.LimitOf(string(p.limited))
		for _, unit := range fitting(p.field, limit) {
			as := p
			as.value.Unit = unit
			if p.lab != nil && p.verdict > plausible.Usual && len(p.others) == 0 && as.judge(known, p.number) == plausible.Usual {
				meant = quantity(p.value.Text, unit)
				n++
			}
		}
		if p.verdict > plausible.Usual && meant.IsZero() {
			return meant
		}
	}
	if n != 1 || min(places[0].verdict, places[1].verdict) > plausible.Usual {
		return issue.Text{}
	}
	return meant
}

func settingsFinding(s *session.Session, a, b place) issue.Finding {
	if a.set.text == "" {
		a, b = b, a
	}
	f := at("clin-columns-swapped", "this cell and another one of the session hold what your other rows have in the other one", cellOr(a.cell, s.Cell))
	f.Value, f.Expected = a.set.text, issue.T("perhaps {} here and {} there", b.set.text, a.set.text)
	if b.set.text == "" {
		f.Expected = issue.T("perhaps an empty cell here, and the value in the other column")
	}
	if !b.cell.IsZero() {
		f.Cells = append(f.Cells, b.cell)
	}
	return f
}

// ofOnePair reports two fields whose order has a rule of its own.
func ofOnePair(a, b session.Field) bool {
	if slices.Contains(weightFields, a) && slices.Contains(weightFields, b) || a == "bp_systolic" && b == "bp_diastolic" {
		return true
	}
	return slices.ContainsFunc(pairs, func(p struct{ systolic, diastolic, pulse session.Field }) bool {
		return a == p.systolic && b == p.diastolic
	})
}

// judge compares another number with the limits of this place.
func (p place) judge(known *plausible.Session, number float64) plausible.Verdict {
	limit, ok := known.LimitOf(string(p.limited))
	scale, fits := factor(p.field, p.value.Unit, limit)
	if !ok || !fits {
		return plausible.NearlyUsual // neither right nor wrong
	}
	_, verdict := known.Judge(string(p.limited), number*scale)
	return verdict
}

// exchangedByLimits reports two numbers outside their usual limits that are
// usual in each other's place; certain that one of them is impossible. In a
// row, whose numbers change together, one has to be.
func exchangedByLimits(known *plausible.Session, a, b place) (certain, found bool) {
	certain = max(a.verdict, b.verdict) == plausible.Impossible
	least := min(a.verdict, b.verdict)
	return certain, a.known && b.known && (certain && least > plausible.Usual || a.lab != nil && least >= plausible.Unusual) &&
		a.judge(known, b.number) == plausible.Usual && b.judge(known, a.number) == plausible.Usual
}

// columnsOfReadings are the columns of readings that are written under each other's
// name for a whole session, and that the limits do not tell apart.
var columnsOfReadings = [][2]session.Field{{"bp_systolic", "pulse"}, {"bp_diastolic", "pulse"}, {"venous_line_pressure", "transmembrane_pressure"}}

// exchangedColumns finds a session in whose readings two columns are exchanged: the
// median of each is where the other one has it in all other sessions, and these lie apart.
func (c *checker) exchangedColumns() {
	const several, others, nearer, apart = 3, 5, 3, 20 // readings, sessions; times; mmHg or a minute (common practice)
	for _, fields := range columnsOfReadings {
		medians := map[*session.Session][2]float64{}
		for _, s := range c.log.Sessions {
			var both [2]float64
			n := several
			for i, field := range fields {
				all := c.readValues(s, field)
				if n = min(n, len(all)); len(all) > 0 {
					both[i] = median(all)
				}
			}
			if n == several {
				medians[s] = both
			}
		}
		for _, s := range c.log.Sessions {
			own, known := medians[s]
			if !known || len(medians) <= others {
				continue
			}
			low, high := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
			for other, both := range medians {
				for i := range both {
					if other != s {
						low[i], high[i] = min(low[i], both[i]), max(high[i], both[i])
					}
				}
			}
			off := func(i, column int) float64 { return max(low[column]-own[i], own[i]-high[column], 0) }
			if min(off(0, 0), off(1, 1)) < apart || off(0, 0) <= nearer*off(0, 1) || off(1, 1) <= nearer*off(1, 0) {
				continue
			}
			f := at("clin-exchanged", "in the readings of this session two columns look exchanged: {} and {}", s.Cell, name(fields[0]), name(fields[1]))
			f.Severity = issue.Warning
			f.Cells = nil
			for _, r := range s.Readings {
				for _, field := range fields {
					if v := r.Value(field); v.OK() {
						f.File, f.Cells = v.Cell.File, append(f.Cells, v.Cell)
					}
				}
			}
			c.doubt(f, s)
		}
	}
}

// readValues are the numbers of a column in the readings of a session.
func (c *checker) readValues(s *session.Session, field session.Field) (all []float64) {
	for _, r := range s.Readings {
		if number, ok := c.good(r.Value(field)); ok {
			all = append(all, number)
		}
	}
	return all
}

// ownRanges are the numbers of each field over the log, in order: of the
// sessions, or where these have none of the readings.
func (c *checker) ownRanges() map[session.Field][]float64 {
	own, read := map[session.Field][]float64{}, map[session.Field][]float64{}
	add := func(to map[session.Field][]float64, values map[session.Field]session.Value) {
		for field, v := range values {
			if number, ok := c.good(v); ok {
				to[field] = append(to[field], number)
			}
		}
	}
	for _, s := range c.log.Sessions {
		if held(s) {
			add(own, s.Values)
			for _, r := range s.Readings {
				add(read, r.Values)
			}
		}
	}
	for field, numbers := range read {
		if len(own[field]) == 0 {
			own[field] = numbers
		}
	}
	for _, numbers := range own {
		slices.Sort(numbers)
	}
	return own
}

// exchangedByOwn reports two numbers, each outside what the person
// has in that column and within what the person has in the other, where the
// ranges of the two are apart. Blood pressures and pulses vary too much for that.
func exchangedByOwn(own map[session.Field][]float64, a, b place) bool {
	varies := func(p place) bool {
		return p.value.Unit == "/min" || p.value.Unit == "mm[Hg]" && !slices.Contains(ofLines, p.field)
	}
	return a.known && b.known && !varies(a) && !varies(b) && ownElsewhere(own, a, b)
}

// ofLines are the pressures of the circuit.
var ofLines = []session.Field{"arterial_line_pressure", "venous_line_pressure", "transmembrane_pressure"}

func ownElsewhere(own map[session.Field][]float64, a, b place) bool {
	const least, apart = 5, 1.2
	others := func(e place) (low, high float64) {
		all := own[e.field]
		if len(all) <= least {
			return 0, 0
		}
		if low, all = all[0], all[:len(all):len(all)]; low == e.number {
			low, all = all[1], all[1:]
		}
		if high = all[len(all)-1]; high == e.number {
			high = all[len(all)-2]
		}
		return low, high
	}
	if a.number < b.number {
		a, b = b, a // a is in the column of the small numbers
	}
	lowA, highA := others(a)
	lowB, highB := others(b)
	return lowA > 0 && lowB >= apart*highA && b.number >= lowA && b.number <= highA && a.number >= lowB && a.number <= highB
}

// pulseForPressure reports a blood pressure number and a pulse that are each where
// the other one usually is, while the two numbers of the pressure lie closer together
// than any do, and do not with the two exchanged. A low pressure with a fast pulse is
// no slip.
func (c *checker) pulseForPressure(s *session.Session, own map[session.Field][]float64, a, b place) bool {
	const closest = 20 // mmHg between the two numbers (common practice)
	if !a.known || !b.known || a.value.Unit != "mm[Hg]" || b.value.Unit != "/min" || !ownElsewhere(own, a, b) {
		return false
	}
	for _, pressure := range pressuresOf(s) {
		high, okHigh := c.good(pressure[0])
		low, okLow := c.good(pressure[1])
		if !okHigh || !okLow || b.value.Cell != pressure[2].Cell || a.value.Cell != pressure[0].Cell && a.value.Cell != pressure[1].Cell {
			continue
		}
		apart := high - b.number
		if a.value.Cell == pressure[0].Cell {
			apart = b.number - low
		}
		return high-low < closest && apart >= closest
	}
	return false
}

// exchangedSettings reports two settings that each hold what other rows have in
// the column of the other one, and never in their own.
func exchangedSettings(n tally, a, b place) bool {
	x, y := a.set.text, b.set.text
	return a.isSet && b.isSet && n[string(b.field)][x] >= fewest && n[string(a.field)][y] >= fewest && n[string(a.field)][x] <= 1 && n[string(b.field)][y] <= 1
}

// likeFields are neighbouring columns of one unit that no limit and no range of
// the person's own distinguishes.
var likeFields = [][2]session.Field{{"weight_before", "dry_weight"}, {"weight_after", "dry_weight"}, {"uf_goal", "uf_removed"}}

// exchangedByRow finds two like cells with which the row contradicts itself, and
// does not with the two exchanged.
func (c *checker) exchangedByRow(s *session.Session) {
	var found []issue.Finding
	for _, fields := range likeFields {
		a, okA := c.inLimitUnit(fields[0], s.Value(fields[0]))
		b, okB := c.inLimitUnit(fields[1], s.Value(fields[1]))
		if !okA || !okB || a == b {
			continue
		}
		if fields[1] == "uf_removed" && (s.Status != session.CutShort || a > b) {
			continue // more than planned is removed of a session cut short
		}
		if dry, _, ok := c.neighbourValue(s, fields[1]); fields[1] == "dry_weight" && (!ok || a != dry) {
			continue
		}
		if c.odds(s, fields, a, b) > 0 && c.odds(s, fields, b, a) == 0 {
			f := exchangedNumbers(place{field: fields[0], value: s.Value(fields[0])}, place{field: fields[1], value: s.Value(fields[1])})
			f.Severity = issue.Warning
			found = append(found, f)
		}
	}
	if len(found) == 1 {
		c.doubt(found[0], s)
	}
}

// odds counts the contradictions in a row with these two numbers.
func (c *checker) odds(s *session.Session, fields [2]session.Field, a, b float64) int {
	row := *c.known(s)
	row.Values = mapWith(mapWith(row.Values, string(fields[0]), a), string(fields[1]), b)
	n := len(row.Lengths())
	expected, most, weighed := row.FluidByWeights()
	if removed, measured := row.Values["uf_removed"]; weighed && measured && !plausible.FluidFits(removed, expected, most) {
		n++
	}
	if dry, between, _ := c.neighbourValue(s, "dry_weight"); between && fields[1] == "dry_weight" && b != dry {
		n++
	}
	return n
}

// neighbourValue is the number that the sessions held before and after a session
// both have in a column, or the only neighbour of the first or last session.
// between reports that there are two neighbours.
func (c *checker) neighbourValue(s *session.Session, field session.Field) (number float64, between, ok bool) {
	i := slices.Index(c.log.Sessions, s)
	back, on := slices.Clone(c.log.Sessions[:i]), c.log.Sessions[i+1:]
	slices.Reverse(back)
	n := 0
	for _, beside := range [][]*session.Session{back, on} {
		next := slices.IndexFunc(beside, held)
		if next < 0 {
			continue
		}
		other, good := c.inLimitUnit(field, beside[next].Value(field))
		if !good || n > 0 && other != number {
			return 0, false, false
		}
		number = other
		n++
	}
	return number, n == 2, n > 0
}
