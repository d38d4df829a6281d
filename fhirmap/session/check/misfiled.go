package check

import (
	"slices"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// misfiled finds a reading in the rows of another session that fits
// its times, while it is outside the session named, out of the order of the
// readings there, or its fluid removed so far contradicts theirs.
func (c *checker) misfiled(s *session.Session) {
	for _, r := range s.Readings {
		if !held(s) || slices.ContainsFunc(s.Readings, func(o *session.Reading) bool { return o.Cell.Row-r.Cell.Row == 1 || r.Cell.Row-o.Cell.Row == 1 }) {
			continue
		}
		other := c.beside(s, r)
		if other == nil || !held(other) {
			continue
		}
		_, timed := c.elapsed(s)
		outside := timed && !clockWithin(r.At.Time, s.Start.Time, s.End.Time)
		if !outside && !c.outOfRows(s, r) && !c.contradicted(s, r, r.At.Time) || c.contradicted(other, r, other.Start.Time.Add(sinceOnClock(r.At.Time, other.Start.Time))) {
			continue
		}
		f := at("clin-outside-session", "this reading stands among those of another session and fits its times", r.Cell)
		f.Value, f.Expected, f.Mend = s.ID, issue.T("perhaps {}", other.ID), issue.T("look at the session's name in this row")
		f.Cells = append(f.Cells, r.At.Cell)
		for _, v := range r.Values {
			c.suspect[v.Cell] = true
		}
		c.doubt(f, s)
	}
}

// outOfRows reports a reading that is later than one below it, or earlier than
// one above, and that nobody has added below all rows.
func (c *checker) outOfRows(s *session.Session, r *session.Reading) bool {
	below := func(o *session.Reading) bool { return o.Cell.Row > r.Cell.Row }
	return slices.ContainsFunc(s.Readings, func(o *session.Reading) bool {
		return o != r && o.At.OK() && below(o) != o.At.Time.After(r.At.Time)
	}) && slices.ContainsFunc(c.log.Sessions, func(other *session.Session) bool { return slices.ContainsFunc(other.Readings, below) })
}

// contradicted reports a reading whose fluid removed so far is below that of an
// earlier reading of a session, or above that of a later one.
func (c *checker) contradicted(s *session.Session, r *session.Reading, when time.Time) bool {
	litres, ok := c.good(r.Value("uf_so_far"))
	return ok && slices.ContainsFunc(s.Readings, func(o *session.Reading) bool {
		own, good := c.good(o.Value("uf_so_far"))
		return good && o != r && o.At.OK() && (o.At.Time.Before(when) && own > litres+plausible.Rounding || o.At.Time.After(when) && own < litres-plausible.Rounding)
	})
}
