package check

import (
	"math"
	"slices"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// ureaOf is a urea or BUN result in mmol/L of urea.
func (c *checker) ureaOf(l *session.Lab) (float64, bool) {
	v, ok := c.good(l.Value)
	if !ok {
		return 0, false
	}
	switch l.Test.Text + " " + l.Value.Unit {
	case "urea mmol/L", "bun mmol/L":
		return v, true
	case "urea mg/dL":
		return calc.UreaFromMgPerDL(v), true
	case "bun mg/dL":
		return calc.UreaFromBUN(v), true
	default:
		return 0, false
	}
}

// ureaLab is the urea or BUN result of a phase.
func (c *checker) ureaLab(s *session.Session, when string) *session.Lab {
	for _, l := range s.Labs {
		if _, ok := c.ureaOf(l); ok && l.When.Text == when {
			return l
		}
	}
	return nil
}

// pairWith is whether a number could be meant for one sample of a pair, so that
// no suggestion has urea rise; nil where there is no other in the same unit.
func pairWith(s *session.Session, one *session.Lab) func(float64) bool {
	for _, l := range s.Labs {
		if l == one || !l.Value.OK() || l.Test.Text != one.Test.Text || l.Value.Unit != one.Value.Unit || l.Test.Text != "urea" && l.Test.Text != "bun" {
			continue
		}
		other := l.Value.Decimal.Float64()
		switch one.When.Text + " " + l.When.Text {
		case "before after":
			return func(v float64) bool { return v > other }
		case "after before":
			return func(v float64) bool { return v < other }
		}
	}
	return nil
}

// words are the rule and the text of each comparison.
var words = map[string]struct{ rule, details string }{
	plausible.UreaRises:      {"clin-urea-rises", "urea after dialysis is not below urea before; the samples may be swapped"},
	plausible.UreaRatio:      {"clin-urea-ratio", "urea fell less or more from before to after than is usual"},
	plausible.UreaClearance:  {"clin-urea-clearance", "urea fell by another amount than flows and time lead to expect"},
	plausible.UreaGeneration: {"clin-urea-generation", "the two ureas would mean an unusual amount of protein eaten"},
}

// disagreements reports values of a session that contradict each other, a pair of
// samples once.
func (c *checker) disagreements(s *session.Session) {
	if !held(s) {
		return
	}
	found := c.known(s).Disagreements()
	if len(found) == 0 || found[0].Name != plausible.UreaRises {
		c.rises(s)
	}
	switch {
	case c.twoKinds(s, found):
	case len(found) == 0:
		if !c.unlikeOwnPairs(s) {
			c.solutes(s)
		}
	default:
		c.pairInDoubt(s, found[0], found[len(found)-1].Name == plausible.UreaGeneration)
	}
}

// ureaKind is what a urea result is given as; BUN and urea are the same in mmol/L.
func ureaKind(l *session.Lab) string {
	if l.Value.Unit == "mmol/L" {
		return l.Value.Unit
	}
	return l.Test.Text + " " + l.Value.Unit
}

// twoKinds reports a pair of ureas of which one is BUN or in another unit: a
// laboratory gives both in one (common practice), and with a wrong name the dose
// comes out half or twice as high. The kind that other sessions have is right, else
// the unit with which nothing contradicts the pair, else that of the other results.
func (c *checker) twoKinds(s *session.Session, found []plausible.Disagreement) bool {
	before, after := c.ureaLab(s, "before"), c.ureaLab(s, "after")
	if before == nil || after == nil || ureaKind(before) == ureaKind(after) {
		return false
	}
	likely := func(one, other *session.Lab) (n int) {
		for _, o := range c.log.Sessions {
			for _, l := range o.Labs {
				if _, ok := c.ureaOf(l); ok && o != s && ureaKind(l) == ureaKind(other) {
					n += 4
				}
			}
		}
		if c.agreesIn(s, one, other) {
			n += 2
		}
		if alone(s, one.Value, quantity(one.Value.Text, other.Value.Unit)) {
			n++
		}
		return n
	}
	first, second := after, before
	inB, inA := likely(before, after), likely(after, before)
	if inB > inA {
		first, second = before, after
	}
	rule := "clin-urea-clearance"
	if len(found) > 0 && found[0].Name == plausible.UreaRises {
		rule = "clin-urea-rises" // one of them is certainly wrong
	}
	f := atValue(rule, "the two ureas of the session are under two names or in two units", first.Value)
	f.Expected = issue.T("both results of one test in one unit")
	if first.Value.Unit != second.Value.Unit && inB != inA {
		f.Value = first.Value.Text + " " + spoken(first.Value.Unit)
		f.Expected = issue.T("perhaps {}", quantity(first.Value.Text, second.Value.Unit))
	}
	f.Cells = append(f.Cells, second.Value.Cell)
	c.add(f, s)
	return true
}

// rises reports, in one finding, the results of substances that dialysis removes
// if they are higher after than before.
func (c *checker) rises(s *session.Session) {
	const least, highest, usually = 0.25, 0.9, 0.3 // of the result before (common practice)
	var f issue.Finding
	rising := c.known(s).Rising()
	for _, after := range s.Labs {
		test := session.Field(after.Test.Text)
		i := slices.IndexFunc(s.Labs, func(l *session.Lab) bool { return l.When.Text == "before" && l.Test.Text == after.Test.Text })
		if i < 0 || after.When.Text != "after" || !slices.Contains(rising, string(test)) && !c.risesUnlikeOwn(s, s.Labs[i], after) {
			continue
		}
		before := s.Labs[i]
		from, _ := c.inLimitUnit(test, before.Value)
		to, _ := c.inLimitUnit(test, after.Value)
		if f.Rule == "" {
			f = atValue("clin-solute-rises", "the {} after dialysis is above that before; dialysis lowers it", after.Value, name(test))
			f.Expected = issue.T("less than {}", quantity(before.Value.Text, before.Value.Unit))
			bath, _ := c.inLimitUnit(test, s.Value("dialysate_"+test))
			lowered := func(v session.Value, per float64) string {
				text, _ := exchangedDigits(v, func(meant float64) bool {
					first, last := from, meant*per
					if v == before.Value {
						first, last = meant*per, to
					}
					return last >= least*first && last <= highest*first && last >= bath
				})
				return text
			}
			meantAfter := lowered(after.Value, to/after.Value.Decimal.Float64())
			own := c.ownOf(s, before)
			swapped := from >= max(bath, usually*to) && from <= highest*to && before.Value.Unit == after.Value.Unit && (len(own) == 0 && meantAfter == "" || c.nearOwn(s, before, after.Value.Text) != "")
			if text := c.nearOwn(s, before, lowered(before.Value, from/before.Value.Decimal.Float64())); text != "" {
				f.Expected = issue.T("perhaps {} before", quantity(text, before.Value.Unit))
			} else if swapped {
				f.Expected = issue.T("perhaps {} before and {} after", after.Value.Text, before.Value.Text)
			} else if meantAfter != "" {
				f.Expected = issue.T("perhaps {}", quantity(meantAfter, after.Value.Unit))
			}
			f.Cells = nil
			if text := c.beforeMeant(s, before, after); text != "" {
				f.Value, f.Expected = before.Value.Text, issue.T("perhaps {} before", quantity(text, before.Value.Unit))
				f.Cells = []issue.Cell{before.Value.Cell}
			}
		}
		f.Cells = append(f.Cells, after.Value.Cell, before.Value.Cell)
	}
	if f.Rule != "" {
		c.add(f, s)
	}
}

// beforeMeant is the result that one slip of the pen made of the one before, near the
// person's others as it is not; "" if the one after is not near them.
func (c *checker) beforeMeant(s *session.Session, before, after *session.Lab) string {
	own := c.ownOf(s, before)
	number, _ := c.inLimitUnit(session.Field(before.Test.Text), before.Value)
	if len(own) == 0 || within(number, median(own), nearResult) || c.nearOwn(s, after, after.Value.Text) == "" {
		return ""
	}
	if text := c.digitsLikeOwn(s, before.Value); text != "" {
		return text
	}
	expected := median(own) * before.Value.Decimal.Float64() / number
	return slipNear(before.Value, expected, nearResult*expected)
}

// unlikeOwnPairs finds a pair of ureas that fell by far less or more of what flows and
// time lead to expect than the person's other pairs, and as much with two digits of
// one of them exchanged. Of two pairs, the one further from what is expected is in doubt.
func (c *checker) unlikeOwnPairs(s *session.Session) (found bool) {
	const far, near = 1.4, 0.25 // common practice
	own := c.ownFactors(s)
	factor, ok := c.known(s).ClearanceFactor()
	if !ok || len(own) == 0 || factor <= far*median(own) && factor >= median(own)/far || math.Abs(math.Log(factor)) <= math.Abs(math.Log(median(own))) {
		return false
	}
	asOwn := func(k *plausible.Session) bool {
		factor, ok := k.ClearanceFactor()
		return ok && within(factor, median(own), near)
	}
	return c.ureaDigits(s, "clin-urea-clearance", "urea fell by another amount than in your other sessions, for these flows and this time", asOwn)
}

// ureaDigits reports the one of a pair of ureas that two digits exchanged make right,
// if the other one is not, and with which the pair is as wanted.
func (c *checker) ureaDigits(s *session.Session, rule, details string, wanted func(*plausible.Session) bool) (found bool) {
	before, after := c.ureaLab(s, "before"), c.ureaLab(s, "after")
	textBefore, textAfter := c.ureaMeant(s, before, wanted), c.ureaMeant(s, after, wanted)
	if (textBefore == "") == (textAfter == "") {
		return false
	}
	wrong, other := after, before
	if textBefore != "" {
		wrong, other = before, after
	}
	f := atValue(rule, details, wrong.Value)
	f.Expected = issue.T("perhaps {}", quantity(textBefore+textAfter, wrong.Value.Unit))
	f.Cells = append(f.Cells, other.Value.Cell)
	c.add(f, s)
	return true
}

// risesUnlikeOwn reports a phosphate that rises although the dialysate holds none:
// in the other sessions it is above what phosphate is added for.
func (c *checker) risesUnlikeOwn(s *session.Session, before, after *session.Lab) bool {
	const between, added = 1.05, 4.0 // of two results of one sample; mg/dL (common practice)
	from, ok := c.inLimitUnit("phosphate", before.Value)
	to, both := c.inLimitUnit("phosphate", after.Value)
	own := c.ownOf(s, before)
	return ok && both && after.Test.Text == "phosphate" && to > between*from && len(own) > 0 && slices.Min(own) > added
}

// ownOf are the results of the person's other sessions of a test and phase, in the
// unit of its limits.
func (c *checker) ownOf(s *session.Session, like *session.Lab) []float64 {
	p, _ := resultIn(like)
	return c.otherResults(s, p)
}

// nearOwn is a text for the number of a result if it is near those of the person's
// other sessions, else "".
func (c *checker) nearOwn(s *session.Session, like *session.Lab, text string) string {
	own := c.ownOf(s, like)
	meant := like.Value
	d, err := session.ParseDecimal(strings.Replace(text, ",", ".", 1), '.')
	if meant.Decimal = d; err != nil || len(own) == 0 {
		return ""
	}
	number, _ := c.inLimitUnit(session.Field(like.Test.Text), meant)
	if !within(number, median(own), nearResult) {
		return ""
	}
	return text
}

// digitsLikeOwn is the only number that two digits exchanged make of a result, and
// that is near those of the person's other sessions; "" for none.
func (c *checker) digitsLikeOwn(s *session.Session, v session.Value) string {
	if s == nil {
		return ""
	}
	i := slices.IndexFunc(s.Labs, func(l *session.Lab) bool { return l.Value.Cell == v.Cell })
	if i < 0 {
		return ""
	}
	if c.nearOthers(s, v) {
		return ""
	}
	text, _ := exchangedDigits(v, func(meant float64) bool { return c.nearOwn(s, s.Labs[i], short(meant)) != "" })
	return text
}

// nearOthers reports a result near those of the person's other sessions.
func (c *checker) nearOthers(s *session.Session, v session.Value) bool {
	return s != nil && slices.ContainsFunc(s.Labs, func(l *session.Lab) bool {
		return l.Value.Cell == v.Cell && c.nearOwn(s, l, l.Value.Text) != ""
	})
}

// pairInDoubt reports a pair of samples, and the slip that would explain it;
// amount is set if both are also unusually high or low.
func (c *checker) pairInDoubt(s *session.Session, d plausible.Disagreement, amount bool) {
	before, after := c.ureaLab(s, "before"), c.ureaLab(s, "after")
	if before == nil || after == nil || c.ureaDigits(s, words[d.Name].rule, words[d.Name].details, func(*plausible.Session) bool { return true }) {
		return
	}
	first, second := after, before
	f := atValue(words[d.Name].rule, words[d.Name].details, first.Value)
	switch d.Name {
	case plausible.UreaRises:
		f.Expected = issue.T("less than {}", before.Value.Text)
		if after.Value.Text != before.Value.Text {
			f.Expected = issue.T("perhaps {} before and {} after", after.Value.Text, before.Value.Text)
		}
		if one, other, meant, alone := c.ureaUnit(s, before, after); one != nil && len(c.known(s).Rising()) == 0 {
			if first, second = one, other; !alone {
				meant = issue.T("{}, or {}", f.Expected, meant)
			} else {
				meant = issue.T("perhaps {}", meant)
				f.Details = issue.T("urea after dialysis is not below urea before; one of them may be in another unit")
			}
			f.Cells[0], f.Value, f.Expected = first.Value.Cell, first.Value.Text, meant
		}
	case plausible.UreaRatio:
		f.Expected = issue.T("usually {} to {} of the value before", short(d.Low), short(d.High))
	case plausible.UreaClearance:
		f.Expected = issue.T("the tubes with the right labels, drawn at the right moment")
		if meant := c.otherUnit(s, before); amount && meant != "" {
			f.Expected = issue.T("perhaps {}, both of them, or tubes that were mixed up", issue.T(meant))
		}
	case plausible.UreaGeneration:
		first, second = before, after
		f = atValue(words[d.Name].rule, words[d.Name].details, first.Value)
		f.Expected = issue.T("the test and the unit that stand in the report")
		if meant := c.otherUnit(s, before); meant != "" {
			f.Expected = issue.T("perhaps {}, both of them", issue.T(meant))
		}
	}
	f.Cells = append(f.Cells, second.Value.Cell)
	c.add(f, s)
}

// ureaUnit is the one of a pair of ureas that rises which another unit explains at
// least as well as an exchange of the two; alone reports that the exchange explains it
// worse.
func (c *checker) ureaUnit(s *session.Session, before, after *session.Lab) (one, other *session.Lab, meant issue.Text, alone bool) {
	const better = 1.25 // times nearer to what is expected (common practice)
	first, _ := c.ureaOf(before)
	last, _ := c.ureaOf(after)
	least, off := c.ureasOff(s, before, after, last, first)
	for _, l := range []*session.Lab{before, after} {
		limit, _ := profiles.LimitOf(l.Test.Text)
		for _, unit := range fitting(session.Field(l.Test.Text), limit) {
			if last == first {
				continue // copied
			}
			as := *l
			as.Value.Unit = unit
			urea, ok := c.ureaOf(&as)
			pair := [2]float64{urea, last}
			if l == after {
				pair = [2]float64{first, urea}
			}
			n, apart := c.ureasOff(s, before, after, pair[0], pair[1])
			if !ok || pair[1] >= pair[0] || n > least || n == least && apart > off+math.Log(better) {
				continue
			}
			alone = n < least || apart < off-math.Log(better)
			one, other, meant = l, before, quantity(l.Value.Text, unit)
			if l == before {
				other = after
			}
		}
	}
	return one, other, meant, alone
}

// ureasOff counts what a pair of ureas, in mmol/L, would contradict, and is how far it
// would be from what flows and time lead to expect in the person's sessions and from
// the person's other results, as a sum of logarithms.
func (c *checker) ureasOff(s *session.Session, before, after *session.Lab, first, last float64) (n int, off float64) {
	const fell = 0.3 // the fall of a substance that says something (common practice)
	k := *c.known(s)
	k.Values = mapWith(mapWith(k.Values, "urea_before", first), "urea_after", last)
	n = len(k.Disagreements())
	for _, r := range removals {
		_, numbers, bath, ok := c.soluteOf(s, r)
		share, falls := fallen(numbers[0], numbers[1], bath, 1-last/first)
		if ok && falls && numbers[1] < (1-fell)*numbers[0] && (share < r.least || share > r.most) {
			n++
		}
	}
	if factor, ok := k.ClearanceFactor(); ok {
		usual := 1.0
		if own := c.ownFactors(s); len(own) > 0 {
			usual = median(own)
		}
		off = math.Abs(math.Log(factor / usual))
	}
	for i, l := range []*session.Lab{before, after} {
		if own := c.ownOf(s, l); len(own) > 0 {
			written, _ := c.ureaOf(l)
			number, _ := c.inLimitUnit(session.Field(l.Test.Text), l.Value)
			off += math.Abs(math.Log(number * [2]float64{first, last}[i] / written / median(own)))
		}
	}
	return n, off
}

// ownFactors are the clearance factors of the person's other sessions.
func (c *checker) ownFactors(s *session.Session) (own []float64) {
	for _, other := range c.log.Sessions {
		if other == s || c.ureaLab(other, "before") == nil || c.ureaLab(other, "after") == nil {
			continue
		}
		if factor, ok := c.known(other).ClearanceFactor(); ok {
			own = append(own, factor)
		}
	}
	return own
}

// ureaMeant is the only result that two digits exchanged make of a urea, that nothing
// contradicts and that is closer to those of the person's other sessions.
func (c *checker) ureaMeant(s *session.Session, l *session.Lab, wanted func(*plausible.Session) bool) string {
	own := c.ownOf(s, l)
	if len(own) == 0 || c.nearOwn(s, l, l.Value.Text) != "" {
		return ""
	}
	urea, _ := c.ureaOf(l)
	number, _ := c.inLimitUnit(session.Field(l.Test.Text), l.Value)
	text, _ := exchangedDigits(l.Value, func(meant float64) bool {
		times := meant / l.Value.Decimal.Float64()
		k := c.withUrea(s, l, urea*times)
		return math.Abs(number*times-median(own)) < math.Abs(number-median(own)) && len(k.Disagreements()) == 0 && wanted(k)
	})
	return text
}

// withUrea is what is known of a session with another urea, in mmol/L, for a result.
func (c *checker) withUrea(s *session.Session, l *session.Lab, urea float64) *plausible.Session {
	k := *c.known(s)
	k.Values = mapWith(k.Values, "urea_"+l.When.Text, urea)
	return &k
}

// agreesIn reports a result that nothing contradicts in the unit of the other
// one of its pair.
func (c *checker) agreesIn(s *session.Session, one, other *session.Lab) bool {
	meant := *one
	meant.Value.Unit = other.Value.Unit
	urea, ok := c.ureaOf(&meant)
	return ok && one.Test.Text == other.Test.Text && len(c.withUrea(s, one, urea).Disagreements()) == 0
}

// ureaUnits are the ways in which a laboratory reports urea, in mmol/L of urea.
var ureaUnits = []struct {
	test, unit, words string
	urea              float64
}{
	{"bun", "mg/dL", "BUN in mg/dL", calc.UreaFromBUN(1)},
	{"urea", "mmol/L", "urea in mmol/L", 1},
	{"urea", "mg/dL", "urea in mg/dL", calc.UreaFromMgPerDL(1)},
}

// otherUnit is the test and unit that would make an ordinary pair of the
// numbers as written.
func (c *checker) otherUnit(s *session.Session, lab *session.Lab) string {
	const least, most = 0.5, 1.7 // g/kg/d, what most people eat (common practice)
	written, _ := c.ureaOf(lab)
	for _, u := range ureaUnits {
		rate, ok := c.known(s).CatabolicRate(lab.Value.Decimal.Float64() * u.urea / written)
		if ok && rate >= least && rate <= most && (u.test != lab.Test.Text || u.unit != lab.Value.Unit) {
			return u.words
		}
	}
	return ""
}
