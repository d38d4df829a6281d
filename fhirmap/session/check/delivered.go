package check

import (
	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// dialysateLeast is the share of the prescribed dialysate below which less was
// used than prescribed (common practice, the exactness of volume and flow).
const dialysateLeast = 0.9

// delivered compares a session with its prescription: the UF rate with the
// person's own limit, time and dialysate with the amounts.
func (c *checker) delivered(s *session.Session) {
	p, ok := c.log.About.PrescriptionFor(s)
	if !ok || !held(s) || !s.Date.OK() {
		return
	}
	c.ufLimit(s, p.Values["uf_limit"])
	if before, more := c.sameTreatment(s); s.Status == session.CutShort || before > 0 || more || c.clockDoubted(s) {
		return // already reported, or one of two records of a treatment or a day
	}
	minutes, timed := c.minutes(s)
	if planned, known := c.good(p.DurationMin); known && timed && planned-minutes > calc.ShortenedByMin {
		c.below(s, "the treatment was shorter than prescribed", short(minutes)+" min", lengthCell(s), p.DurationMin)
	}
	v, planned := s.Value("dialysate_volume"), p.Values["dialysate_volume"]
	litres, used := c.good(v)
	if least, known := c.good(planned); known && used && v.Unit == planned.Unit && litres < least*dialysateLeast && !c.known(s).Isolated() {
		c.below(s, "less dialysate was used than prescribed", v.Text+" "+v.Unit, v.Cell, planned)
	}
}

// below reports an amount under the one prescribed.
func (c *checker) below(s *session.Session, details, amount string, cell issue.Cell, prescribed session.Value) {
	f := at("clin-below-plan", details, cell)
	f.Value, f.Expected = amount, issue.T("prescribed: {}", quantity(prescribed.Text, prescribed.Unit))
	f.Cells = append(f.Cells, prescribed.Cell)
	c.add(f, s)
}

// lengthCell is the cell with the length of a session.
func lengthCell(s *session.Session) issue.Cell {
	if v := s.Value("treated_time"); v.OK() {
		return v.Cell
	}
	return s.End.Cell
}

// ufLimit compares the mean UF rate with the limit the clinic gave the person.
func (c *checker) ufLimit(s *session.Session, limit session.Value) {
	most, limited := c.good(limit)
	removed, okRemoved := c.good(s.Value("uf_removed"))
	after, okAfter := c.good(s.Value("weight_after"))
	minutes, timed := c.minutes(s)
	if !limited || !okRemoved || !okAfter || !timed {
		return
	}
	rate, err := calc.UFRatePerKg(removed, minutes, after)
	if rate = hundredths(rate); err != nil || rate <= most { // as it is shown
		return
	}
	f := atValue("clin-uf-limit", "the fluid removed over time and weight is more than your own limit", s.Value("uf_removed"))
	f.Value = short(rate) + " mL/kg/h"
	f.Expected = issue.T("up to {}", quantity(limit.Text, "mL/kg/h"))
	f.Cells = append(f.Cells, lengthCell(s), s.Value("weight_after").Cell, limit.Cell)
	c.add(f, s)
}
