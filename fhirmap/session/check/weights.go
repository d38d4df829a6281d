package check

import (
	"math"
	"slices"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// weighing is one plausible weight of the log.
type weighing struct {
	session int // index into the log's sessions
	kg      float64
	value   session.Value
}

// weightFields are the columns that hold the person's weight.
var weightFields = []session.Field{"weight_before", "weight_after"}

const (
	// neighbours is how many weights on either side a weight is compared
	// with; a person's weight drifts over a year.
	neighbours = 6
	// fewest is the least number of other weights that make a comparison.
	fewest = 3
	// farOff is a difference of body weight that no person has between
	// sessions of the same weeks (common practice).
	farOff = 0.25
	// closeBy is how close to the other weights a suggestion must come: a
	// gain between sessions and some more.
	closeBy = 0.08
)

// weigh gathers the weights that are possible at all.
func (c *checker) weigh() {
	for i, s := range c.log.Sessions {
		limit, _ := c.around(s).LimitOf("weight_before")
		for _, field := range weightFields {
			v := s.Value(field)
			if kg, ok := c.good(v); ok && !limit.Impossible(kg) {
				c.weighed = append(c.weighed, weighing{i, kg, v})
			}
		}
	}
}

// usual is the median of the weights around a session without its own; ok is
// false when there are too few.
func (c *checker) usual(i int) (kg float64, ok bool) {
	from, _ := slices.BinarySearchFunc(c.weighed, i, func(w weighing, i int) int { return w.session - i })
	to := from
	for to < len(c.weighed) && c.weighed[to].session == i {
		to++
	}
	var near []float64
	for _, w := range c.weighed[max(0, from-neighbours):from] {
		near = append(near, w.kg)
	}
	for _, w := range c.weighed[to:min(len(c.weighed), to+neighbours)] {
		near = append(near, w.kg)
	}
	if len(near) < fewest {
		return 0, false
	}
	return median(near), true
}

func median(values []float64) float64 { return calc.Median(values) }

// dryWeightOf is the dry weight that holds in a session, unless it is itself
// in doubt.
func (c *checker) dryWeightOf(s *session.Session) (kg float64, ok bool) {
	if kg, ok := c.good(s.Value("dry_weight")); ok {
		return kg, true
	}
	if !s.Date.OK() {
		return 0, false
	}
	p, ok := c.log.About.PrescriptionFor(s)
	if !ok {
		return 0, false
	}
	return c.good(p.Values["dry_weight"])
}

// weights looks for slips in the weights of a session by comparison with the
// other weights and the dry weight, then compares with the limits.
func (c *checker) weights(i int, s *session.Session) {
	usual, known := c.usual(i)
	if kg, ok := c.good(s.Value("dry_weight")); ok && known && far(kg, usual) {
		if others, alone := c.dryWeightAlone(s, usual); alone {
			c.weightSlip(s, "dry_weight", s.Value("dry_weight"), kg, others)
		}
	}
	dry, prescribed := c.dryWeightOf(s)
	for _, field := range []session.Field{"weight_before", "weight_after", "dry_weight"} {
		v := s.Value(field)
		kg, ok := c.good(v)
		switch {
		case !ok:
		case known && far(kg, usual) && !(field != "dry_weight" && prescribed && !far(kg, dry)):
			c.weightSlip(s, field, v, kg, usual)
		case field != "dry_weight" && prescribed && far(kg, dry) && (!known || far(usual, dry)):
			c.weightSlip(s, field, v, kg, dry)
		}
	}
	if !known {
		usual, known = dry, prescribed
	}
	c.swappedWeights(s, usual, known)
}

// dryWeightAlone reports a session whose dry weight is the one in doubt: its own
// weights, and the dry weight of most other sessions or the prescription, are
// near the usual weight. others is that dry weight.
func (c *checker) dryWeightAlone(s *session.Session, usual float64) (others float64, alone bool) {
	dry := c.valuesOf(c.log.Sessions, "dry_weight", s)
	if p, ok := c.log.About.PrescriptionFor(s); ok && s.Date.OK() {
		if kg, good := c.good(p.Values["dry_weight"]); good {
			dry = append(dry, kg)
		}
	}
	for _, field := range weightFields {
		if kg, ok := c.good(s.Value(field)); ok && far(kg, usual) {
			return 0, false
		}
	}
	if len(dry) == 0 {
		return 0, false
	}
	return median(dry), !far(median(dry), usual)
}

func far(kg, usual float64) bool { return math.Abs(kg-usual) > farOff*usual }

// weightSlip reports a weight that cannot belong to the person whose other
// weights are known.
func (c *checker) weightSlip(s *session.Session, field session.Field, v session.Value, kg, usual float64) {
	f, _ := farWeight("the {} is far from the other weights in this log", v, kg, usual, name(field))
	c.doubt(f, s)
}

// farWeight is the finding of a weight far from the usual one, and whether a slip
// explains it.
func farWeight(details string, v session.Value, kg, usual float64, args ...any) (f issue.Finding, explained bool) {
	f = atValue("clin-weight-far", details, v, args...)
	f.Expected = issue.T("a weight near {}", quantity(short(roundFor(usual)), "kg"))
	rule, meant := weightMeant(v, kg, usual)
	if meant != "" {
		f = atValue(rule, details, v, args...)
		f.Details = f.Details.And(issue.T(slipWords[rule]))
		f.Expected = issue.T("perhaps {}", quantity(meant, "kg"))
	}
	f.Severity = issue.Error
	return f, meant != ""
}

// weightMeant is the slip whose correction is closest to the usual weight.
func weightMeant(v session.Value, kg, usual float64) (rule, meant string) {
	best := closeBy
	slips := append([]slip{{rule: "clin-pounds", factor: kgPerPound}, {rule: "clin-stones", factor: kgPerStone}}, decimalSlips...)
	if foreignUnit(v) {
		slips = append(slips, slip{rule: "clin-unit", factor: 1 / kgPerPound})
	}
	for _, try := range slips {
		value := kg * try.factor
		if d := math.Abs(value-usual) / usual; d < best {
			best, rule, meant = d, try.rule, try.meant(value)
		}
	}
	return rule, meant
}

// dryWeight compares the dry weight of a prescription with the limits and with
// the weights of its time, or all where these are few. It is the one in doubt
// when it is far from them, but for weights that are all in another unit.
func (c *checker) dryWeight(p session.Prescription) {
	v := p.Values["dry_weight"]
	kg, ok := c.good(v)
	if !ok {
		return
	}
	var all, its []float64
	for _, w := range c.weighed {
		all = append(all, w.kg)
		if now, _ := c.log.About.PrescriptionFor(c.log.Sessions[w.session]); now.ValidFrom.Cell == p.ValidFrom.Cell {
			its = append(its, w.kg)
		}
	}
	if len(its) >= fewest {
		all = its
	}
	if len(all) < fewest || !far(kg, median(all)) {
		c.limit(nil, "dry_weight", v)
		return
	}
	usual := median(all)
	f, explained := farWeight("the prescribed dry weight is far from the weights in this log", v, kg, usual)
	if text, found := exchangedDigits(v, func(meant float64) bool { return within(meant, usual, closeBy) }); found && !explained {
		f.Details = f.Details.And(issue.T("two digits may be exchanged"))
		f.Expected = issue.T("perhaps {}", quantity(text, "kg"))
	} else if _, weights := weightMeant(session.Value{}, usual, kg); weights != "" && !explained {
		c.limit(nil, "dry_weight", v)
		return
	}
	c.doubt(f, nil)
}

// swappedWeights finds a session that ended heavier than it began although
// fluid was removed. usual is what the person weighs, if that is known: of two
// weights, the one that is not near it is the one to mend.
func (c *checker) swappedWeights(s *session.Session, usual float64, known bool) {
	before, okBefore := c.good(s.Value("weight_before"))
	after, okAfter := c.good(s.Value("weight_after"))
	removed, measured := c.good(s.Value("uf_removed"))
	expected, room, weighed := c.known(s).FluidByWeights()
	fits := measured && weighed && plausible.FluidFits(removed, expected, room) // what was given explains it
	if !okBefore || !okAfter || after-before <= plausible.Unexplained || !held(s) || fits {
		return
	}
	f := atValue("clin-weights-swapped", "the weight after is higher than the weight before", s.Value("weight_before"))
	f.Cells = append(f.Cells, s.Value("weight_after").Cell)
	intake, _ := c.intake(s)
	if g, found := c.weightOff(s); found {
		c.suspect[g.Cells[0]] = true
		c.add(g, s)
		return
	}
	if c.fitSwapped(s) {
		f.Details = f.Details.And(issue.T("the other way round they would fit the fluid removed"))
		f.Expected = issue.T("perhaps {} before and {} after", s.Value("weight_after").Text, s.Value("weight_before").Text)
		f.Severity = issue.Error
		c.doubt(f, s)
		return
	}
	if g, found := c.weightDigits(s); found {
		g.Cells = append(g.Cells, f.Cells...)
		c.doubt(g, s)
		return
	}
	if after-before <= intake+plausible.Unexplained && !(measured && removed > plausible.Unexplained) {
		return // what was drunk and infused explains it
	}
	if off, one := outlier(before, after, usual); known && one {
		f = atValue("clin-weight-far", "the {} is far from the other weights in this log", s.Value(off), name(off))
		f.Expected = issue.T("a weight near {}", quantity(short(roundFor(usual)), "kg"))
	}
	c.doubt(f, s)
}

// outlier returns which of the two weights of a session is not close to the
// person's usual one; one is false when both are, or neither is.
func outlier(before, after, usual float64) (field session.Field, one bool) {
	off := func(kg float64) bool { return math.Abs(kg-usual) > closeBy*usual }
	if off(before) {
		return "weight_before", !off(after)
	}
	return "weight_after", off(after)
}

// gain compares a session's weight before with the weight after the last one
// that has some.
func (c *checker) gain(i int, s *session.Session) {
	before, ok := c.good(s.Value("weight_before"))
	last := i - 1
	for last >= 0 && !c.log.Sessions[last].Value("weight_after").OK() {
		last--
	}
	if !ok || last < 0 || !s.Start.OK() || !c.log.Sessions[last].End.OK() {
		return
	}
	previous := c.log.Sessions[last]
	after, ok := c.good(previous.Value("weight_after"))
	days := s.Start.Time.Sub(previous.End.Time).Hours() / 24
	if !ok || days > longestGap {
		return
	}
	percent, err := calc.WeightGainPercent(before, after)
	around := c.around(s)
	around.Days = days
	limit, _ := around.LimitOf("interdialytic_weight_gain_percent")
	if err != nil || !limit.Unusual(percent) {
		return
	}
	f := atValue("clin-weight-gain", "the weight since the last session has changed more than is usual", s.Value("weight_before"))
	f.Cells = append(f.Cells, previous.Value("weight_after").Cell)
	f.Expected = issue.T("a gain of {} to {} % of the weight after the last session", short(limit.SoftLow), short(limit.SoftHigh))
	c.add(f, s)
}

// longestGap, in days: after a longer one the weight gain is not compared.
const longestGap = 4

// ownMean finds a weight more than three standard deviations from the mean of
// the person's other weights (Chan & Raffa 2017), and more than a share of it
// so that the odd heavy weekend of a steady person is none.
func (c *checker) ownMean() {
	const least, share = 10, 0.05
	sums := map[session.Field][3]float64{}
	for _, field := range weightFields {
		for _, s := range c.log.Sessions {
			if kg, ok := c.good(s.Value(field)); ok {
				t := sums[field]
				sums[field] = [3]float64{t[0] + 1, t[1] + kg, t[2] + kg*kg}
			}
		}
	}
	for _, s := range c.log.Sessions {
		for _, field := range weightFields {
			v := s.Value(field)
			kg, ok := c.good(v)
			n := sums[field][0] - 1
			if !ok || n < least {
				continue
			}
			mean := (sums[field][1] - kg) / n
			variance := max(0, (sums[field][2]-kg*kg)/n-mean*mean) * n / (n - 1)
			off := math.Abs(kg - mean)
			if off > 3*math.Sqrt(variance) && off > share*mean {
				f := atValue("clin-weight-far", "the {} is far from your usual one", v, name(field))
				f.Expected = issue.T("a weight near {}", quantity(short(roundFor(mean)), "kg"))
				c.add(f, s)
			}
		}
	}
}
