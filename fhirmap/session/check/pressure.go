package check

import (
	"math"
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// pairs are the blood pressures that belong together, with the pulse taken with them.
var pairs = []struct{ systolic, diastolic, pulse session.Field }{
	{"bp_before_systolic", "bp_before_diastolic", "pulse_before"},
	{"bp_before_standing_systolic", "bp_before_standing_diastolic", ""},
	{"bp_after_systolic", "bp_after_diastolic", "pulse_after"},
	{"bp_after_standing_systolic", "bp_after_standing_diastolic", ""},
}

// pressuresOf are the blood pressures of a session, the higher number first, and the
// pulse taken with them.
func pressuresOf(s *session.Session) (all [][3]session.Value) {
	for _, p := range pairs {
		all = append(all, [3]session.Value{s.Value(p.systolic), s.Value(p.diastolic), s.Value(p.pulse)})
	}
	for _, r := range s.Readings {
		all = append(all, [3]session.Value{r.Value("bp_systolic"), r.Value("bp_diastolic"), r.Value("pulse")})
	}
	return all
}

// pair compares the two numbers of a blood pressure. If the lower one and the pulse
// are each where the other one is in the session's other rows, these are exchanged.
func (c *checker) pair(s *session.Session, pressure [3]session.Value) {
	systolic, diastolic := pressure[0], pressure[1]
	high, okHigh := c.good(systolic)
	low, okLow := c.good(diastolic)
	if !okHigh || !okLow || high > low || impossible("bp_systolic", high) || impossible("bp_diastolic", low) {
		return // an impossible number is reported as that
	}
	f := atValue("clin-bp-swapped", "the higher blood pressure number is not above the lower one", systolic)
	f.Cells = append(f.Cells, diastolic.Cell)
	upper, lower, known := c.usualPressure(s, systolic.Cell)
	pulse, pulsed := c.good(pressure[2])
	var pulses []float64
	for _, one := range c.sightings(s, quantities[2]) {
		if one.value.Cell != pressure[2].Cell {
			pulses = append(pulses, one.number)
		}
	}
	if known && pulsed && high > pulse && len(pulses) >= fewest && math.Abs(pulse-lower) <= nearPressure &&
		math.Abs(low-median(pulses)) <= nearPressure && math.Abs(pulse-median(pulses)) > nearPressure {
		c.doubt(exchangedNumbers(place{field: "bp_diastolic", value: diastolic}, place{field: "pulse", value: pressure[2]}), s)
		return
	}
	swapped := max(math.Abs(low-upper), math.Abs(high-lower))
	if known {
		if meant := slipNear(systolic, upper, min(nearPressure, swapped)); meant != "" && math.Abs(low-lower) <= farPressure {
			f.Expected = issue.T("perhaps {} over {}", meant, diastolic.Text)
		} else if meant := slipNear(diastolic, lower, min(nearPressure, swapped)); meant != "" && math.Abs(high-upper) <= farPressure {
			f.Cells[0], f.Cells[1], f.Value = diastolic.Cell, systolic.Cell, diastolic.Text
			f.Expected = issue.T("perhaps {} over {}", systolic.Text, meant)
		}
	}
	if f.Expected.IsZero() && high < low && (!known || swapped <= 2*farPressure) {
		f.Details = f.Details.And(issue.T("they may be swapped"))
		f.Expected = issue.T("perhaps {} over {}", diastolic.Text, systolic.Text)
	}
	c.doubt(f, s)
}

// How near what is expected, in mmHg, a slip of the pen has to lead, and how far
// from it a blood pressure may be (common practice).
const nearPressure, farPressure = 20, 30

// usualPressure is the blood pressure near a cell: the middle of the session's
// others, or where these are few of all sessions.
func (c *checker) usualPressure(s *session.Session, apart issue.Cell) (upper, lower float64, ok bool) {
	var highs, lows []float64
	gather := func(s *session.Session) {
		for _, one := range c.sightings(s, quantities[0]) {
			if one.value.Cell != apart && one.number > one.partner {
				highs, lows = append(highs, one.number), append(lows, one.partner)
			}
		}
	}
	if gather(s); len(highs) < fewest {
		for _, s := range c.log.Sessions {
			gather(s)
		}
	}
	if len(highs) < fewest {
		return 0, 0, false
	}
	return median(highs), median(lows), true
}

// digitLost reports a higher number of two digits beside a lower one in mmHg,
// or a lower one of one digit: it is not in kPa, but lacks its last digit.
func digitLost(s *session.Session, v session.Value, number float64) bool {
	lost := func(p [3]session.Value) bool {
		systolic, diastolic := p[0], p[1]
		return len(v.Text) == 2 && systolic.Cell == v.Cell && diastolic.OK() && diastolic.Decimal.Float64() >= 2*number ||
			len(v.Text) == 1 && diastolic.Cell == v.Cell && systolic.OK() && systolic.Decimal.Float64() > 10*number+9
	}
	return s != nil && number >= 3 && number < 20 && slices.ContainsFunc(pressuresOf(s), lost)
}

func impossible(field string, number float64) bool {
	limit, ok := profiles.LimitOf(field)
	return ok && limit.Impossible(number)
}

// arterialSigns finds arterial pressures above zero. Before the pump the line is
// under suction while blood flows, so the minus was most likely forgotten.
func (c *checker) arterialSigns(s *session.Session) {
	for _, r := range s.Readings {
		c.arterial(s, r.Value("arterial_line_pressure"))
	}
}

func (c *checker) arterial(s *session.Session, v session.Value) {
	number, ok := c.good(v)
	if !ok || number <= 0 {
		return
	}
	limit, _ := profiles.LimitOf("arterial_line_pressure")
	f := atValue("clin-arterial-sign", "the arterial pressure has no minus", v)
	if !limit.Impossible(-number) {
		f.Expected = issue.T("perhaps {}", "-"+v.Text)
	}
	c.doubt(f, s)
}
