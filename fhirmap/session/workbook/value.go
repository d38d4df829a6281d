package workbook

import (
	"math"
	"strconv"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
)

// value writes a text of the log into a cell: as a number, date or time when
// reading that back gives the very same text, and as text when not.
func (w *writer) value(sheet string, column, row int, kind session.Kind, text string, styles *valueStyles) {
	if text == "" {
		return
	}
	name := cellName(column, row)
	number, style, ok := w.typed(kind, text, styles)
	if !ok {
		w.set(sheet, name, text)
		if looksLikeFormula(text) {
			// Editing the cell would make a formula of it.
			w.style(sheet, column, row, styles.typed)
		}
		return
	}
	w.do(w.file.SetCellFloat(sheet, name, number, -1, 64))
	w.style(sheet, column, row, style)
}

// looksLikeFormula reports a text that spreadsheets take for a formula when
// it is typed or read from a CSV file.
func looksLikeFormula(text string) bool {
	return text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0]))
}

// typed finds the number that a workbook stores for a text.
func (w *writer) typed(kind session.Kind, text string, styles *valueStyles) (number float64, style int, ok bool) {
	switch kind {
	case session.KindNumber:
		return w.typedNumber(text, styles)
	case session.KindDate:
		day, err := time.Parse(time.DateOnly, text)
		if err != nil || day.Before(firstSerialDay) {
			return 0, 0, false
		}
		return day.Sub(epoch1900).Hours() / 24, styles.date, true
	case session.KindTime:
		layout, style := "15:04", styles.clock
		if strings.Count(text, ":") == 2 {
			layout, style = time.TimeOnly, styles.seconds
		}
		clock, err := time.Parse(layout, text)
		seconds := clock.Hour()*3600 + clock.Minute()*60 + clock.Second()
		if err != nil || renderClock(seconds) != text {
			return 0, 0, false
		}
		return float64(seconds) / secondsPerDay, style, true
	}
	return 0, 0, false
}

// typedNumber accepts a number that its shortest decimal, with zeros after
// it, gives back.
func (w *writer) typedNumber(text string, styles *valueStyles) (float64, int, bool) {
	d, err := session.ParseDecimal(text, w.mark)
	if err != nil || strings.Replace(d.String(), ".", string(w.mark), 1) != text {
		return 0, 0, false
	}
	number := d.Float64()
	_, fraction, _ := strings.Cut(d.String(), ".")
	shortest := shortestDecimal(number)
	_, short, _ := strings.Cut(shortest, ".")
	switch {
	case math.Signbit(number) && number == 0:
		return 0, 0, false // minus zero
	case shortest == d.String():
		return number, styles.number, true
	case len(fraction) <= maxDecimals && pad(shortest, len(fraction)-len(short)) == d.String():
		return number, styles.fixed[len(fraction)], true
	}
	return 0, 0, false
}

// shortestDecimal is the shortest decimal that is the stored number (Steele
// and White 1990), without exponent.
func shortestDecimal(number float64) string {
	return strconv.FormatFloat(number, 'f', -1, 64)
}

// pad adds zeros to the decimals of a number.
func pad(decimal string, zeros int) string {
	if zeros <= 0 {
		return decimal
	}
	if !strings.Contains(decimal, ".") {
		decimal += "."
	}
	return decimal + strings.Repeat("0", zeros)
}
