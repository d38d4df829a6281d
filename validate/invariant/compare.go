package invariant

import (
	"bytes"
	"cmp"
	"strconv"
)

// order is how two values compare. The zero value is unknown: FHIRPath
// answers with nothing where precision does not allow a decision.
type order int8

const (
	unknown order = iota
	less
	same
	greater
)

func orderOf(c int) order { return order(2 + cmp.Compare(c, 0)) }

// moment is a date or a time as far as it was written. Fields that were not
// written are -1.
type moment struct {
	fields   [6]int // year, month, day, hour, minute, second
	known    int    // how many of the fields were written
	fraction []byte
	zoned    bool
}

// compareTimes compares two date, dateTime or instant texts (FHIRPath N1,
// comparison). Times with a zone are compared as instants; where precision
// differs, as far as both go.
func compareTimes(a, b []byte) order {
	x, ok1 := parseMoment(a)
	y, ok2 := parseMoment(b)
	if !ok1 || !ok2 {
		return unknown
	}
	for i := range min(x.known, y.known) {
		if x.fields[i] != y.fields[i] {
			// A bare date beside an instant may be the day before or
			// after it, by its zone.
			if x.zoned != y.zoned && withinADay(x, y) {
				return unknown
			}
			return orderOf(x.fields[i] - y.fields[i])
		}
	}
	if x.known != y.known || x.zoned != y.zoned {
		return unknown
	}
	return orderOf(bytes.Compare(bytes.TrimRight(x.fraction, "0"), bytes.TrimRight(y.fraction, "0")))
}

func withinADay(x, y moment) bool {
	if x.known < 3 || y.known < 3 {
		return false
	}
	gap := dayNumber(x.fields[0], x.fields[1], x.fields[2]) - dayNumber(y.fields[0], y.fields[1], y.fields[2])
	return gap >= -1 && gap <= 1
}

// parseMoment reads what the structure layer has found well-formed, and gives
// up on anything else. A time is moved to UTC.
func parseMoment(text []byte) (m moment, ok bool) {
	for i, part := range [...]struct{ at, n int }{{0, 4}, {5, 2}, {8, 2}, {11, 2}, {14, 2}, {17, 2}} {
		if len(text) < part.at+part.n {
			break
		}
		v, err := strconv.Atoi(string(text[part.at : part.at+part.n]))
		if err != nil {
			return m, false
		}
		m.fields[i] = v
		m.known++
	}
	if m.known == 0 || m.known == 4 || m.known == 5 || m.known == 6 && len(text) < 20 {
		return m, false
	}
	if m.known < 6 {
		return m, true
	}
	rest := text[19:]
	if rest[0] == '.' {
		end := 1
		for end < len(rest) && '0' <= rest[end] && rest[end] <= '9' {
			end++
		}
		m.fraction, rest = rest[1:end], rest[end:]
	}
	m.zoned = true
	return m, m.toUTC(rest)
}

// toUTC moves the time by the offset.
func (m *moment) toUTC(offset []byte) bool {
	if len(offset) == 1 && offset[0] == 'Z' {
		return true
	}
	if len(offset) != 6 {
		return false
	}
	hours, err1 := strconv.Atoi(string(offset[1:3]))
	minutes, err2 := strconv.Atoi(string(offset[4:6]))
	if err1 != nil || err2 != nil {
		return false
	}
	shift := hours*60 + minutes
	if offset[0] == '+' {
		shift = -shift
	}
	f := &m.fields
	total := dayNumber(f[0], f[1], f[2])*1440 + f[3]*60 + f[4] + shift
	f[0], f[1], f[2] = civil(total / 1440)
	f[3], f[4] = total%1440/60, total%60
	return true
}

// dayNumber counts days of the Gregorian calendar from the first of March of
// the year 0 (Richards 2013, the algorithm of the Explanatory Supplement to
// the Astronomical Almanac, from memory; the test compares it with package
// time).
func dayNumber(year, month, day int) int {
	if month < 3 {
		year--
		month += 12
	}
	return 365*year + year/4 - year/100 + year/400 + (153*(month-3)+2)/5 + day - 1
}

// civil is the reverse of dayNumber.
func civil(days int) (year, month, day int) {
	era := days / 146097
	inEra := days % 146097
	yearOfEra := (inEra - inEra/1460 + inEra/36524 - inEra/146096) / 365
	dayOfYear := inEra - (365*yearOfEra + yearOfEra/4 - yearOfEra/100)
	shifted := (5*dayOfYear + 2) / 153
	year, month, day = yearOfEra+era*400, shifted+3, dayOfYear-(153*shifted+2)/5+1
	if month > 12 {
		year, month = year+1, month-12
	}
	return year, month, day
}

// compareDecimals compares two JSON numbers exactly, however long.
func compareDecimals(a, b []byte) order {
	x, ok1 := parseDecimal(a)
	y, ok2 := parseDecimal(b)
	switch {
	case !ok1 || !ok2:
		return unknown
	case x.sign != y.sign:
		return orderOf(x.sign - y.sign)
	case x.sign == 0:
		return same
	case x.point != y.point:
		return orderOf(x.sign * cmp.Compare(x.point, y.point))
	default:
		return orderOf(x.sign * x.compareDigits(y))
	}
}

// decimal is a number as sign, digits without leading zeros, and the place of
// the point before or after the first digit.
type decimal struct {
	sign        int
	whole, part []byte // digits before and after the written point
	point       int
}

func parseDecimal(text []byte) (decimal, bool) {
	v := decimal{sign: 1}
	if len(text) > 0 && text[0] == '-' {
		v.sign, text = -1, text[1:]
	}
	mantissa, exponent := text, 0
	if i := bytes.IndexAny(text, "eE"); i >= 0 {
		e, err := strconv.Atoi(string(text[i+1:]))
		if err != nil {
			return v, false
		}
		mantissa, exponent = text[:i], e
	}
	v.whole, v.part, _ = bytes.Cut(mantissa, []byte("."))
	if len(v.whole) == 0 {
		return v, false
	}
	v.whole = bytes.TrimLeft(v.whole, "0")
	v.point = len(v.whole) + exponent
	if len(v.whole) == 0 {
		trimmed := bytes.TrimLeft(v.part, "0")
		v.point -= len(v.part) - len(trimmed)
		v.part = trimmed
	}
	if len(v.whole) == 0 && len(v.part) == 0 {
		v.sign = 0
	}
	return v, true
}

func (v decimal) digit(i int) byte {
	switch {
	case i < len(v.whole):
		return v.whole[i]
	case i-len(v.whole) < len(v.part):
		return v.part[i-len(v.whole)]
	default:
		return '0'
	}
}

func (v decimal) compareDigits(w decimal) int {
	for i := range max(len(v.whole)+len(v.part), len(w.whole)+len(w.part)) {
		if c := cmp.Compare(v.digit(i), w.digit(i)); c != 0 {
			return c
		}
	}
	return 0
}
