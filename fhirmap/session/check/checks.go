package check

import (
	"math"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// sameConductivity is how far, in mS/cm, a meter may be from the machine
// (common practice: the machine's instructions have the limit).
const sameConductivity = 0.3

// checks judges what was looked at before a session, and what was used.
func (c *checker) checks(s *session.Session) {
	for _, row := range s.Checks {
		if row.Failed() && held(s) {
			f := at("clin-check-failed", "this was not in order, and the treatment took place", row.Result.Cell)
			f.Value = row.Result.Text
			c.add(f, s)
		}
		if !row.Says() && !row.IsSupply() && !row.Expires.OK() {
			f := at("clin-check-empty", "the row says neither how it turned out nor what was used", row.Cell)
			f.Value = row.What.Text
			c.add(f, s)
		}
		c.resultForValue(s, row)
		c.checkRange(s, row)
		c.againstMachine(s, row)
		c.supply(s, row)
	}
}

// checkRange compares a value of water or dialysate with its published range.
func (c *checker) checkRange(s *session.Session, row *session.Check) {
	l, known := profiles.LimitOf(string(row.Kind.Field))
	number, ok := c.good(row.Value)
	scale, fits := factor(row.Kind.Field, row.Value.Unit, l)
	if !known || !ok || !fits || !l.Unusual(number*scale) {
		return
	}
	f := atValue("clin-check-range", "the {} is outside its range", row.Value, name(row.Kind.Field))
	if l.Impossible(number * scale) {
		f = atValue("clin-impossible", "the {} cannot be right", row.Value, name(row.Kind.Field))
	}
	f.Expected = issue.T("a value from {} to {}", bare(short(l.SoftLow/scale), row.Value.Unit), quantity(short(l.SoftHigh/scale), row.Value.Unit))
	c.doubt(f, s)
}

// againstMachine compares a conductivity with the first that the machine
// showed.
func (c *checker) againstMachine(s *session.Session, row *session.Check) {
	const field = "dialysate_conductivity"
	number, ok := c.good(row.Value)
	if row.Kind.Field != "check_conductivity" || !ok {
		return
	}
	for _, r := range s.Readings {
		shown, ok := c.good(r.Value(field))
		if !ok {
			continue
		}
		if math.Abs(number-shown) > sameConductivity {
			f := atValue("clin-check-conductivity", "the conductivity is not what the machine shows", row.Value)
			f.Cells = append(f.Cells, r.Value(field).Cell)
			f.Expected = issue.T("about {} mS/cm", short(shown))
			c.add(f, s)
		}
		return
	}
}

// sameLot is another row of the same supply and lot with another date, nil for none.
func (c *checker) sameLot(row *session.Check) *session.Check {
	for _, s := range c.log.Sessions {
		for _, other := range s.Checks {
			if row.Lot.OK() && other.Lot.Text == row.Lot.Text && other.What.Text == row.What.Text && !other.LastDay.IsZero() && other.LastDay != row.LastDay {
				return other
			}
		}
	}
	return nil
}

// supply compares the date of what was used with the day of the session.
func (c *checker) supply(s *session.Session, row *session.Check) {
	switch {
	case !row.IsSupply() || !s.Date.OK():
	case s.Status == session.SkippedStatus:
		c.add(at("clin-supply-unused", "the session was not done, so what stands here as used is not sent", row.What.Cell), s)
	case !row.LastDay.IsZero() && row.LastDay.Before(s.Date.Time):
		f := at("clin-supply-expired", "this had passed its date on the day of the session", row.Expires.Cell)
		f.Value, f.Expected = row.Expires.Text, issue.T("a day from {} on", c.day(s.Date.Text, s.Date.Time))
		f.Cells = append(f.Cells, s.Date.Cell)
		if other := c.sameLot(row); other != nil && !other.LastDay.Before(s.Date.Time) {
			f.Expected = issue.T("perhaps {}", other.Expires.Text)
			f.Cells = append(f.Cells, other.Expires.Cell)
		}
		c.suspect[row.Expires.Cell] = true
		c.add(f, s)
	}
}
