// Package check reports impossible, unlikely and contradictory values of a log as
// read, each at its cell.
//
// An error is certain: the value is impossible, or two entries cannot both be
// true. An unlikely value is a warning. A finding may suggest a value, but the
// package changes nothing in the log but [session.Session.Broken]. It omits a
// reported value from the comparisons, so that one slip gives one finding.
//
// Limits are those of [profiles.Circumstances]; package plausible compares with
// them.
package check

import (
	"slices"
	"strconv"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Check returns what is wrong or unlikely in a log, ordered by [issue.Sort],
// together with what its reader found, and sets Broken on each session with an
// error. One slip that explains several findings is reported in their place.
func Check(log *session.Log, read []issue.Finding) []issue.Finding {
	checked, units := inColumnUnits(log)
	findings := run(checked, slices.Clone(read))
	for i := range findings {
		if len(findings[i].Cells) == 0 {
			continue
		}
		cell := findings[i].Cells[0]
		if findings[i].Rule == "clin-heading-unit" { // the heading is first
			cell = findings[i].Cells[len(findings[i].Cells)-1]
		}
		if unit, ok := units[cell]; ok {
			findings[i].Expected = ofColumn[unit].inWritten(findings[i].Expected)
		}
		if log.About.DecimalMark == ',' {
			findings[i].Expected = withComma(findings[i].Expected)
		}
	}
	for i, s := range checked.Sessions {
		log.Sessions[i].Broken = s.Broken
	}
	return answer(log, findings)
}

// run checks a log whose numbers are in the units of its columns.
func run(log *session.Log, read []issue.Finding) []issue.Finding {
	c := &checker{log: log, read: read, suspect: map[issue.Cell]bool{}, far: map[*session.Session]bool{}, meant: map[*session.Session]time.Time{}, misnamed: map[*session.Session]bool{}}
	c.otherNames()
	c.slippedDown()
	c.birth()
	if c.datesAlone() {
		return c.all() // no other comparison has a meaning
	}
	c.zeros()
	c.headings()
	c.swappedHeadings()
	c.leftOver()
	c.weigh()
	c.otherUnitRows()
	c.prescribed()
	c.columnsAlone()
	c.filledSettings()
	c.exchangedCells()
	c.resultsSlipped()
	for i, s := range log.Sessions {
		c.alone(i, s)
	}
	c.reportUnusual()
	c.learn()
	c.plansLikeRows()
	c.filledDown()
	c.exchangedReadings()
	c.misfiledWhole()
	for _, s := range log.Sessions {
		c.misfiled(s)
	}
	c.labs()
	c.nearby()
	for i, s := range log.Sessions {
		c.presence(s)
		c.exchangedClock(s)
		c.fluid(s)
		c.coherent(s)
		c.checks(s)
		c.times(s)
		c.samples(s)
		c.disagreements(s)
		c.medicines(s)
		c.delivered(s)
		c.gain(i, s)
		c.copiedReason(i, s)
	}
	c.ownMean()
	c.ownFluid()
	c.ownTimes()
	c.month()
	c.withoutDates()
	c.ownRows()
	c.linesOfPlan()
	c.accesses()
	c.pastedTwice()
	c.habits()
	c.suppliesUsed()
	return c.all()
}

// alone checks a session before anything is known of the others.
func (c *checker) alone(i int, s *session.Session) {
	c.weights(i, s)
	c.arterialSigns(s)
	for _, p := range pressuresOf(s) {
		c.pair(s, p)
	}
	c.sessionLimits(s)
}

// all returns the findings, the remaining ones of the reader included, each cell
// once. A cell with an error of the spreadsheet gives no other finding.
func (c *checker) all() []issue.Finding {
	c.wholeColumns()
	noValue := map[issue.Cell]bool{}
	for _, f := range c.read {
		if f.Rule == "log-cell-error" {
			noValue[f.Cells[0]] = true
		}
	}
	all := slices.DeleteFunc(append(c.read, c.findings...), func(f issue.Finding) bool {
		return f.Rule == "" || f.Rule != "log-cell-error" && len(f.Cells) > 0 && noValue[f.Cells[0]]
	})
	for i := range all {
		reported := map[issue.Cell]bool{}
		all[i].Cells = slices.DeleteFunc(slices.Clone(all[i].Cells), func(cell issue.Cell) bool {
			again := reported[cell]
			reported[cell] = true
			return again
		})
	}
	issue.Sort(all)
	return all
}

// checker is one run over a log.
type checker struct {
	log      *session.Log
	findings []issue.Finding
	// read are the findings of the reader; those that another one explains lose
	// their rule.
	read []issue.Finding
	// suspect are the cells with a finding about their value; comparisons
	// leave them out.
	suspect map[issue.Cell]bool
	// weighed are all plausible weights, in the order of sessions.
	weighed []weighing
	unusual []oddity
	last    knowledge
	routine routine
	// given are all doses, by medicine and unit.
	given map[string][]float64
	// byDrug are all rows of medicines, by name.
	byDrug map[string][]*session.Medicine
	// far are the sessions that look misplaced in time, meant the days that they
	// perhaps belong to, where one is likely.
	far   map[*session.Session]bool
	meant map[*session.Session]time.Time
	// byDay is set where most names of sessions hold month and day of their date.
	byDay *bool
	// misnamed are the sessions whose other rows name another one.
	misnamed map[*session.Session]bool
}

// at starts a finding at a cell.
func at(rule, details string, cell issue.Cell, args ...any) issue.Finding {
	f := issue.At(rule)
	f.File = cell.File
	f.Cells = []issue.Cell{cell}
	f.Details = issue.T(details, args...)
	return f
}

// atValue starts a finding about an entered number.
func atValue(rule, details string, v session.Value, args ...any) issue.Finding {
	f := at(rule, details, v.Cell, args...)
	f.Value = v.Text
	return f
}

// add records a finding about a session, which may be nil.
func (c *checker) add(f issue.Finding, s *session.Session) {
	for i := len(f.Cells) - 1; i > 0; i-- {
		if slices.Contains(f.Cells[:i], f.Cells[i]) {
			f.Cells = slices.Delete(f.Cells, i, i+1)
		}
	}
	if s != nil {
		f.Session = s.ID
		if f.Severity == issue.Error {
			s.Broken = true
		}
	}
	c.findings = append(c.findings, f)
}

// unread takes back what the reader found by a rule at a cell, which another
// finding explains.
func (c *checker) unread(rule string, cell issue.Cell) {
	for i, f := range c.read {
		if f.Rule == rule && f.Cells[0] == cell {
			c.read[i].Rule = ""
		}
	}
}

// doubt records a finding about a value and keeps the value out of later
// comparisons.
func (c *checker) doubt(f issue.Finding, s *session.Session) {
	for _, cell := range f.Cells {
		c.suspect[cell] = true
	}
	c.add(f, s)
}

// withoutDates takes back what rests on a date that is in doubt: it is judged
// when the date is mended. The interval between sessions rests on all dates.
func (c *checker) withoutDates() {
	dates, of := map[issue.Cell]bool{}, map[string]issue.Cell{}
	any, all := false, false
	for _, s := range c.log.Sessions {
		if !s.Date.Cell.IsZero() {
			dates[s.Date.Cell], of[s.ID] = false, s.Date.Cell
		}
		any = any || s.Date.Absence == session.Unreadable
	}
	for _, f := range c.findings {
		if len(f.Cells) == 0 || f.Severity <= issue.Information {
			continue
		}
		if _, date := dates[f.Cells[0]]; date {
			dates[f.Cells[0]], any = true, true
			all = all || f.Rule == "month-year"
		}
	}
	c.findings = slices.DeleteFunc(c.findings, func(f issue.Finding) bool {
		switch f.Rule {
		case "clin-urea-generation":
			return any
		case "clin-supply-expired", "clin-sample-time":
			return all || dates[of[f.Session]]
		}
		return false
	})
}

// good is an entered number that has no finding yet.
func (c *checker) good(v session.Value) (float64, bool) {
	if !v.OK() || v.Comparator != "" || c.suspect[v.Cell] {
		return 0, false
	}
	return v.Decimal.Float64(), true
}

// held reports whether treatment took place.
func held(s *session.Session) bool {
	return s.Status == session.Done || s.Status == session.CutShort
}

// short writes a computed number for a person: at most three decimals, no
// more than needed.
func short(v float64) string {
	text := strconv.FormatFloat(v, 'f', 3, 64)
	d, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	return strconv.FormatFloat(d, 'f', -1, 64)
}
