package check

import (
	"slices"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// dates compares the dates of the log with the names of the sessions, with
// today, the planned days of the week, the birth date, and what is prescribed.
// It reports a fault of all dates once.
func (c *checker) dates() {
	if !c.otherYear() && !c.future() && !c.otherWeekdays() {
		c.beforePlan()
		c.emptyWeekdays()
	}
}

// ofWorkbook1904 is how many days a date moves when its number is copied
// between a workbook that counts from 1900 and one that counts from 1904
// (ECMA-376 part 1, 18.17.4).
const ofWorkbook1904 = 1462

// most is the share of sessions that makes a slip one of the whole log.
const most = 0.8

// oldest is an age in years that no person has (common practice).
const oldest = 115

// birth compares the birth date with the sessions: when most of them are
// before it, or the age is none that a person has, it is the one to mend.
func (c *checker) birth() {
	const old, infant, infantKg = 100, 3, 30.0 // years, years and kg (common practice)
	birth := c.log.About.BirthDate
	dated := c.dated()
	if !birth.OK() || len(dated) == 0 {
		return
	}
	var weights []float64
	for _, s := range dated {
		if v := s.Value("weight_before"); v.OK() {
			weights = append(weights, v.Decimal.Float64())
		}
	}
	var early []*session.Session
	for _, s := range dated {
		if s.Date.Time.Before(birth.Time) {
			early = append(early, s)
		}
	}
	last := dated[len(dated)-1].Date.Time
	f := at("month-birth-date", "the birth date does not fit the sessions", birth.Cell)
	f.Value, f.Expected = birth.Text, c.birthMeant(last, weights)
	years, _ := c.log.About.AgeOn(dated[len(dated)-1].Date)
	_, otherAge := c.bodyAt(years, weights)
	switch {
	case 2*len(early) > len(dated), birth.Time.AddDate(oldest, 0, 0).Before(last):
		c.breakAll()
	case len(early) == 0 && birth.Time.AddDate(infant, 0, 0).After(last) && len(weights) >= fewest && median(weights) > infantKg:
		c.breakAll()
	case len(early) == 0 && otherAge:
		f.Details = issue.T("by the birth date the person is {} years old, and height and weight are not of that age", years)
		f.Severity = issue.Warning
		f.Cells = append(f.Cells, c.log.About.HeightCm.Cell, dated[0].Value("weight_before").Cell)
	case len(early) == 0 && birth.Time.AddDate(old, 0, 0).Before(last):
		f.Details, f.Severity = issue.T("by the birth date the person is over 100 years old"), issue.Warning
		c.add(f, nil)
		return
	default:
		for _, s := range early {
			g := at("log-date-absurd", "the date is before the patient was born", s.Date.Cell)
			g.Value = s.Date.Text
			c.doubt(g, s)
		}
		return
	}
	c.add(f, nil)
	ageless := *c.log // no limit is to be judged by this age, and body water rests on it
	ageless.About.BirthDate, ageless.About.Sex = session.Moment{DateOnly: true}, session.Text{}
	c.log = &ageless
}

func (c *checker) breakAll() {
	for _, s := range c.log.Sessions {
		s.Broken = true
	}
}

// birthMeant is the birth date of another century, with the last two digits of the
// year exchanged or in another decade, at which height and weight are usual.
func (c *checker) birthMeant(last time.Time, weights []float64) issue.Text {
	birth := c.log.About.BirthDate.Time
	tens, ones := birth.Year()%100/10, birth.Year()%10
	for _, years := range []int{-100, 9 * (ones - tens), 100 + 9*(ones-tens), 100, 10} {
		meant := birth.AddDate(years, 0, 0)
		age := int(daysBetween(meant, last) / 365.25)
		if fits, _ := c.bodyAt(age, weights); years != 0 && fits && !meant.After(last) && age < oldest {
			return issue.T("perhaps {}", c.day(c.log.About.BirthDate.Text, meant))
		}
	}
	return issue.Text{}
}

// halfGrown are the median height in cm and weight in kg of girls at each year of age,
// from birth: a child of twice the age that is shorter and lighter is about five
// standard deviations below the median, less than nearly all sick children (growth
// standards of the WHO 2006 and reference 2007; memory).
var halfGrown = [9]struct{ cm, kg float64 }{{49, 3.2}, {74, 9}, {86, 11.5}, {95, 14}, {103, 16}, {109, 18}, {115, 20}, {121, 22}, {127, 25}}

// bodyAt reports whether the known ones of height and weight are usual at an age,
// and whether neither is, but both would be at another age. From 6 to 12 years a
// child of more than three standard deviations above the mean height, 97 cm and 6
// for each year, is no heavy child (growth reference of the WHO 2007; memory).
func (c *checker) bodyAt(years int, weights []float64) (fits, otherAge bool) {
	height, measured := c.good(c.log.About.HeightCm)
	if len(weights) < fewest {
		return true, false
	}
	usual := func(years int) (bool, bool) {
		at := profiles.Circumstances{AgeYears: float64(years), AgeKnown: true}
		tall, _ := at.LimitOf("height")
		heavy, _ := at.LimitOf("weight_before")
		outgrown := years >= 6 && years < 13 && height > 97+6*float64(years)
		young := years < 2*len(halfGrown) && height < halfGrown[max(0, years)/2].cm && median(weights) < halfGrown[max(0, years)/2].kg
		return !tall.Unusual(height) && !outgrown && !young, !heavy.Unusual(median(weights)) && !young && !(outgrown && median(weights) > 5*float64(years))
	}
	tall, heavy := usual(years)
	for _, other := range []int{1, 5, 11, 17, 18} { // of each band of the limits
		if t, h := usual(other); t && h && measured {
			otherAge = !tall && !heavy
		}
	}
	return (tall || !measured) && heavy, otherAge
}

// residual finds a measurement of residual clearance that is dated after today,
// or where that is not known long after the last session.
func (c *checker) residual(p session.Prescription) {
	dated := c.dated()
	if !p.ResidualDate.OK() || len(dated) == 0 {
		return
	}
	last := dated[len(dated)-1].Date.Time
	latest := last.AddDate(1, 0, 0)
	if !c.log.Today.IsZero() {
		latest = c.log.Today.AddDate(0, 0, 1)
	}
	if !p.ResidualDate.Time.After(latest) {
		return
	}
	f := at("month-date-future", "residual clearance was measured after today, or long after the sessions", p.ResidualDate.Cell)
	f.Value, f.Expected = p.ResidualDate.Text, issue.T("a day up to {}", c.day(p.ResidualDate.Text, latest))
	if meant := p.ResidualDate.Time.AddDate(last.Year()-p.ResidualDate.Time.Year(), 0, 0); !meant.After(latest) {
		f.Expected = issue.T("perhaps {}", c.day(p.ResidualDate.Text, meant))
	}
	c.add(f, nil)
}

// otherYear compares dates with the days that the sessions' names hold. Names
// that begin or end with a number of another kind do not agree on a shift.
func (c *checker) otherYear() bool {
	const moved = 5 // days: a session may keep the name of the day it was planned for
	dated := c.dated()
	shifts := map[int]int{}
	agree, exact, n := 0, 0, 0
	var off, beside []*session.Session
	for _, s := range dated {
		day, ok := c.namedDay(s)
		if !ok {
			continue
		}
		n++
		switch days := int(daysBetween(s.Date.Time, day)); {
		case days == 0:
			exact++
			agree++
		case max(days, -days) <= moved:
			agree++
			if !keepsEvening(s, days) && !c.suspect[s.Date.Cell] {
				beside = append(beside, s)
			}
		case days%ofWorkbook1904 == 0:
			shifts[days]++
			off = append(off, s)
		default:
			shifts[day.Year()-s.Date.Time.Year()]++
			off = append(off, s)
		}
	}
	share := most * float64(n)
	for _, count := range shifts {
		if n >= fewest && float64(count) >= share && n >= len(dated)/2 {
			c.wholeYear("the dates and the names of the sessions differ by years", off[0], issue.Text{})
			return true
		}
	}
	if float64(exact) >= share {
		off = append(off, beside...)
	}
	if float64(agree) >= share {
		for _, s := range off {
			if day, _ := c.namedDay(s); !c.far[s] && !c.misnamed[s] {
				f := at("month-date-name", "the date and the name of the session do not agree", s.Date.Cell)
				f.Value, f.Expected = s.Date.Text, issue.T("perhaps {}", c.day(s.Date.Text, day))
				if slices.ContainsFunc(dated, func(other *session.Session) bool {
					return other != s && held(other) && held(s) && (together(other, s) || together(s, other))
				}) {
					f.Severity = issue.Error // both cannot be true
				}
				c.add(f, s)
				c.far[s], c.meant[s] = true, day
			}
		}
	}
	return false
}

// keepsEvening reports a session begun in the small hours under the name of the
// evening before.
func keepsEvening(s *session.Session, days int) bool {
	const morning = 6 // o'clock
	return days == -1 && s.Start.OK() && s.Start.Time.Hour() < morning
}

// wholeYear reports a year that is wrong in all dates, at the first of them.
func (c *checker) wholeYear(details string, s *session.Session, expected issue.Text) {
	f := at("month-year", details, s.Date.Cell)
	f.Value, f.Expected = s.Date.Text, expected
	if day, ok := c.namedDay(s); ok && expected.IsZero() {
		f.Expected = issue.T("perhaps {}", c.day(s.Date.Text, day))
	}
	c.add(f, nil)
}

// future finds sessions held after today, if the log knows when it was read.
// A day more is left for time zones.
func (c *checker) future() bool {
	if c.log.Today.IsZero() {
		return false
	}
	latest := c.log.Today.AddDate(0, 0, 1)
	var after []*session.Session
	dated := c.dated()
	for _, s := range dated {
		if held(s) && !c.far[s] && s.Date.Time.After(latest) {
			after = append(after, s)
		}
	}
	if len(after) > fewest && 2*len(after) > len(dated) {
		c.wholeYear("most sessions are after today", after[0], issue.T("a day up to {}", c.day("", c.log.Today)))
		return true
	}
	for _, s := range after {
		f := at("month-date-future", "the session is after today", s.Date.Cell)
		f.Value, f.Expected = s.Date.Text, issue.T("a day up to {}", c.day("", c.log.Today))
		c.add(f, s)
	}
	return false
}

// otherWeekdays finds a log that hardly ever meets the planned days of the
// week, and would in another year.
func (c *checker) otherWeekdays() bool {
	const few = 0.35
	shifted := func(s *session.Session, shift int) time.Time {
		if shift == ofWorkbook1904 || shift == -ofWorkbook1904 {
			return s.Date.Time.AddDate(0, 0, shift)
		}
		return s.Date.Time.AddDate(shift, 0, 0)
	}
	hits := func(shift int) (share float64, first *session.Session) {
		n, on := 0, 0
		for _, s := range c.placed() {
			p, ok := c.log.About.PrescriptionOn(s.Date.Time)
			if !ok && len(c.log.About.Prescriptions) > 0 {
				p = c.log.About.Prescriptions[0]
			}
			if len(p.Weekdays) == 0 || len(p.Weekdays) == 7 {
				continue
			}
			if n++; first == nil {
				first = s
			}
			for _, day := range p.Weekdays {
				if shifted(s, shift).Weekday() == day {
					on++
				}
			}
		}
		if n <= 2*fewest {
			return 1, first
		}
		return float64(on) / float64(n), first
	}
	share, first := hits(0)
	if share > few {
		return false
	}
	meant := time.Time{}
	for _, shift := range []int{1, -1, ofWorkbook1904, -ofWorkbook1904} {
		day := shifted(first, shift)
		past := c.log.Today.IsZero() && meant.IsZero() || day.Before(c.log.Today)
		if share, _ := hits(shift); share >= most && past && day.After(meant) {
			meant = day
		}
	}
	if meant.IsZero() {
		return false
	}
	c.wholeYear("hardly any session is on a planned day of the week; in another year nearly all would be", first,
		issue.T("perhaps {}, or other planned days", c.day(first.Date.Text, meant)))
	return true
}

// beforePlan reports what is prescribed, and an access, from a day on that
// comes after sessions: these are compared with nothing.
func (c *checker) beforePlan() {
	about := &c.log.About
	c.planOutOfOrder()
	if len(about.Prescriptions) > 0 {
		c.after("the prescription", about.Prescriptions[0].ValidFrom)
	}
	if len(about.Accesses) > 0 {
		c.after("the access", about.Accesses[0].ValidFrom)
	}
}

// planOutOfOrder finds a prescription that no session follows, below one that begins
// later, or that begins long after the last session, and that with one slip in its
// date would begin among the sessions.
func (c *checker) planOutOfOrder() {
	const long = 180 // days; what is planned next is written down sooner (common practice)
	placed := c.placed()
	plans := slices.DeleteFunc(slices.Clone(c.log.About.Prescriptions), func(p session.Prescription) bool { return p.Name.OK() || !p.ValidFrom.OK() })
	for i, p := range plans {
		from := p.ValidFrom
		if len(placed) == 0 {
			return
		}
		first, last := placed[0].Date.Time, placed[len(placed)-1].Date.Time
		void := i+1 < len(plans) && !plans[i+1].ValidFrom.Time.After(first) && plans[i+1].ValidFrom.Cell.Row < from.Cell.Row
		if !void && daysBetween(last, from.Time) <= long {
			continue
		}
		among := func(t time.Time) bool { return t.After(first) && !t.After(last) }
		s := session.Session{Date: from}
		meant, slip, ok := otherDate(&s, first, last, among)
		if !ok {
			continue
		}
		f := at("month-plan-later", "no session follows the prescription; its first day is out of order", from.Cell)
		f.Details, f.Severity = f.Details.And(slip), issue.Warning
		f.Value, f.Expected = from.Text, issue.T("perhaps {}", c.day(from.Text, meant))
		if other, _, several := otherDate(&s, first, last, func(t time.Time) bool { return among(t) && !t.Equal(meant) }); several {
			f.Details = issue.T("no session follows the prescription; its first day is out of order")
			f.Expected = issue.T("perhaps {} or {}", c.day(from.Text, meant), c.day(from.Text, other))
		}
		c.add(f, nil)
	}
}

func (c *checker) after(what string, from session.Moment) {
	early := 0
	placed := c.placed()
	for _, s := range placed {
		if from.OK() && s.Date.Time.Before(from.Time) {
			early++
		}
	}
	if early == 0 {
		return
	}
	f := at("month-plan-later", "{} begins after {} of the sessions, which are left without one", from.Cell, issue.T(what), early)
	f.Value = from.Text
	f.Expected = issue.T("a day up to {}", c.day(from.Text, placed[0].Date.Time))
	f.Severity = issue.Warning
	c.add(f, nil)
}
