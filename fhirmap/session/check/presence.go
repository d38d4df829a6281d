package check

import (
	"maps"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// presence looks for what is missing from a session that was held, and for
// what should not be there in one that was not.
func (c *checker) presence(s *session.Session) {
	switch {
	case s.Status == session.SkippedStatus:
		c.skipped(s)
	case held(s) && (c.far[s] || c.untreated(s)):
	case held(s):
		c.missingWeights(s)
		if len(s.Readings) == 0 && c.keepsReadings() && !c.namesake(s) && !c.misnamed[s] {
			c.add(at("clin-no-readings", "there are no readings for this session", s.Cell), s)
		}
		c.doneShort(s)
	}
	if s.Status != session.Done && s.Status != "" && !s.Reason.OK() {
		f := at("clin-reason-missing", "it is not said why the session was cut short or not done", cellOr(s.Reason.Cell, s.Cell))
		c.add(f, s)
	}
}

// untreated finds a session marked as done with a reason and nothing of a
// treatment: it was not done. What it lacks is then not asked for.
func (c *checker) untreated(s *session.Session) bool {
	filled := func(v session.Value) bool { return v.OK() }
	if !s.Reason.OK() || s.Start.OK() || s.End.OK() || len(s.Readings)+len(s.Medicines) > 0 ||
		slices.ContainsFunc(slices.Collect(maps.Values(s.Values)), filled) {
		return false
	}
	status := s.Texts["status"].Cell
	f := at("clin-done-short", "the session is marked as done, but nothing of a treatment is written down", status)
	f.Value, f.Expected, f.Mend = string(s.Status), issue.T("perhaps {}", string(session.SkippedStatus)), issue.T("look at the status")
	f.Cells = append(f.Cells, s.Reason.Cell)
	c.add(f, s)
	for i, g := range c.read {
		if g.Rule == "log-cell-missing" && g.File == f.File && g.Cells[0].Sheet == status.Sheet && g.Cells[0].Row == status.Row {
			c.read[i].Rule = ""
		}
	}
	return true
}

// onlyTreated are fields that only a treatment can fill.
var onlyTreated = []session.Field{"uf_removed", "dialysate_volume", "blood_processed", "treated_time"}

// onlyAfter are fields of what is measured after a session.
var onlyAfter = []session.Field{"weight_after", "bp_after_systolic", "bp_after_diastolic", "pulse_after"}

// onlyRunning are readings that only a running machine shows.
var onlyRunning = []session.Field{"blood_flow", "arterial_line_pressure", "venous_line_pressure", "transmembrane_pressure", "uf_rate", "uf_so_far"}

// skipped reports traces of treatment in a session marked as not done. Weight and
// blood pressure before are none.
func (c *checker) skipped(s *session.Session) {
	const details = "the session is marked as not done, but this says that there was treatment"
	status := s.Texts["status"].Cell
	add := func(f issue.Finding) {
		f.Cells = append(f.Cells, status)
		c.add(f, s)
	}
	c.sampled(s, status)
	for _, field := range onlyTreated {
		if number, ok := c.good(s.Value(field)); ok && number != 0 {
			add(atValue("clin-not-done", details, s.Value(field)))
			return
		}
	}
	for _, r := range s.Readings {
		if other := c.beside(s, r); other != nil {
			f := at("clin-not-done", "the session is marked as not done, and this row fits another one", r.Cell)
			f.Value, f.Expected, f.Mend = s.ID, issue.T("perhaps {}", other.ID), issue.T("look at the session's name in this row")
			add(f)
			return
		}
		for _, field := range onlyRunning {
			if v := r.Value(field); v.OK() && v.Decimal.Float64() != 0 {
				add(atValue("clin-not-done", details, v))
				return
			}
		}
	}
	for _, e := range s.Events {
		if slices.Contains(plausible.MachineEvents, e.Kind.Text) {
			f := at("clin-not-done", "the session is marked as not done, but something happened in it", e.Cell)
			f.Severity, f.Value, f.Mend = issue.Information, s.ID, issue.T("look at the session's name in this row")
			add(f)
		}
	}
	for _, field := range onlyAfter {
		if number, ok := c.good(s.Value(field)); ok && number != 0 {
			f := atValue("clin-not-done", "the session is marked as not done, but there is a value from after it", s.Value(field))
			f.Severity = issue.Warning
			add(f)
			return
		}
	}
}

// beside is the session with a reading in the row above or below, if the time of
// the row is between that reading and the session's end or start.
func (c *checker) beside(s *session.Session, r *session.Reading) *session.Session {
	if r.Cell.File == s.Cell.File && r.Cell.Sheet == s.Cell.Sheet && r.Cell.Row == s.Cell.Row {
		return nil // a sheet with a session in each row
	}
	for _, other := range c.log.Sessions {
		if other == s || !other.Start.OK() || !other.End.OK() || !r.At.OK() {
			continue
		}
		for _, next := range other.Readings {
			rows := next.Cell.Row - r.Cell.Row
			if next.Cell.File != r.Cell.File || next.Cell.Sheet != r.Cell.Sheet || rows != 1 && rows != -1 || !next.At.OK() {
				continue
			}
			from, to := other.Start.Time.Add(-plausible.ReadingTimes.Early), next.At.Time
			if rows < 0 {
				from, to = to, other.End.Time.Add(plausible.ReadingTimes.Late)
			}
			if clockWithin(r.At.Time, from, to) {
				return other
			}
		}
	}
	return nil
}

// doneShort finds a session marked as done that has a reason for not being
// done, and far less than its time.
func (c *checker) doneShort(s *session.Session) {
	const least = 0.8
	p, _ := c.log.About.PrescriptionFor(s)
	usual, known := c.good(p.DurationMin)
	if !known {
		usual, known = c.routine.length.mid, c.routine.length.n > 2*fewest
	}
	minutes, timed := c.minutes(s)
	if s.Status != session.Done || !s.Reason.OK() || !known || !timed || minutes >= least*usual {
		return
	}
	f := at("clin-done-short", "the session is marked as done, but it was short and a reason is given", s.Texts["status"].Cell)
	f.Value, f.Expected = string(s.Status), issue.T("perhaps {}", string(session.CutShort))
	f.Cells = append(f.Cells, s.Reason.Cell)
	c.add(f, s)
}

// sampled finds samples from before or after a session that was not done.
func (c *checker) sampled(s *session.Session, status issue.Cell) {
	for _, l := range s.Labs {
		if l.When.Text != "before" && l.When.Text != "after" {
			continue
		}
		f := at("clin-not-done", "the session is marked as not done, but there are samples from before or after it", l.Cell)
		f.Severity, f.Value = issue.Warning, s.ID
		f.Cells = append(f.Cells, status)
		for _, other := range c.log.Sessions {
			if held(other) && l.Drawn.OK() && other.Date.OK() && other.Date.Time.Format(time.DateOnly) == l.Drawn.Time.Format(time.DateOnly) {
				f.Expected = issue.T("perhaps {}", other.ID)
			}
		}
		c.add(f, s)
		return
	}
}

// missingWeights reports missing weights, as information if the person wrote that
// the weight was not taken or is not known.
func (c *checker) missingWeights(s *session.Session) {
	for _, field := range weightFields {
		v := s.Value(field)
		if v.Absence == session.Present || v.Absence == session.Unreadable || c.suspect[v.Cell] {
			continue
		}
		if first := c.neverWeighed(field); first != nil {
			if first == s && !c.headingReported(field) {
				c.add(at("clin-weight-missing", "no session has a {}", s.Cell, name(field)), nil)
			}
			continue
		}
		f := at("clin-weight-missing", "the {} is missing", cellOr(v.Cell, s.Cell), name(field))
		if v.Absence != session.NotRecorded {
			f.Severity = issue.Information
			f.Value = v.Text
			f.Details = issue.T("there is no {}, as you wrote", name(field))
			f.Mend = issue.Text{}
		}
		c.add(f, s)
	}
}

// neverWeighed is the first of the sessions held if there are several and none has
// a weight, else nil.
func (c *checker) neverWeighed(field session.Field) *session.Session {
	rows := c.inRows()
	if len(rows) <= fewest || slices.ContainsFunc(rows, func(s *session.Session) bool { return s.Value(field).Absence != session.NotRecorded }) {
		return nil
	}
	return rows[0]
}

// headingReported reports whether a finding is about a heading that may be that of
// the column.
func (c *checker) headingReported(field session.Field) bool {
	return slices.ContainsFunc(c.read, func(f issue.Finding) bool {
		return f.Rule == "map-heading-missing" || f.Rule == "log-heading-unknown" && strings.HasPrefix(f.Expected.String(), string(field))
	})
}

// namesake reports whether another session has the same name, and with it the
// readings.
func (c *checker) namesake(s *session.Session) bool {
	return slices.ContainsFunc(c.log.Sessions, func(other *session.Session) bool { return other != s && other.ID == s.ID })
}

// keepsReadings reports whether the log has readings for most sessions held;
// someone who keeps none is not asked for them.
func (c *checker) keepsReadings() bool {
	rows := c.inRows()
	with := slices.DeleteFunc(slices.Clone(rows), func(s *session.Session) bool { return len(s.Readings) == 0 })
	return 2*len(with) > len(rows)
}
