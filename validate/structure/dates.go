package structure

// The formats are those of FHIR R4 4.0.1, datatypes. Days must exist in the
// calendar. A second of 60 is a leap second and legal.

const (
	faultDate      = "a date is written YYYY, YYYY-MM or YYYY-MM-DD"
	faultDay       = "the calendar has no such day"
	faultTime      = "a time is written hh:mm:ss, from 00:00:00 to 23:59:60, with a fraction or without"
	faultOffset    = "a time is followed by Z or an offset from -14:00 to +14:00, written +hh:mm"
	faultPrecision = "an instant has a date, a time with seconds, and Z or an offset"
)

func dateFault(text []byte) string {
	rest, fault := cutDate(text)
	if fault == "" && len(rest) > 0 {
		return faultDate
	}
	return fault
}

func dateTimeFault(text []byte) string {
	rest, fault := cutDate(text)
	if fault != "" || len(rest) == 0 {
		return fault
	}
	if len(text)-len(rest) != len("2006-01-02") || rest[0] != 'T' {
		return faultDate + ", and a time only after a whole date and T"
	}
	return zonedTimeFault(rest[1:])
}

func instantFault(text []byte) string {
	rest, fault := cutDate(text)
	if fault != "" {
		return fault
	}
	if len(text)-len(rest) != len("2006-01-02") || len(rest) == 0 || rest[0] != 'T' {
		return faultPrecision
	}
	return zonedTimeFault(rest[1:])
}

func zonedTimeFault(text []byte) string {
	rest, ok := cutTime(text)
	if !ok {
		return faultTime
	}
	if !isOffset(rest) {
		return faultOffset
	}
	return ""
}

func timeFault(text []byte) string {
	if rest, ok := cutTime(text); !ok || len(rest) > 0 {
		return faultTime
	}
	return ""
}

// cutDate parses YYYY, YYYY-MM or YYYY-MM-DD and returns the rest.
func cutDate(text []byte) (rest []byte, fault string) {
	year, ok := number(text, 0, 4)
	if !ok || year == 0 {
		return nil, faultDate
	}
	if len(text) == 4 || text[4] != '-' {
		return text[4:], ""
	}
	month, ok := number(text, 5, 2)
	if !ok || month < 1 || month > 12 {
		return nil, faultDate
	}
	if len(text) == 7 || text[7] != '-' {
		return text[7:], ""
	}
	day, ok := number(text, 8, 2)
	if !ok {
		return nil, faultDate
	}
	if day < 1 || day > daysIn(year, month) {
		return nil, faultDay
	}
	return text[10:], ""
}

func daysIn(year, month int) int {
	switch month {
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	default:
		return 31
	}
}

// cutTime parses hh:mm:ss with an optional fraction and returns the rest.
func cutTime(text []byte) (rest []byte, ok bool) {
	hour, ok1 := number(text, 0, 2)
	minute, ok2 := number(text, 3, 2)
	second, ok3 := number(text, 6, 2)
	if !ok1 || !ok2 || !ok3 || text[2] != ':' || text[5] != ':' || hour > 23 || minute > 59 || second > 60 {
		return nil, false
	}
	rest = text[8:]
	if len(rest) == 0 || rest[0] != '.' {
		return rest, true
	}
	i := 1
	for i < len(rest) && '0' <= rest[i] && rest[i] <= '9' {
		i++
	}
	return rest[i:], i > 1
}

// isOffset reports Z or an offset of at most 14 hours.
func isOffset(text []byte) bool {
	if len(text) == 1 {
		return text[0] == 'Z'
	}
	if len(text) != 6 || text[0] != '+' && text[0] != '-' || text[3] != ':' {
		return false
	}
	hours, ok1 := number(text, 1, 2)
	minutes, ok2 := number(text, 4, 2)
	return ok1 && ok2 && minutes <= 59 && (hours < 14 || hours == 14 && minutes == 0)
}

// number reads n digits at an offset.
func number(text []byte, at, n int) (value int, ok bool) {
	if len(text) < at+n {
		return 0, false
	}
	for _, b := range text[at : at+n] {
		if b < '0' || b > '9' {
			return 0, false
		}
		value = value*10 + int(b-'0')
	}
	return value, true
}
