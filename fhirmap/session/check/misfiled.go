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

// filed is a row of another sheet under the name of a session. Rows with the same
// key do not occur twice in one session; readings have none.
type filed struct {
	cell   issue.Cell
	key    string
	at     session.Moment
	values map[session.Field]session.Value
}

// filedIn are the rows of a session in each sheet that most sessions have rows in.
func filedIn(s *session.Session) (sheets [3][]filed) {
	for _, r := range s.Readings {
		sheets[0] = append(sheets[0], filed{r.Cell, "", r.At, r.Values})
	}
	for _, m := range s.Medicines {
		sheets[1] = append(sheets[1], filed{m.Cell, m.Name.Text + " " + m.Dose.Unit + " " + m.Rate.Unit, m.At, nil})
	}
	for _, k := range s.Checks {
		sheets[2] = append(sheets[2], filed{k.Cell, k.What.Text, k.At, nil})
	}
	return sheets
}

// misfiledWhole finds a session without rows in a sheet, beside one that has
// there two runs of rows, one of which fits its times.
func (c *checker) misfiledWhole() {
	sessions := c.inRows()
	for sheet := range filedIn(&session.Session{}) {
		of := func(s *session.Session) []filed { return filedIn(s)[sheet] }
		bare := slices.DeleteFunc(slices.Clone(sessions), func(s *session.Session) bool { return len(of(s)) > 0 || c.namesake(s) || c.misnamed[s] })
		if float64(len(sessions)-len(bare)) < most*float64(len(sessions)) {
			continue
		}
		for _, s := range bare {
			i := slices.Index(sessions, s)
			for _, j := range []int{i - 1, i + 1} {
				if j < 0 || j >= len(sessions) {
					continue
				}
				other := sessions[j]
				run := of(other)
				from := secondRun(run)
				if run = run[from:]; j > i {
					run = of(other)[:from]
				}
				_, timed := c.elapsed(s)
				outside := func(row filed) bool {
					return row.at.OK() && (!timed || !clockWithin(row.at.Time, s.Start.Time.Add(-plausible.MedicineTimes.Early), s.End.Time.Add(plausible.MedicineTimes.Late)))
				}
				if from == 0 || slices.ContainsFunc(run, outside) {
					continue
				}
				f := at("clin-outside-session", "the rows of two sessions have this name here, and the session beside it has none", run[0].cell)
				f.Value, f.Expected, f.Mend = other.ID, issue.T("perhaps {}", s.ID), issue.T("look at the session's name in these rows")
				for _, row := range run {
					f.Cells, c.suspect[row.at.Cell] = append(f.Cells, row.cell), true
					for _, v := range row.values {
						c.suspect[v.Cell] = true
					}
				}
				c.misnamed[s] = true
				c.doubt(f, other)
				break
			}
		}
	}
}

// secondRun is where the rows of another session begin: where the time goes back,
// or a key occurs again; 0 for no such place, or several.
func secondRun(rows []filed) (at int) {
	for i, row := range rows {
		same := func(o filed) bool { return o.key == row.key }
		again := i > 0 && (row.key != "" && slices.ContainsFunc(rows[at:i], same) ||
			row.key == "" && row.at.OK() && rows[i-1].at.OK() && !row.at.Time.After(rows[i-1].at.Time))
		if again && at > 0 {
			return 0
		}
		if again {
			at = i
		}
	}
	return at
}
