package session

import (
	"regexp"
	"strconv"
	"strings"
	"time"

	"runsheet.example/validate/issue"
)

// The date styles a log may declare.
const (
	styleISO = "iso"
	styleDMY = "dmy"
	styleMDY = "mdy"
)

var dateStyles = []string{styleISO, styleDMY, styleMDY}

const isoDay = "2006-01-02"

// dateReading is the result of reading a date. The rule is "" when the date
// is certain; log-date-style and log-weekday leave it usable.
type dateReading struct {
	day      time.Time // midnight, carried in UTC
	rule     string
	details  string
	expected issue.Text
}

func (d dateReading) usable() bool {
	return d.rule == "" || d.rule == "log-date-style" || d.rule == "log-weekday"
}

var (
	yearFirst = regexp.MustCompile(`^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$`)
	yearLast  = regexp.MustCompile(`^(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})$`)
	yearShort = regexp.MustCompile(`^(\d{1,2})[-/.](\d{1,2})[-/.](\d{2})$`)
	noYear    = regexp.MustCompile(`^(\d{1,2})[-/.](\d{1,2})\.?$`)
	serialDay = regexp.MustCompile(`^\d{5}([.,]\d+)?$`)
	// afterDate is a time of day after a date, as spreadsheets write it.
	afterDate = regexp.MustCompile(`(\d)[ T](\d{1,2}:\d{2}(?::\d{2}(?:\.0+)?)?(?: ?[aApP]\.?[mM]\.?)?)$`)
)

// SpellDay writes a day in the form of another one, of a declared style.
func SpellDay(like, style string, day time.Time) string {
	m := yearLast.FindStringSubmatch(afterDate.ReplaceAllString(like, "$1"))
	if m == nil || style == "" || style == styleISO {
		return day.Format(isoDay)
	}
	form := map[string]string{styleDMY: "2#1#2006", styleMDY: "1#2#2006"}[style]
	if strings.HasPrefix(m[1], "0") || strings.HasPrefix(m[2], "0") {
		form = map[string]string{styleDMY: "02#01#2006", styleMDY: "01#02#2006"}[style]
	}
	return day.Format(strings.ReplaceAll(form, "#", like[len(m[1]):len(m[1])+1]))
}

// readDate reads a date in ISO form or in the declared style ("" for none
// declared). A date whose day and month could be exchanged is used only in
// the declared style.
func readDate(text, style string) dateReading {
	text = afterDate.ReplaceAllString(text, "$1")
	if m := yearFirst.FindStringSubmatch(text); m != nil {
		return dayOf(m[1], m[2], m[3])
	}
	if m := yearLast.FindStringSubmatch(text); m != nil {
		return readYearLast(text, m, style)
	}
	switch {
	case yearShort.MatchString(text):
		return dateReading{rule: "log-date", details: "the year has only two digits", expected: issue.T("a year of four digits, such as 2025-11-03")}
	case noYear.MatchString(text):
		return dateReading{rule: "log-date", details: "the date has no year", expected: issue.T("a date such as 2025-11-03")}
	case serialDay.MatchString(text):
		return dateReading{rule: "log-date", details: "this is a spreadsheet's day number, not a date", expected: issue.T("a date such as 2025-11-03; give the column a date format before saving")}
	}
	return dateReading{rule: "log-date", details: "this cannot be read as a date", expected: issue.T("a date such as 2025-11-03")}
}

func readYearLast(text string, m []string, style string) dateReading {
	first, second, year := m[1], m[2], m[3]
	dayFirst := dayOf(year, second, first)
	monthFirst := dayOf(year, first, second)
	switch {
	case style == styleDMY && dayFirst.usable():
		return dayFirst
	case style == styleMDY && monthFirst.usable():
		return monthFirst
	case !dayFirst.usable() && !monthFirst.usable():
		return dayFirst
	case dayFirst.usable() && monthFirst.usable() && !dayFirst.day.Equal(monthFirst.day):
		return dateReading{rule: "log-date-ambiguous", details: "day and month could be the other way round",
			expected: issue.T("{} or {}", dayFirst.day.Format(isoDay), monthFirst.day.Format(isoDay))}
	}
	certain := dayFirst
	if !certain.usable() {
		certain = monthFirst
	}
	switch style {
	case "":
		return certain
	case styleISO:
		certain.rule, certain.details = "log-date-style", "the date is not written year first as the log declares, but only one day is possible"
	default:
		// The log declares the other order: the person may have mistyped.
		certain.rule, certain.details = "log-date", "there is no such day in the style the log declares"
	}
	certain.expected = issue.Literal(SpellDay(text, style, certain.day))
	return certain
}

// dayOf makes a real calendar day of three numbers.
func dayOf(year, month, day string) dateReading {
	y, _ := strconv.Atoi(year)
	m, _ := strconv.Atoi(month)
	d, _ := strconv.Atoi(day)
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	if t.Year() != y || int(t.Month()) != m || t.Day() != d {
		return dateReading{rule: "log-date", details: "there is no such day in the calendar", expected: issue.T("a real day, such as 2025-11-03")}
	}
	return dateReading{day: t}
}

// clockReading is the result of reading a time of day.
type clockReading struct {
	// day is set when a full date and time was written.
	day *dateReading
	// clock is the time of day since midnight.
	clock    time.Duration
	ok       bool
	expected issue.Text
}

var (
	clockForm   = regexp.MustCompile(`^(\d{1,2}):(\d{2})(?::(\d{2}))?$`)
	twelveHours = regexp.MustCompile(`(?i)^(\d{1,2}):(\d{2})\s*([ap])\.?m\.?$`)
	looseClock  = regexp.MustCompile(`^(\d{1,2})[.,hH ]?(\d{2})[hH]?$`)
	dateAndTime = regexp.MustCompile(`^(\S*\d[-/.]\d\S*?)[ T]\s*(\S.*)$`)
)

// readClock reads "18:30", "7:05", "18:30:15", "6:30 pm" and, with a date in
// front, a full date and time.
func readClock(text, style string) clockReading {
	if clock, ok := readTimeOfDay(text); ok {
		return clockReading{clock: clock, ok: true}
	}
	if m := dateAndTime.FindStringSubmatch(text); m != nil {
		if clock, ok := readTimeOfDay(m[2]); ok {
			day := readDate(m[1], style)
			return clockReading{day: &day, clock: clock, ok: true}
		}
	}
	r := clockReading{expected: issue.T("a time such as 18:30")}
	asHours, fraction := decimalHours(text)
	m := looseClock.FindStringSubmatch(text)
	switch {
	case fraction && asHours < time.Hour:
		r.expected = issue.T("perhaps {}; this is a part of a day, as spreadsheets store times: give the column a time format", clockText(time.Duration(float64(asHours)*24)))
	case m != nil && fraction:
		r.expected = issue.T("{} if these are hours with decimals; time_form in log.toml says so", clockText(asHours))
		if _, ok := readTimeOfDay(m[1] + ":" + m[2]); ok {
			r.expected = issue.T("{} if these are hours with decimals, {}:{} if they are hours and minutes; time_form in log.toml says which", clockText(asHours), m[1], m[2])
		}
	case fraction:
		r.expected = issue.T("{} if these are hours with decimals; time_form in log.toml says so", clockText(asHours))
	case m != nil:
		if _, ok := readTimeOfDay(m[1] + ":" + m[2]); ok {
			r.expected = issue.T("{}, if that is what was meant", m[1]+":"+m[2])
		}
	}
	return r
}

var hoursForm = regexp.MustCompile(`^(\d{1,2})[.,](\d+)$`)

// decimalHours reads 18.5 and 18,33 as hours with decimals, to the minute.
func decimalHours(text string) (time.Duration, bool) {
	m := hoursForm.FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	hours, err := strconv.ParseFloat(m[1]+"."+m[2], 64)
	return time.Duration(hours * float64(time.Hour)), err == nil && hours < 24
}

func clockText(clock time.Duration) string {
	return time.Time{}.Add(clock.Round(time.Minute)).Format("15:04")
}

func readTimeOfDay(text string) (time.Duration, bool) {
	if len(text) == len("18:30") && text[2] == ':' && onlyDigits(text[:2]) && onlyDigits(text[3:]) {
		return timeOfDay(text[:2], text[3:], "", 0, 23) // most times, without a pattern
	}
	if m := clockForm.FindStringSubmatch(text); m != nil {
		return timeOfDay(m[1], m[2], m[3], 0, 23)
	}
	if m := twelveHours.FindStringSubmatch(text); m != nil {
		add := time.Duration(0)
		switch afternoon := strings.EqualFold(m[3], "p"); {
		case afternoon && m[1] != "12":
			add = 12
		case !afternoon && m[1] == "12":
			add = -12
		}
		clock, ok := timeOfDay(m[1], m[2], "", 1, 12)
		return clock + add*time.Hour, ok
	}
	return 0, false
}

func timeOfDay(hours, minutes, seconds string, first, last int) (time.Duration, bool) {
	h, _ := strconv.Atoi(hours)
	m, _ := strconv.Atoi(minutes)
	s, _ := strconv.Atoi(seconds)
	if h < first || h > last || m > 59 || s > 59 {
		return 0, false
	}
	return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(s)*time.Second, true
}
