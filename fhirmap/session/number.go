package session

import (
	"regexp"
	"strings"

	"runsheet.example/validate/issue"
)

// numberReading is the result of reading a number.
type numberReading struct {
	decimal    Decimal
	comparator string
	ok         bool
	// rule and what follow are set for a text that is no number, and for a
	// number with the column's own unit after it.
	rule, details string
	expected      issue.Text
}

var (
	comparators  = []struct{ written, code string }{{"<=", "<="}, {">=", ">="}, {"≤", "<="}, {"≥", ">="}, {"<", "<"}, {">", ">"}}
	numberThen   = regexp.MustCompile(`^([-+\x{2212}]?[\d.,]+)\s*(\D+)$`)
	aboutThen    = regexp.MustCompile(`(?i)^(?:about|around|approx\.?|approximately|circa|ca\.?|etwa|ungefähr|rund|~|≈)\s*(.+)$`)
	thousandsFor = map[byte]*regexp.Regexp{
		'.': regexp.MustCompile(`^[-+]?\d{1,3}([, '\x{00A0}\x{202F}\x{2019}]\d{3})+(\.\d+)?$`),
		',': regexp.MustCompile(`^[-+]?\d{1,3}([. '\x{00A0}\x{202F}\x{2019}]\d{3})+(,\d+)?$`),
	}
)

// readNumber reads a cell as a number with the given decimal mark; mark 0
// means that the file's mark is not settled, so only whole numbers are read.
// unit is the UCUM code of the column, "" if another column has it.
func readNumber(text string, mark byte, unit string) numberReading {
	r := numberReading{}
	r.comparator, text = cutComparator(text)
	if d, err := ParseDecimal(text, markOr(mark)); err == nil && (mark != 0 || !strings.Contains(text, ".")) {
		r.decimal, r.ok = d, true
		return r
	}
	return r.refuse(text, mark, unit)
}

// cutComparator takes the sign off a result such as "<0.5".
func cutComparator(text string) (comparator, rest string) {
	for _, sign := range comparators {
		if rest, ok := strings.CutPrefix(text, sign.written); ok {
			return sign.code, strings.TrimSpace(rest)
		}
	}
	return "", text
}

func markOr(mark byte) byte {
	if mark == 0 {
		return '.'
	}
	return mark
}

// refuse finds out why a text is no number, and what it may have meant.
func (r numberReading) refuse(text string, mark byte, unit string) numberReading {
	if mark == 0 && looksDecimal(text) {
		r.rule, r.details = "log-decimal-mark", "it is not certain whether the mark is for decimals or for thousands"
		return r
	}
	if form := thousandsFor[markOr(mark)]; form.MatchString(text) {
		r.rule, r.details = "log-thousands", "the number has a separator for thousands, or the wrong decimal mark"
		r.expected = issue.Literal(withoutThousands(text, markOr(mark)))
		if _, err := ParseDecimal(text, otherMark(markOr(mark))); err == nil {
			r.expected = issue.T("{} or {}", r.expected, strings.Replace(text, string(otherMark(markOr(mark))), string(markOr(mark)), 1))
		}
		return r
	}
	if d, err := ParseDecimal(text, otherMark(markOr(mark))); err == nil {
		r.rule, r.details = "log-decimal-mark", "the decimal mark is not the one of this file"
		r.expected = issue.Literal(strings.Replace(d.String(), ".", string(markOr(mark)), 1))
		return r
	}
	if m := numberThen.FindStringSubmatch(text); m != nil {
		if d, err := ParseDecimal(m[1], markOr(mark)); err == nil && mark != 0 {
			return r.withUnit(d, m[1], m[2], unit)
		}
	}
	r.rule, r.details = "log-number", "this is not a plain number"
	if m := aboutThen.FindStringSubmatch(text); m != nil {
		if one := readNumber(m[1], mark, unit); one.ok {
			r.expected = issue.Literal(strings.Replace(one.decimal.String(), ".", string(markOr(mark)), 1))
		}
	}
	if clock, ok := readTimeOfDay(text); ok && unit == "min" {
		r.details = "this is a time of day, not a number of minutes"
		r.expected = issue.T("perhaps {}", int(clock.Minutes()))
	}
	if m := yearFirst.FindStringSubmatch(text); m != nil {
		// Where dates are written 22.5., spreadsheets take 22.5 for one.
		r.details = "this is a date, not a number; spreadsheets turn some numbers into dates"
		r.expected = issue.T("perhaps {}", strings.TrimLeft(m[3], "0")+string(markOr(mark))+strings.TrimLeft(m[2], "0"))
	}
	return r
}

// withUnit accepts a number followed by the column's own unit.
func (r numberReading) withUnit(d Decimal, number, written, unit string) numberReading {
	ucum, known := ucumOf(strings.TrimSpace(written), columnUnits)
	switch {
	case known && unit != "" && ucum == unit:
		r.decimal, r.ok = d, true
		r.rule, r.details = "log-unit-in-cell", "the unit is written in the cell as well as in the heading"
	case unit != "" && known:
		r.rule, r.details = "log-number", "the unit after the number is not the one of the column"
		r.expected = issue.T("the same in {}", SpeltUnit(unit))
		return r
	case unit != "":
		r.rule, r.details = "log-number", "there is text after the number that is not the unit of the column"
	default:
		r.rule, r.details = "log-number", "there is text after the number"
	}
	r.expected = issue.Literal(number)
	return r
}

func withoutThousands(text string, mark byte) string {
	var b strings.Builder
	for _, c := range text {
		if c >= '0' && c <= '9' || c == rune(mark) || c == '-' {
			b.WriteRune(c)
		}
	}
	return b.String()
}

func otherMark(mark byte) byte {
	if mark == '.' {
		return ','
	}
	return '.'
}

func looksDecimal(text string) bool {
	for _, mark := range []byte{'.', ','} {
		if strings.IndexByte(text, mark) >= 0 {
			if _, err := ParseDecimal(text, mark); err == nil {
				return true
			}
		}
	}
	return false
}

// markEvidence counts the numbers of a file that prove its decimal mark.
type markEvidence struct {
	point, comma int // numbers that can only be decimals with this mark
	either       int // 1.250 and 1,250: decimals or thousands
}

// see takes one cell of a number column into account.
func (e *markEvidence) see(text string) {
	text = strings.TrimLeft(text, "<>=≤≥ ")
	at := strings.LastIndexAny(text, ".,")
	if at < 0 {
		return
	}
	mark := text[at]
	if strings.Count(text, string(mark)) > 1 {
		return
	}
	whole, fraction := strings.TrimLeft(text[:at], "-+\u2212"), text[at+1:]
	if !onlyDigits(fraction) || fraction == "" {
		return
	}
	certain := len(fraction) != 3 || strings.HasPrefix(whole, "0") || whole == "" || len(whole) > 3
	if !onlyDigits(whole) {
		// 1.234,5: both marks in one number; the last is the decimal mark.
		if !strings.ContainsRune(whole, rune(otherMark(mark))) {
			return
		}
		certain = true
	}
	switch {
	case !certain:
		e.either++
	case mark == '.':
		e.point++
	default:
		e.comma++
	}
}

// mark is the decimal mark the file's numbers show: the one that most of the
// certain ones have, so that the few others become findings at their cells; 0
// when they do not settle it.
func (e *markEvidence) mark() byte {
	switch {
	case e.point > e.comma:
		return '.'
	case e.comma > e.point:
		return ','
	case e.point == 0 && e.either == 0:
		return '.' // no number has a mark at all
	default:
		return 0
	}
}
