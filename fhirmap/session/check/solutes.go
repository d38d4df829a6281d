package check

import (
	"math"
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// removal is how far a substance falls in a session, as a share of how far urea
// falls: larger molecules, and those that come back from the cells, fall less.
type removal struct {
	field       session.Field
	least, most float64 // of nearly everybody
	apart       float64 // from the person's other pairs, as a ratio
	far         float64 // from the person's other results, as a ratio
	from        float64 // below it the fall says little, in the unit of the limits
}

// removals are the substances that dialysis removes (memory: where urea falls by about
// 70 %, creatinine falls by 60 to 65, phosphate by 50, potassium by 20 to 50).
var removals = []removal{
	{"creatinine", 0.6, 1.15, 1.25, 1.25, 0},
	{"phosphate", 0.3, 1.2, 1.7, 1.5, 4},
	{"potassium", 0.25, 1.3, 1.5, 1.35, 0},
}

// fallen is how far a substance fell from one result to another, as a share of the
// way to what the dialysate holds and of the fall of urea.
func fallen(before, after, bath, urea float64) (share float64, ok bool) {
	const above = 1.0 // more than the dialysate holds (common practice)
	return (before - after) / (before - bath) / urea, before >= bath+above
}

// fallenIn is fallen by the ureas of a session, where they fell enough to say something.
func (c *checker) fallenIn(s *session.Session, before, after, bath float64) (share float64, ok bool) {
	const least = 0.3 // common practice
	first, last := c.ureaLab(s, "before"), c.ureaLab(s, "after")
	if first == nil || last == nil {
		return 0, false
	}
	from, _ := c.ureaOf(first)
	to, _ := c.ureaOf(last)
	share, ok = fallen(before, after, bath, 1-to/from)
	return share, ok && 1-to/from >= least
}

// soluteOf is a substance's pair of results of a session, in the unit of its limits.
func (c *checker) soluteOf(s *session.Session, r removal) (pair [2]*session.Lab, numbers [2]float64, bath float64, ok bool) {
	for _, l := range s.Labs {
		i := slices.Index([]string{"before", "after"}, l.When.Text)
		number, good := c.inLimitUnit(r.field, l.Value)
		if l.Test.Text == string(r.field) && i >= 0 && good && pair[i] == nil {
			pair[i], numbers[i] = l, number
		}
	}
	if r.field == "potassium" {
		bath = 2 // mmol/L, where it is not known (common practice)
		if set, known := c.inLimitUnit("dialysate_potassium", s.Value("dialysate_potassium")); known {
			bath = set
		} else if p, prescribed := c.log.About.PrescriptionFor(s); prescribed && p.Values["dialysate_potassium"].OK() {
			bath, _ = c.inLimitUnit("dialysate_potassium", p.Values["dialysate_potassium"])
		}
	}
	return pair, numbers, bath, pair[0] != nil && pair[1] != nil && numbers[1] > 0 && numbers[0] >= r.from
}

// solutes finds substances that fell by another amount than urea in the session, or
// than in the person's other ones. Of two pairs, the one further from most people's is
// in doubt.
func (c *checker) solutes(s *session.Session) {
	for _, r := range removals {
		pair, numbers, bath, ok := c.soluteOf(s, r)
		share, known := c.fallenIn(s, numbers[0], numbers[1], bath)
		if !ok || !known || share <= 0 {
			continue
		}
		var own []float64
		for _, other := range c.log.Sessions {
			_, theirs, in, both := c.soluteOf(other, r)
			if one, fell := c.fallenIn(other, theirs[0], theirs[1], in); other != s && both && fell && one >= r.least && one <= r.most {
				own = append(own, one)
			}
		}
		outside := share < r.least || share > r.most
		if len(own) > 0 {
			usual, middle := median(own), math.Sqrt(r.least*r.most)
			off := func(a, b float64) float64 { return math.Abs(math.Log(a / b)) }
			if off(share, usual) <= math.Log(r.apart) || off(share, middle) <= off(usual, middle) && len(own) == 1 {
				continue
			}
		} else if !outside {
			continue
		}
		c.soluteInDoubt(s, r, pair, numbers, outside)
	}
}

// soluteInDoubt reports the result of a pair that is further from the person's other
// results, the one after where there are none. The pair alone decides where its fall
// is one of hardly anybody.
func (c *checker) soluteInDoubt(s *session.Session, r removal, pair [2]*session.Lab, numbers [2]float64, sure bool) {
	var off [2]float64
	for i, l := range pair {
		if own := c.ownOf(s, l); len(own) > 0 {
			off[i] = math.Abs(math.Log(numbers[i] / median(own)))
		}
	}
	wrong := 1
	if off[0] > off[1] {
		wrong = 0
	}
	if !sure && off[wrong] < math.Log(r.far) {
		return
	}
	v, other := pair[wrong].Value, pair[1-wrong].Value
	f := atValue("clin-solute-ratio", "the {} fell by another amount than urea leads to expect in this session", v, name(r.field))
	f.Expected = issue.T("a result that fits the other one, {}", quantity(other.Text, other.Unit))
	if own := c.ownOf(s, pair[wrong]); len(own) > 0 {
		expected := median(own) * v.Decimal.Float64() / numbers[wrong]
		text := c.digitsLikeOwn(s, v)
		if text == "" {
			text = slipNear(v, expected, nearResult*expected)
		}
		f.Expected = issue.T("about {}", quantity(short(roundFor(expected)), v.Unit))
		if text != "" {
			f.Expected = issue.T("perhaps {}", quantity(text, v.Unit))
		}
	}
	f.Cells = append(f.Cells, other.Cell)
	c.suspect[v.Cell] = true
	c.add(f, s)
}

// exchangedInResult finds a result of a test whose usual range is wide, or not known,
// that is at least twice or at most half the person's
// others of the test and with two digits exchanged is as they are: a result may change
// that much, and seldom by that. Of two results, the higher one is in doubt.
func (c *checker) exchangedInResult(s *session.Session, l *session.Lab) bool {
	const far, near, wide = 2, 0.1, 50 // common practice
	number, ok := c.good(l.Value)
	limit, limited := c.known(s).LimitOf(l.Test.Text)
	if limited && limit.SoftHigh < wide*limit.SoftLow {
		return false
	}
	var others []float64
	var cell issue.Cell
	for _, other := range c.log.Sessions {
		for _, one := range other.Labs {
			result, good := c.good(one.Value)
			if other != s && good && one.Test.Text == l.Test.Text && one.When.Text == l.When.Text && one.Value.Unit == l.Value.Unit {
				others, cell = append(others, result), one.Value.Cell
			}
		}
	}
	if !ok || len(others) == 0 || number <= 0 || number < far*median(others) && (number*far > median(others) || len(others) == 1) {
		return false
	}
	text, found := exchangedDigits(l.Value, func(meant float64) bool { return within(meant, median(others), near) })
	if !found {
		return false
	}
	f := atValue("clin-lab-far", "the result is far from your other results of this test", l.Value)
	f.Value, f.Expected = l.Value.Text+" "+spoken(l.Value.Unit), issue.T("perhaps {}", quantity(text, l.Value.Unit))
	f.Cells = append(f.Cells, cell)
	c.suspect[l.Value.Cell] = true
	c.add(f, s)
	return true
}
