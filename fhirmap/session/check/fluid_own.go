package check

import (
	"cmp"
	"math"
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// removedByOthers is the fluid removed that two of goal, rates and last reading give
// and the weights allow, as the slip of the pen nearest to it; "" where they differ.
func (c *checker) removedByOthers(s *session.Session, removed, byWeights float64, room plausible.Margin) string {
	const least, share = 0.15, 0.1 // L, and of the fluid removed (common practice)
	litres, _ := c.byOthers(s)
	known := slices.DeleteFunc(litres[:], math.IsNaN)
	if len(known) < 2 {
		return ""
	}
	meant := median(known)
	close := max(least, share*meant)
	if slices.Max(known)-slices.Min(known) > 2*close || math.Abs(removed-meant) <= close || !plausible.FluidFits(meant, byWeights, room) {
		return ""
	}
	v := s.Value("uf_removed")
	text, _ := exchangedDigits(v, func(number float64) bool { return math.Abs(number-meant) <= close/2 })
	return cmp.Or(text, slipNear(v, meant, close/2), short(roundFor(meant)))
}

// ownFluid finds an amount of fluid removed that is further from what two others
// lead to expect than in the person's other sessions. Less than that is removed
// of one whose rate was lowered at last, so then two digits have to be exchanged.
func (c *checker) ownFluid() {
	const nearlyAll, spreads, share, steps = 0.85, 3, 0.1, 2 // common practice
	apart := [3][]float64{}
	expected := map[*session.Session][3]float64{}
	for _, s := range c.log.Sessions {
		removed, ok := c.good(s.Value("uf_removed"))
		if !ok || s.Status != session.Done {
			continue
		}
		litres, _ := c.byOthers(s)
		expected[s] = litres
		for i, one := range litres {
			if !math.IsNaN(one) {
				apart[i] = append(apart[i], removed-one)
			}
		}
	}
	goals := measured(apart[0], nearlyAll)
	for _, s := range c.log.Sessions {
		litres, known := expected[s]
		if known && goals.n > 2*fewest {
			c.goalSlip(s, litres, goals)
		}
		v := s.Value("uf_removed")
		var meant []float64
		room := 0.0
		for i, one := range litres {
			usual := measured(apart[i], nearlyAll)
			if math.IsNaN(one) || usual.n <= 2*fewest {
				continue
			}
			room = max(room, spreads*usual.spread, share*one, steps*lastDigit([]session.Value{v}))
			meant = append(meant, one+usual.mid)
		}
		if !known || len(meant) < 2 {
			continue
		}
		litresMeant, removed := median(meant), v.Decimal.Float64()
		agree := !slices.ContainsFunc(meant, func(one float64) bool { return math.Abs(one-litresMeant) > room/2 })
		text, exchanged := exchangedDigits(v, func(number float64) bool { return math.Abs(number-litresMeant) <= room/2 })
		if !agree || removed <= litresMeant+room && !(exchanged && removed < litresMeant-room) {
			continue
		}
		f := atValue("clin-uf-rate", "the fluid removed does not fit the UF rate and the time", v)
		f.Expected = issue.T("about {}", quantity(short(hundredths(litresMeant)), "L"))
		if exchanged {
			f.Expected = issue.T("perhaps {}", quantity(text, "L"))
		}
		_, cells := c.byOthers(s)
		c.blameCell(s, f, cells)
	}
}

// seldom reports a UF goal that at most half of the sessions have.
func (c *checker) seldom(goal session.Value) bool {
	all := c.valuesOf(c.log.Sessions, "uf_goal", nil)
	return 2*len(slices.DeleteFunc(slices.Clone(all), func(one float64) bool { return one != goal.Decimal.Float64() })) <= len(all)
}

// heldBefore is the session held before one, nil for the first.
func (c *checker) heldBefore(s *session.Session) *session.Session {
	for _, other := range slices.Backward(c.log.Sessions[:slices.Index(c.log.Sessions, s)]) {
		if held(other) {
			return other
		}
	}
	return nil
}

// goalSlip finds a UF goal that one slip of the pen makes of the fluid removed, or that
// is copied from the row above, in a session that ran as planned: UF rate and time, and
// the weights, confirm that fluid, and nothing happened. A goal that was not reached is mostly no such number.
func (c *checker) goalSlip(s *session.Session, litres [3]float64, usual measure) {
	const spreads, rated, share, full, least, display = 3, 0.1, 0.2, 0.9, 0.25, 0.1 // common practice
	goal, v := s.Value("uf_goal"), s.Value("uf_removed")
	removed, good := c.good(v)
	byWeights, most, weighed := c.known(s).FluidByWeights()
	p, _ := c.log.About.PrescriptionFor(s)
	planned, prescribed := c.good(p.DurationMin)
	minutes, timed := c.minutes(s)
	meant := removed - usual.mid
	room := max(spreads*usual.spread, min(display, lastDigit([]session.Value{goal}))) // a workbook keeps no zeros at the end
	off := math.Abs(litres[0] - meant)
	if !good || s.Reason.OK() || prescribed && timed && minutes < full*planned ||
		!weighed || !plausible.FluidFits(removed, byWeights, most) || !within(litres[1], removed, rated) || !(off > max(least, room, share*meant)) {
		return
	}
	text := meantBy(goal, litres[0], 1, func(number float64) bool { return math.Abs(number-meant) <= room })
	if above := c.heldBefore(s); text == "" && len(s.Events) == 0 && above != nil && above.Value("uf_goal").Text == goal.Text && c.seldom(goal) {
		if own, ok := c.good(above.Value("uf_removed")); ok && math.Abs(own-usual.mid-litres[0]) <= room {
			text = short(math.Round(removed/display) * display) // that of the row above
		}
	}
	if text == "" && len(s.Events) == 0 {
		text = slipNear(goal, meant, room)
	}
	if text == "" {
		return
	}
	f := atValue("clin-uf-rate", "the UF goal does not fit the fluid removed, the UF rate and the weights", goal)
	f.Expected, f.Mend = issue.T("perhaps {}", quantity(text, "L")), issue.T("look at the number; if it is right, leave it")
	c.notUnusual(goal.Cell)
	_, cells := c.byOthers(s)
	c.blameCell(s, f, append(cells, v.Cell))
}
