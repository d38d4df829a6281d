package check

import (
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// numbered is a number of one row with its field, and what the limits say of it
// where it stands.
type numbered struct {
	field   session.Field
	value   session.Value
	number  float64
	verdict plausible.Verdict
}

// exchangedNumbers finds two cells of a row whose numbers stand in each other's
// place: both are wrong where they stand, and both are usual the other way
// round. A row with more such cells is shifted, not exchanged.
func (c *checker) exchangedNumbers() {
	own := c.ownRanges()
	for _, s := range c.log.Sessions {
		if !held(s) {
			continue
		}
		c.exchangedIn(s, session.SheetSessions, s.Value, own)
		for _, r := range s.Readings {
			c.exchangedIn(s, session.SheetReadings, r.Value, own)
		}
	}
}

func (c *checker) exchangedIn(s *session.Session, sheet session.Sheet, value func(session.Field) session.Value, own map[session.Field][]float64) {
	var row []numbered
	known := c.known(s)
	for _, column := range session.Columns {
		if column.Sheet != sheet {
			continue
		}
		v := value(column.Field)
		if number, ok := c.good(v); ok && v.Unit == column.Unit {
			one := numbered{field: column.Field, value: v, number: number}
			one.verdict = one.judge(known, number)
			row = append(row, one)
		}
	}
	var found [][2]numbered
	impossible := false
	for i, a := range row {
		for _, b := range row[i+1:] {
			byLimits := exchangedByLimits(known, a, b)
			if !ofOnePair(a.field, b.field) && (byLimits || exchangedByOwn(own, a, b)) {
				found = append(found, [2]numbered{a, b})
				impossible = byLimits
			}
		}
	}
	if len(found) != 1 {
		return
	}
	a, b := found[0][0], found[0][1]
	f := atValue("clin-exchanged", "these two numbers look exchanged: {} and {}", a.value, name(a.field), name(b.field))
	f.Cells = append(f.Cells, b.value.Cell)
	f.Expected = issue.T("perhaps {} and {}", b.value.Text, a.value.Text)
	if !impossible {
		f.Severity = issue.Warning
	}
	c.doubt(f, s)
}

// ofOnePair reports two fields whose order has a rule of its own.
func ofOnePair(a, b session.Field) bool {
	if slices.Contains(weightFields, a) && slices.Contains(weightFields, b) || a == "bp_systolic" && b == "bp_diastolic" {
		return true
	}
	return slices.ContainsFunc(pairs, func(p struct{ systolic, diastolic session.Field }) bool {
		return a == p.systolic && b == p.diastolic
	})
}

// judge is what the limits say of another number in the place of this one.
func (n numbered) judge(known *plausible.Session, number float64) plausible.Verdict {
	limit, ok := known.LimitOf(string(n.field))
	scale, fits := factor(n.field, n.value.Unit, limit)
	if !ok || !fits {
		return plausible.NearlyUsual // neither right nor wrong
	}
	_, verdict := known.Judge(string(n.field), number*scale)
	return verdict
}

// exchangedByLimits reports two numbers outside their usual limits, one of
// them impossible, that are usual in each other's place.
func exchangedByLimits(known *plausible.Session, a, b numbered) bool {
	return min(a.verdict, b.verdict) >= plausible.Unusual && max(a.verdict, b.verdict) == plausible.Impossible &&
		a.judge(known, b.number) == plausible.Usual && b.judge(known, a.number) == plausible.Usual
}

// ownRanges are the numbers of each field over the log, in order.
func (c *checker) ownRanges() map[session.Field][]float64 {
	own := map[session.Field][]float64{}
	add := func(values map[session.Field]session.Value) {
		for field, v := range values {
			if number, ok := c.good(v); ok {
				own[field] = append(own[field], number)
			}
		}
	}
	for _, s := range c.log.Sessions {
		if held(s) {
			add(s.Values)
		}
	}
	for _, numbers := range own {
		slices.Sort(numbers)
	}
	return own
}

// exchangedByOwn reports two numbers of one unit, each outside what the person
// has in that column and within what the person has in the other, where the
// two columns are well apart. Pressures and pulses vary too much for that.
func exchangedByOwn(own map[session.Field][]float64, a, b numbered) bool {
	const least, apart = 5, 1.2
	if a.value.Unit != b.value.Unit || a.value.Unit == "mm[Hg]" || a.value.Unit == "/min" {
		return false
	}
	others := func(e numbered) (low, high float64) {
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
		a, b = b, a // a stands where the small numbers belong
	}
	lowA, highA := others(a)
	lowB, highB := others(b)
	return lowA > 0 && lowB >= apart*highA && b.number >= lowA && b.number <= highA && a.number >= lowB && a.number <= highB
}
