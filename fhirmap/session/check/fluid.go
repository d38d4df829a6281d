package check

import (
	"math"
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// fluid compares what the machine removed with what the scales lost. Where the
// UF rate confirms the machine, a weight is to be looked at.
func (c *checker) fluid(s *session.Session) {
	removed, ok := c.good(s.Value("uf_removed"))
	expected, most, known := c.known(s).FluidByWeights()
	most = c.ownMargin(s, most)
	doubted := func(field session.Field) bool { return c.suspect[s.Value(field).Cell] }
	if held(s) && c.known(s).UrineOfDay() && !slices.ContainsFunc(ofSession, doubted) {
		f := atValue("clin-urine-day", "the weights fit the fluid removed only without this urine", s.Value("urine"))
		f.Cells = append(f.Cells, s.Value("uf_removed").Cell, s.Value("weight_before").Cell, s.Value("weight_after").Cell)
		f.Expected = issue.T("urine passed during the treatment, not that of the day")
		if meant := c.urineMeant(s); !meant.IsZero() {
			f.Expected = issue.T("{}, or {}", issue.T("perhaps {}", meant), f.Expected)
		}
		c.add(f, s)
	}
	if !ok || !known || !held(s) || plausible.FluidFits(removed, expected, most) {
		c.fluidSoFar(s)
		return
	}
	before, after := s.Value("weight_before"), s.Value("weight_after")
	f := atValue("clin-uf-weights", "the fluid removed and the weights do not fit together", s.Value("uf_removed"))
	f.Cells = append(f.Cells, before.Cell, after.Cell)
	f.Expected = issue.T("about {}, from the weights and what was drunk and infused", quantity(short(roundFor(expected)), "L"))
	if meant := c.removedByOthers(s, removed, expected, most); meant != "" {
		f.Expected = issue.T("perhaps {}", quantity(meant, "L"))
	}
	if v, meant, tenths := c.intakeSlip(s, removed, expected, most); !meant.IsZero() {
		f = atValue("clin-uf-weights", "an amount that went in is unlike those of the other sessions, and does not fit the weights and the fluid removed", v)
		if tenths {
			f.Details = issue.T("the fluid removed and the weights fit together with the decimal point elsewhere")
		}
		f.Cells = append(f.Cells, s.Value("uf_removed").Cell, before.Cell, after.Cell)
		f.Expected = meant
		c.notUnusual(v.Cell)
	} else if g, found := c.weightOff(s); found {
		f = g
	}
	c.suspect[f.Cells[0]] = true
	c.add(f, s)
}

// ownMargin is the margin of the fluid by the weights, narrowed to the person's own
// scatter where it is known and no less than a hundredth of the body weight: clothes
// and a meal of a child are smaller (common practice).
func (c *checker) ownMargin(s *session.Session, room plausible.Margin) plausible.Margin {
	const ofBody = 0.01
	own := c.routine.misfit
	if kg := c.weightOf(s); own.n >= several && kg > 0 {
		off := max(ofBody*kg, shareSpreads*own.spread)
		usual := plausible.Unexplained + plausible.ScaleDigit
		room.Less -= max(0, usual-off+own.mid)
		room.More -= max(0, usual-off-own.mid)
	}
	return room
}

// intakeSlip is an amount that went in outside those of the person's other sessions,
// and the one near one of them that a slip of the decimal point or of a digit may
// have made of it and with which fluid and weights would fit. An amount above all
// others by more than weights are exact is one too if with the usual one they would.
func (c *checker) intakeSlip(s *session.Session, removed, expected float64, most plausible.Margin) (wrong session.Value, meant issue.Text, tenths bool) {
	for _, field := range []session.Field{"drinks", "saline", "rinseback"} {
		v := s.Value(field)
		number, good := c.good(v)
		others := c.valuesOf(c.log.Sessions, field, s)
		if !good || len(others) < fewest || number >= slices.Min(others) && number <= slices.Max(others) {
			continue
		}
		best := math.Inf(1)
		for i, litres := range slipsOfNumber(v) {
			if off := offNearest(litres, others); off < best && plausible.FluidFits(removed, expected-number+litres, most) {
				wrong, meant, best, tenths = v, issue.T("perhaps {}", quantity(short(litres), "L")), off, i < len(decimalSlips)
			}
		}
		if meant.IsZero() && slices.Max(others) > 0 && number > slices.Max(others)+plausible.Unexplained && plausible.FluidFits(removed, expected-number+median(others), most) {
			wrong, meant = v, issue.T("about {}", quantity(short(slices.Max(others)), "L"))
			if slices.Min(others) < slices.Max(others) {
				meant = issue.T("usually {} to {}", short(slices.Min(others)), quantity(short(slices.Max(others)), "L"))
			}
		}
		if !meant.IsZero() {
			return wrong, meant, tenths
		}
	}
	return wrong, meant, false
}

// offNearest is how far an amount is from the nearest of others above zero that is
// within half of it; infinite for none.
func offNearest(litres float64, others []float64) float64 {
	const part = 0.5 // common practice
	off := math.Inf(1)
	for _, other := range others {
		if other > 0 && math.Abs(litres-other) <= part*other+plausible.Rounding {
			off = min(off, math.Abs(litres-other))
		}
	}
	return off
}

// weightOff reports the weight of a session that does not fit the other one and the
// fluid removed, with the one that would.
func (c *checker) weightOff(s *session.Session) (f issue.Finding, found bool) {
	wrong, kg, near, found := c.weightToMend(s)
	if !found {
		return f, false
	}
	f = atValue("clin-uf-weights", "the {} does not fit the other weight and the fluid removed", s.Value(wrong), name(wrong))
	f.Cells = append(f.Cells, s.Value("weight_before").Cell, s.Value("weight_after").Cell, s.Value("uf_removed").Cell)
	f.Expected = issue.T("about {}", quantity(short(math.Round(kg*10)/10), "kg"))
	if near != "" {
		f.Expected = issue.T("perhaps {}", quantity(near, "kg"))
	}
	if g, slip := c.weightDigits(s); slip && g.Cells[0] == f.Cells[0] && near == "" {
		f.Expected = g.Expected
	}
	return f, true
}

// weightToMend is the weight with whose change both are closest to those of the
// sessions around, what would fit, and the slip of the pen near that. ok is false
// unless UF rate and treatment time give the fluid removed or, where no rates are
// known, the weight is outside those around and what would fit is within. It is false
// too if the two exchanged would fit and be closer still, or be among those around
// while no slip explains one.
func (c *checker) weightToMend(s *session.Session) (wrong session.Field, kg float64, slip string, ok bool) {
	const nearlyAll, spreads = 0.85, 2 // common practice
	const close = 0.15                 // kg, below the 0.2 of a digit exchanged with the next
	removed, written := c.good(s.Value("uf_removed"))
	expected, _, known := c.known(s).FluidByWeights()
	uf, rated := c.ufAccount(s)
	length, timed := c.treatedAccount(s)
	if !timed {
		length, timed = c.clockAccount(s)
	}
	if rated = rated && timed; !written || !known || rated && !uf.Fits(length.Account) {
		return "", 0, "", false
	}
	var usual [2]measure
	for n, field := range weightFields {
		if usual[n] = measured(c.valuesAround(s, field), nearlyAll); usual[n].n < fewest {
			return "", 0, "", false
		}
	}
	off := func(n int, kg float64) float64 { return math.Abs(kg - usual[n].mid) }
	now := [2]float64{s.Value("weight_before").Decimal.Float64(), s.Value("weight_after").Decimal.Float64()}
	meant := [2]float64{now[0] + removed - expected, now[1] - removed + expected}
	n := 0
	if off(0, now[0])+off(1, meant[1]) < off(0, meant[0])+off(1, now[1]) {
		n = 1
	}
	room := func(n int) float64 { return spreads*usual[n].spread + plausible.Unexplained }
	slip = slipNear(s.Value(weightFields[n]), meant[n], close)
	if c.fitSwapped(s) && (off(0, now[1])+off(1, now[0]) <= off(n, meant[n])+off(1-n, now[1-n]) ||
		slip == "" && off(0, now[1]) <= room(0) && off(1, now[0]) <= room(1)) {
		return "", 0, "", false
	}
	return weightFields[n], meant[n], slip, rated || off(n, now[n]) > room(n)+plausible.Unexplained && off(n, meant[n]) <= room(n)
}

// valuesAround are the values of a field in the sessions around one.
func (c *checker) valuesAround(s *session.Session, field session.Field) []float64 {
	i := slices.Index(c.log.Sessions, s)
	return c.valuesOf(c.log.Sessions[max(0, i-neighbours):min(len(c.log.Sessions), i+neighbours+1)], field, s)
}

// valuesOf are the values of a field in sessions, but for one of them.
func (c *checker) valuesOf(sessions []*session.Session, field session.Field, except *session.Session) (values []float64) {
	for _, s := range sessions {
		if v, good := c.good(s.Value(field)); good && s != except {
			values = append(values, v)
		}
	}
	return values
}

// intake is what went in during a session, in litres; written is false when
// neither drinks nor saline nor rinse-back is written down.
func (c *checker) intake(s *session.Session) (litres float64, written bool) {
	for _, field := range []session.Field{"drinks", "saline", "rinseback"} {
		if v, ok := c.good(s.Value(field)); ok {
			litres += v
			written = true
		}
	}
	return litres, written
}

// byOthers are what the goal, the rates and time, and the last reading lead to
// expect as the fluid removed in a session, in L; NaN where one is not known.
func (c *checker) byOthers(s *session.Session) (litres [3]float64, cells []issue.Cell) {
	litres = [3]float64{math.NaN(), math.NaN(), math.NaN()}
	if goal, ok := c.good(s.Value("uf_goal")); ok {
		litres[0], cells = goal, append(cells, s.Value("uf_goal").Cell)
	}
	_, steady := c.ufAccount(s)
	rates, first := c.rates(s)
	minutes, timed := c.minutes(s)
	if !steady || !timed {
		return litres, cells
	}
	rate := median(rates)
	litres[1], cells = rate*minutes/60, append(cells, first)
	if all := c.flowingIn(s); len(all) > 0 && s.End.OK() && !c.clockDoubted(s) {
		last := all[len(all)-1]
		litres[2] = last.litres + rate*s.End.Time.Sub(last.reading.At.Time).Hours()
		cells = append(cells, last.reading.Value("uf_so_far").Cell)
	}
	return litres, cells
}

// fluidSoFar follows the fluid removed from reading to reading: it cannot
// fall, nor pass what was removed in the end.
func (c *checker) fluidSoFar(s *session.Session) {
	const display = 0.1 // L, of a machine's display and the time to write it down
	total, known := c.good(s.Value("uf_removed"))
	last := session.Value{}
	lastLitres := 0.0
	again := readAgain(s)
	var over []session.Value
	for _, r := range s.Readings {
		v := r.Value("uf_so_far")
		litres, ok := c.good(v)
		if !ok || again[r] {
			continue
		}
		switch {
		case last.OK() && litres < lastLitres-plausible.Rounding:
			f := atValue("clin-uf-falls", "the fluid removed so far is less than at the reading before", v)
			f.Cells = append(f.Cells, last.Cell)
			f.Expected = issue.T("{} or more", last.Text)
			c.add(f, s)
		case known && litres > total+display+plausible.Rounding:
			over = append(over, v)
			continue // the next one does not fall below it
		}
		last, lastLitres = v, litres
	}
	c.moreThanRemoved(s, over)
}

// moreThanRemoved reports readings of more fluid than was removed in the end: at
// that amount, where goal or rates confirm a reading, or another one does.
func (c *checker) moreThanRemoved(s *session.Session, over []session.Value) {
	const close = 0.1 // of what was read (common practice)
	if len(over) == 0 {
		return
	}
	removed, confirmed := s.Value("uf_removed"), len(over)-1
	litres, _ := c.byOthers(s)
	for _, one := range litres[:2] {
		if one >= (1-close)*over[len(over)-1].Decimal.Float64() {
			confirmed++
		}
	}
	f := atValue("clin-uf-falls", "the fluid removed so far is more than was removed in the end", removed)
	f.Expected = issue.T("{} or more", over[len(over)-1].Text)
	if confirmed == 0 {
		f.Cells[0], f.Value, f.Expected = over[0].Cell, over[0].Text, issue.T("{} or less", removed.Text)
		f.File = over[0].Cell.File
		over = []session.Value{removed}
	}
	var cells []issue.Cell
	for _, v := range over {
		cells = append(cells, v.Cell)
	}
	c.blameCell(s, f, cells)
}

// flow is a flow in mL/min that held through the session, and the cell it is
// from.
func (c *checker) flow(s *session.Session, field session.Field) (perMinute float64, cell issue.Cell, ok bool) {
	perMinute, ok = c.known(s).Flow(string(field))
	if _, set := c.good(s.Value(field)); set {
		return perMinute, s.Value(field).Cell, ok
	}
	for _, r := range s.Readings {
		if _, read := c.good(r.Value(field)); read {
			return perMinute, r.Value(field).Cell, ok
		}
	}
	return perMinute, cell, ok
}

// within reports whether a differs from b by no more than a share of b.
func within(a, b, share float64) bool { return math.Abs(a-b) <= share*math.Abs(b) }

// urineMeant is the urine of a session with the decimal point elsewhere that fits the
// weights and is among the person's other ones, which the one written is not.
func (c *checker) urineMeant(s *session.Session) (meant issue.Text) {
	v := s.Value("urine")
	number, ok := c.inLimitUnit("urine", v)
	others := c.valuesOf(c.log.Sessions, "urine", s)
	if !ok || len(others) < fewest || number <= slices.Max(others) {
		return meant
	}
	text := withPointMoved(v.Decimal.Float64(), 1, func(urine float64) bool {
		k := *c.known(s)
		k.Values = mapWith(k.Values, "urine", urine*number/v.Decimal.Float64())
		return !k.UrineOfDay() && urine > 0 && urine <= slices.Max(others)
	})
	if text == "" {
		return meant
	}
	return quantity(text, v.Unit)
}
