package fhirpath

import (
	"cmp"
	"fmt"
	"math/big"
	"strings"
	"time"
)

// moment is a date, dateTime, instant or time of day with its written
// precision.
type moment struct {
	at        time.Time // in the written offset, UTC without one
	precision int       // how many of year, month, day, hour, minute, second are given
	ofDay     bool      // a time of day
	zoned     bool
}

// The layouts by precision; a second may have a fraction.
var dateLayouts = [...]string{1: "2006", 2: "2006-01", 3: "2006-01-02"}
var timeLayouts = [...]string{4: "15", 5: "15:04", 6: "15:04:05"}

// parseMoment parses a date, dateTime, instant or (ofDay) a time of day.
func parseMoment(s string, ofDay bool) (moment, bool) {
	date, clock := s, ""
	if ofDay {
		date, clock = "0000-01-01", strings.TrimPrefix(s, "T")
	} else if before, after, ok := strings.Cut(s, "T"); ok {
		date, clock = before, after
	}
	m := moment{ofDay: ofDay}
	layout := ""
	for precision, l := range dateLayouts {
		if l != "" && len(l) == len(date) {
			layout, m.precision = l, precision
		}
	}
	if layout == "" || clock != "" && m.precision < 3 {
		return moment{}, false
	}
	if clock == "" {
		at, err := time.Parse(layout, date)
		m.at = at
		return m, err == nil && !ofDay
	}
	return m.withClock(date, clock)
}

func (m moment) withClock(date, clock string) (moment, bool) {
	zone := ""
	if at := strings.IndexAny(clock, "Z+-"); at >= 0 {
		zone = clock[at:]
		clock = clock[:at]
		m.zoned = true
	}
	whole, _, _ := strings.Cut(clock, ".")
	layout := ""
	for precision, l := range timeLayouts {
		if l != "" && len(l) == len(whole) {
			layout, m.precision = l, precision
		}
	}
	if layout == "" || whole != clock && m.precision < 6 {
		return moment{}, false
	}
	full, written := "2006-01-02T"+layout, date+"T"+clock
	if m.zoned {
		full, written = full+"Z07:00", written+zone
	}
	at, err := time.Parse(full, written)
	m.at = at
	return m, err == nil
}

func (m moment) fields() [6]int64 {
	at := m.at
	if m.zoned && m.precision > 3 {
		at = at.UTC()
	}
	return [6]int64{
		int64(at.Year()), int64(at.Month()), int64(at.Day()), int64(at.Hour()), int64(at.Minute()),
		int64(at.Second())*1e9 + int64(at.Nanosecond()),
	}
}

func (m moment) day() time.Time { return m.at.UTC().Truncate(24 * time.Hour) }

// compareMoments orders two moments; known is false if their precision does
// not decide.
func compareMoments(a, b moment) (order int, known bool) {
	if a.ofDay != b.ofDay {
		return 0, false
	}
	if a.precision > 3 && b.precision > 3 && a.zoned != b.zoned {
		return 0, false
	}
	x, y := a.fields(), b.fields()
	for i := range min(a.precision, b.precision) {
		if o := cmp.Compare(x[i], y[i]); o != 0 {
			// A date without a zone may begin or end within a day of the other
			// moment.
			return o, a.zoned == b.zoned || min(a.precision, b.precision) < 3 || a.day().Sub(b.day()).Abs() > 24*time.Hour
		}
	}
	return 0, a.precision == b.precision
}

// String writes the moment in its own precision.
func (m moment) String() string {
	if m.precision <= 3 {
		return m.at.Format(dateLayouts[m.precision])
	}
	layout := timeLayouts[m.precision]
	if m.precision == 6 && m.at.Nanosecond() != 0 {
		layout += ".999999999"
	}
	if !m.ofDay {
		layout = "2006-01-02T" + layout
	}
	if m.zoned {
		layout += "Z07:00"
	}
	return m.at.Format(layout)
}

// maxShift limits the amount added to a moment, in its own unit.
const maxShift = 1 << 31

// plus adds a calendar quantity by the rules of FHIRPath N1 (date/time
// arithmetic).
func (m moment) plus(amount *big.Rat, unit string) (moment, bool) {
	whole := new(big.Int).Quo(amount.Num(), amount.Denom())
	if !whole.IsInt64() || whole.Int64() > maxShift || whole.Int64() < -maxShift {
		return moment{}, false
	}
	n := int(whole.Int64())
	switch calendarUnit(unit) {
	case "year":
		m.at = addMonths(m.at, 12*n)
	case "month":
		m.at = addMonths(m.at, n)
	case "week":
		m.at = m.at.AddDate(0, 0, 7*n)
	case "day":
		m.at = m.at.AddDate(0, 0, n)
	case "hour":
		m.at = m.at.Add(time.Duration(n) * time.Hour)
	case "minute":
		m.at = m.at.Add(time.Duration(n) * time.Minute)
	case "second":
		m.at = m.at.Add(time.Duration(n) * time.Second)
	case "millisecond":
		m.at = m.at.Add(time.Duration(n) * time.Millisecond)
	default:
		return moment{}, false
	}
	return m, m.at.Year() >= 0 && m.at.Year() <= 9999
}

// addMonths keeps the day if the month has it, otherwise uses its last day.
func addMonths(t time.Time, months int) time.Time {
	first := t.AddDate(0, months, 1-t.Day())
	last := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(t.Day(), last)-1)
}

// calendarUnit is the calendar name of a unit, in the singular, or "". The
// UCUM codes of definite durations mean the same in arithmetic.
func calendarUnit(unit string) string {
	switch unit {
	case "year", "years", "a":
		return "year"
	case "month", "months", "mo":
		return "month"
	case "week", "weeks", "wk":
		return "week"
	case "day", "days", "d":
		return "day"
	case "hour", "hours", "h":
		return "hour"
	case "minute", "minutes", "min":
		return "minute"
	case "second", "seconds", "s":
		return "second"
	case "millisecond", "milliseconds", "ms":
		return "millisecond"
	default:
		return ""
	}
}

// momentLiteral reads the text after an @.
func momentLiteral(t token) (term, error) {
	k, written := kindMoment, t.text
	if strings.HasPrefix(t.text, "T") {
		k, written = kindTime, t.text[1:]
	}
	if _, ok := parseMoment(strings.TrimSuffix(written, "T"), k == kindTime); !ok {
		return nil, fmt.Errorf("@%s at %d is no date or time", t.text, t.at)
	}
	v := text(strings.TrimSuffix(written, "T"))
	v.kind = k
	return &literal{[]value{v}}, nil
}
