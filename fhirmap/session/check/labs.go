package check

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// labRow is a result with the session it belongs to.
type labRow struct {
	session *session.Session
	lab     *session.Lab
}

// labs compares the laboratory results of the log with each other.
func (c *checker) labs() {
	rows := map[string][]labRow{}
	for _, s := range c.log.Sessions {
		c.twoResults(s)
		for _, l := range s.Labs {
			if _, ok := c.good(l.Value); ok {
				key := l.Test.Text + " " + l.When.Text
				rows[key] = append(rows[key], labRow{s, l})
			}
		}
	}
	for _, key := range slices.Sorted(maps.Keys(rows)) {
		all := rows[key]
		values := make([]session.Value, len(all))
		for i, r := range all {
			values[i] = r.lab.Value
		}
		c.series(values, func(i int) *session.Session { return all[i].session })
	}
	c.copiedSamples()
}

// twoResults finds a test with two results from one sample that are not the same
// amount.
func (c *checker) twoResults(s *session.Session) {
	for i, l := range s.Labs {
		for _, first := range s.Labs[:i] {
			timed := l.Drawn.OK() || l.When.Text == "before" || l.When.Text == "after"
			if !timed || first.Test.Text != l.Test.Text || first.When.Text != l.When.Text || !first.Drawn.Time.Equal(l.Drawn.Time) ||
				first.Laboratory.Text != l.Laboratory.Text || !c.otherAmount(session.Field(l.Test.Text), first.Value, l.Value) {
				continue
			}
			f := atValue("clin-lab-twice", "there are two results of this test from one sample", l.Value)
			f.Value, f.Expected = l.Value.Text+" "+spoken(l.Value.Unit), issue.T("one result; the other is {}", quantity(first.Value.Text, first.Value.Unit))
			f.Cells = append(f.Cells, first.Value.Cell)
			c.doubt(f, s)
		}
	}
}

// otherAmount is whether two results differ, in units of their own by more than
// rounding explains.
func (c *checker) otherAmount(test session.Field, a, b session.Value) bool {
	const rounded = 0.05 // of the result (common practice)
	one, ok := c.good(a)
	two, both := c.good(b)
	if a.Unit == b.Unit {
		return ok && both && one != two
	}
	limit, _ := profiles.LimitOf(string(test))
	perA, fits := factor(test, a.Unit, limit)
	perB, fit := factor(test, b.Unit, limit)
	return ok && both && fits && fit && !within(one*perA, two*perB, rounded)
}

// resultsSlipped finds results in the row of another test, from a line omitted or
// added in copying: they adjoin a row without a result, each fits the test one
// row on, and several do not fit their own.
func (c *checker) resultsSlipped() {
	const several = 3
	var rows []labRow
	for _, s := range c.log.Sessions {
		for _, l := range s.Labs {
			rows = append(rows, labRow{session: s, lab: l})
		}
	}
	slices.SortStableFunc(rows, func(a, b labRow) int { return cmp.Compare(a.lab.Cell.Row, b.lab.Cell.Row) })
	for gap, row := range rows {
		if row.lab.Value.OK() || row.lab.Words.OK() {
			continue
		}
		if n, misfits := c.slippedTo(rows, gap, -1); misfits >= several {
			c.slippedResults(rows[gap-n:gap], fitsBelow)
		}
		if n, misfits := c.slippedTo(rows, gap, 1); misfits >= several {
			c.slippedResults(rows[gap+1:gap+n+1], fitsAbove)
		}
	}
}

// slippedTo is how many results beside a gap, as far as the last that does not
// fit its own test, fit the test of the row nearer to it; misfits are those that
// do not fit their own, 0 if none of these is impossible there.
func (c *checker) slippedTo(rows []labRow, gap, step int) (n, misfits int) {
	worst := plausible.Usual
	for i := gap + step; i >= 0 && i < len(rows); i += step {
		nearer, l := rows[i-step], rows[i].lab
		number, ok := c.good(l.Value)
		if !ok || l.Cell.Row != nearer.lab.Cell.Row+step || c.judgeResult(nearer, number) > plausible.NearlyUsual {
			break
		}
		if own := c.judgeResult(rows[i], number); own >= plausible.Unusual {
			n, misfits, worst = step*(i-gap), misfits+1, max(worst, own)
		}
	}
	if worst < plausible.Impossible {
		return n, 0
	}
	return n, misfits
}

// judgeResult compares a number, as the result of a row, with its limits.
func (c *checker) judgeResult(row labRow, number float64) plausible.Verdict {
	p, known := resultIn(row.lab)
	if !known {
		return plausible.NearlyUsual // neither right nor wrong
	}
	return p.judge(c.known(row.session), number)
}

// slippedResults reports the results that slipped, once, and leaves them out.
func (c *checker) slippedResults(rows []labRow, details string) {
	f := atValue("month-column-slipped", details, rows[0].lab.Value)
	f.Severity, f.Mend = issue.Error, issue.T("compare the results with the laboratory's report, line by line")
	for _, row := range rows[1:] {
		f.Cells = append(f.Cells, row.lab.Value.Cell)
		row.session.Broken = true
	}
	c.doubt(f, rows[0].session)
}

// couldBe is whether a number could be meant for a result, by the other sample of its
// pair and by the person's others of the test.
func (c *checker) couldBe(s *session.Session, l *session.Lab) func(float64) bool {
	const near = 0.5 // of the result (common practice)
	pair, own := pairWith(s, l), c.ownOf(s, l)
	limit, _ := profiles.LimitOf(l.Test.Text)
	scale, fits := factor(session.Field(l.Test.Text), l.Value.Unit, limit)
	if len(own) == 0 || !fits {
		return pair
	}
	return func(number float64) bool {
		return (pair == nil || pair(number)) && within(number*scale, median(own), near)
	}
}

// resultChanges are how far a result falls or rises between the person's samples of a
// log, as a ratio; what is not here may change more, or falls with urea (memory, wider
// than results of one person scatter within weeks; iron that is given, and inflammation,
// raise ferritin).
var resultChanges = map[session.Field]struct{ falls, rises float64 }{
	"haemoglobin": {1.35, 1.35}, "albumin": {1.4, 1.4}, "calcium": {1.25, 1.25}, "bicarbonate": {1.4, 1.4},
	"sodium": {1.09, 1.09}, "ferritin": {4, 20}, "pth": {5, 5}, "beta2-microglobulin": {2, 2},
}

// ownResult compares a possible result with the person's others of the same test
// and phase. Results change, so one that is usual for people is reported only if it is
// further from them than results change, or a known slip, of the unit or the decimal
// point, brings it back among them. Of two results, the one further from the middle of what is usual is in doubt.
func (c *checker) ownResult(s *session.Session, l *session.Lab) bool {
	const far, steady = 0.5, 1.4 // of the usual range, and of the result, as a ratio (common practice)
	p, known := resultIn(l)
	v := l.Value
	limit, limited := c.known(s).LimitOf(string(p.limited))
	number, ok := c.inLimitUnit(p.field, v)
	others := c.otherResults(s, p)
	if !known || !limited || !ok || number <= 0 || len(others) == 0 {
		return false
	}
	verdict := p.judge(c.known(s), v.Decimal.Float64())
	usual := median(others)
	off := func(a, b float64) float64 { return math.Abs(math.Log(a/b)) / math.Log(limit.SoftHigh/limit.SoftLow) }
	middle := math.Sqrt(limit.SoftLow * limit.SoftHigh)
	change, limits := resultChanges[p.field]
	beyond := limits && len(others) > 1 && (number*change.falls <= slices.Min(others) || number >= change.rises*slices.Max(others) || change.rises <= steady && c.digitsLikeOwn(s, v) != "")
	if verdict == plausible.Impossible || !(off(number, usual) >= far || beyond) || len(others) == 1 && off(usual, middle) > off(number, middle) {
		return false
	}
	f := atValue("clin-lab-far", "the result is far from your other results of this test", v)
	f.Value = v.Text + " " + spoken(v.Unit)
	scale := number / v.Decimal.Float64()
	if meant, otherUnit := c.resultMeant(s, l, usual, verdict > plausible.Usual || len(others) >= fewest); !meant.IsZero() {
		f.Expected = issue.T("perhaps {}", meant)
		if otherUnit && v.UnitText.OK() {
			f.Cells = []issue.Cell{v.UnitText.Cell, v.Cell}
		}
	} else if verdict == plausible.Usual && !beyond {
		return false
	} else if text := cmp.Or(c.digitsLikeOwn(s, v), slipNear(v, usual/scale, nearResult*usual/scale)); text != "" {
		f.Expected = issue.T("perhaps {}", quantity(text, v.Unit))
	} else {
		f.Expected = issue.T("about {}", quantity(short(roundFor(usual/scale)), v.Unit))
	}
	c.doubt(f, s)
	return true
}

// nearResult is how near the person's other results a slip has to lead, as a share of
// them (common practice).
const nearResult = 0.25

// resultMeant is what a result may have meant by the person's others of the test, of
// which usual is the median in the unit of its limits: the number in another unit, that
// of all others or, if sure, any far from the one written, or with the decimal point
// elsewhere.
func (c *checker) resultMeant(s *session.Session, l *session.Lab, usual float64, sure bool) (meant issue.Text, otherUnit bool) {
	const far = 2 // times (common practice)
	field, v := session.Field(l.Test.Text), l.Value
	limit, _ := profiles.LimitOf(string(field))
	scale, _ := factor(field, v.Unit, limit)
	number := v.Decimal.Float64()
	for _, unit := range fitting(field, limit) {
		other, _ := factor(field, unit, limit)
		if within(number*other, usual, nearResult) && (sure && max(other/scale, scale/other) > far || c.hasUnit(s, l, unit)) {
			return quantity(v.Text, unit), true
		}
	}
	for _, slip := range decimalSlips {
		if within(number*slip.factor*scale, usual, nearResult) {
			return quantity(short(number*slip.factor), v.Unit), false
		}
	}
	return meant, false
}

// hasUnit reports whether all other results of a test are in a unit.
func (c *checker) hasUnit(s *session.Session, like *session.Lab, unit string) bool {
	for _, other := range c.log.Sessions {
		for _, l := range other.Labs {
			if other != s && l.Test.Text == like.Test.Text && l.Value.OK() && l.Value.Unit != unit {
				return false
			}
		}
	}
	return true
}

// copiedSamples finds a session whose results are all those of an earlier one.
// A single result agrees now and then.
func (c *checker) copiedSamples() {
	const results, digits = 2, 5
	c.again("all results of this session are the same as those of an earlier one", func(s *session.Session) (key string, cell issue.Cell) {
		var parts []string
		written := 0
		for _, l := range s.Labs {
			if l.Value.OK() {
				parts = append(parts, fmt.Sprint(l.Test.Text, l.When.Text, l.Value.Decimal, l.Value.Unit))
				written += len(strings.ReplaceAll(l.Value.Decimal.String(), ".", ""))
			}
		}
		if len(parts) < results || written < digits {
			return "", cell
		}
		slices.Sort(parts)
		return strings.Join(parts, ";"), s.Labs[0].Cell
	})
}

// copiedDown finds a weight or a blood pressure that is the same in many
// sessions in a row, as when one cell is copied down. Numbers that end in 0 or
// 5 repeat sooner, and weights sooner than pressures; a pulse may be paced.
func (c *checker) copiedDown() {
	runs := map[session.Field]int{
		"weight_before": 8, "weight_after": 8,
		"bp_before_systolic": 6, "bp_before_diastolic": 6, "bp_after_systolic": 6, "bp_after_diastolic": 6,
	}
	const rounded = 12
	for _, field := range measuredFields {
		same, last := 0, math.NaN()
		var first issue.Cell
		for _, s := range c.log.Sessions {
			v := s.Value(field)
			number, ok := c.good(v)
			if runs[field] == 0 || !ok || !held(s) {
				continue
			}
			if number != last {
				same, last, first = 0, number, v.Cell
			}
			same++
			enough := runs[field]
			if text := v.Decimal.String(); strings.ContainsAny(text[len(text)-1:], "05") {
				enough = rounded
			}
			if same == enough {
				f := atValue("month-copied", "the same value stands in many sessions in a row", v)
				f.Cells = append(f.Cells, first)
				c.add(f, s)
				break
			}
		}
	}
}
