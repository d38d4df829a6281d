package workbook

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// rendered is a cell as text: what the person sees, with no digit less.
type rendered struct {
	text string
	// number marks a plain number, written with a point.
	number bool
	// trouble is a rule about the cell, "" when there is none.
	trouble, details string
	// shown is what the cell shows when that is less than it holds.
	shown string
	// suffix are the words that the cell shows after its number.
	suffix string
}

// render turns a cell into text. Dates become year-month-day and times
// hour:minute whatever way they are shown.
func (b *book) render(c rawCell) rendered {
	switch c.kind {
	case "s":
		shared, ok := b.shared(c)
		if !ok {
			return rendered{trouble: "log-cell-error", details: "the cell refers to a text that is not in the workbook"}
		}
		return rendered{text: shared.text}
	case "inlineStr":
		return rendered{text: c.value}
	case "str":
		return rendered{text: unescape(c.value)}
	case "b":
		if isTrue(c.value) {
			return rendered{text: "TRUE"}
		}
		return rendered{text: "FALSE"}
	case "e":
		return rendered{text: c.value, trouble: "log-cell-error", details: "the cell shows an error of the spreadsheet, not a value"}
	case "d":
		return rendered{text: isoText(c.value)}
	}
	if c.formula && !c.filled {
		return rendered{trouble: "log-formula-empty", details: "the formula in this cell was never worked out, so it has no value"}
	}
	return b.renderNumber(c)
}

func (b *book) renderNumber(c rawCell) rendered {
	number, err := strconv.ParseFloat(strings.TrimSpace(c.value), 64)
	if err != nil || math.IsInf(number, 0) || math.IsNaN(number) {
		return rendered{text: c.value}
	}
	s := b.format(c.style).shape
	if c.formula {
		number = withoutResidue(number)
	}
	switch {
	case s.date || s.clock:
		if text, ok := b.renderTime(number, s); ok {
			return rendered{text: text}
		}
	case s.percent:
		return rendered{text: padTo(shortestDecimal(withoutResidue(number*100)), s.decimals) + "%"}
	}
	out := rendered{text: padTo(shortestDecimal(number), s.decimals), number: true, suffix: strings.TrimSpace(s.suffix)}
	if _, fraction, _ := strings.Cut(out.text, "."); s.rounds && len(fraction) > s.most {
		out.shown = strconv.FormatFloat(number, 'f', s.most, 64)
	}
	return out
}

// shared is the shared text that a cell refers to.
func (b *book) shared(c rawCell) (cellString, bool) {
	i, err := strconv.Atoi(c.value)
	if err != nil || i < 0 || i >= len(b.texts) {
		return cellString{}, false
	}
	return b.texts[i], true
}

// strikes reports a cell that is struck through, or a part of its text.
func (b *book) strikes(c rawCell) bool {
	if shared, ok := b.shared(c); ok && c.kind == "s" && shared.struck {
		return true
	}
	return c.struck || b.format(c.style).struck
}

// padTo adds the zeros that a format of fixed decimals shows. Digits beyond
// them stay.
func padTo(decimal string, decimals int) string {
	_, fraction, _ := strings.Cut(decimal, ".")
	return pad(decimal, decimals-len(fraction))
}

// residueDigits is the precision that a worked-out number is taken to have:
// programs store 15 digits, and sums and differences of typed numbers carry
// the rest of binary arithmetic in the last few.
const residueDigits = 12

// withoutResidue rounds the result of a calculation so that 71.6 - 70.2 is
// 1.4 and not 1.3999999999999915.
func withoutResidue(number float64) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(number, 'e', residueDigits-1, 64), 64)
	if err != nil {
		return number
	}
	return rounded
}

// firstDialysis is the year in which a person was first dialysed (Kolff).
const firstDialysis = 1943

// lastSerial is 31 December 9999 in the epoch of 1900.
const lastSerial = 2958465

// renderTime writes a day number as date, time of day or both. ok is false
// for numbers that are no day of a log.
func (b *book) renderTime(serial float64, s shape) (string, bool) {
	if serial < 0 || serial > lastSerial {
		return "", false
	}
	day := int(math.Floor(serial))
	seconds := int(math.Round((serial - math.Floor(serial)) * secondsPerDay))
	if seconds == secondsPerDay {
		day, seconds = day+1, 0
	}
	if s.elapsed || s.clock && !s.date && day == 1 {
		return renderClock(day*secondsPerDay + seconds), true // such as 24:00 or 25:30
	}
	if day == 0 && (s.clock || seconds > 0) {
		return renderClock(seconds), true
	}
	epoch := epoch1900
	if b.from1904 {
		epoch = epoch1904
	}
	date := epoch.AddDate(0, 0, day)
	if date.Before(firstSerialDay) || s.clock && !s.date && date.Year() < firstDialysis {
		return "", false // 1830 typed into a cell for times, not a day of 1905
	}
	text := date.Format(time.DateOnly)
	if s.clock || seconds > 0 {
		text += " " + renderClock(seconds)
	}
	return text, true
}

// isoText writes an ISO 8601 date and time as the log has it.
func isoText(text string) string {
	text = strings.TrimSuffix(strings.TrimSuffix(text, "Z"), "T00:00:00")
	date, clock, both := strings.Cut(text, "T")
	if !both {
		return text
	}
	at, err := time.Parse(time.TimeOnly, clock)
	if err != nil {
		return date + " " + clock
	}
	return fmt.Sprintf("%s %s", date, renderClock(at.Hour()*3600+at.Minute()*60+at.Second()))
}
