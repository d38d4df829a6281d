package resources

import (
	"bytes"
	"strconv"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/ucum"
)

// Quantity is a Quantity with a number and a UCUM code.
type Quantity struct {
	Node doc.Node
	// Number is for arithmetic; Text is the number as written.
	Number float64
	Text   []byte
	// Unit is the UCUM code.
	Unit []byte
}

// Quantity reads a Quantity element. It returns false without an exact number
// (a comparator makes it inexact) or without a UCUM code.
func (r *Index) Quantity(n doc.Node) (Quantity, bool) {
	d := r.Doc
	value, unit := doc.None, doc.None
	ucum := false
	for m := d.FirstChild(n); m != doc.None; m = d.Next(m) {
		switch string(d.Key(m)) {
		case "value":
			value = m
		case "code":
			unit = m
		case "system":
			ucum = d.Is(m, profiles.UCUM)
		case "comparator":
			return Quantity{}, false
		}
	}
	if d.Kind(value) != doc.Number || !ucum || len(d.Str(unit)) == 0 || d.Malformed(value) {
		return Quantity{}, false
	}
	text := d.Raw(value)
	number, err := strconv.ParseFloat(string(text), 64)
	if err != nil {
		return Quantity{}, false
	}
	return Quantity{Node: n, Number: number, Text: text, Unit: d.Str(unit)}, true
}

// Pressure is a blood pressure reading.
type Pressure struct{ Systolic, Diastolic Quantity }

// Pressure reads the components of a blood pressure panel; an absent half is
// zero.
func (r *Index) Pressure(res *Resource) (Pressure, bool) {
	if !res.IsPressure {
		return Pressure{}, false
	}
	d := r.Doc
	var p Pressure
	for c := d.FirstChild(res.Component); c != doc.None; c = d.Next(c) {
		q, ok := r.Quantity(d.Get(c, "valueQuantity"))
		code := d.Get(c, "code")
		switch {
		case !ok:
		case r.HasCoding(code, profiles.SystolicCode):
			p.Systolic = q
		case r.HasCoding(code, profiles.DiastolicCode):
			p.Diastolic = q
		}
	}
	return p, p.Systolic.Text != nil || p.Diastolic.Text != nil
}

// Span is a period. Start and End are seconds since 1970 UTC, equal for a
// moment. A bound that is absent or known to the day only is not set.
type Span struct {
	Start, End       int64
	HasStart, HasEnd bool
}

// span reads an effective[x] or performed[x].
func (r *Index) span(n doc.Node) Span {
	if raw := r.Doc.Raw(n); r.lastTime == nil || !bytes.Equal(raw, r.lastTime) {
		r.lastTime, r.lastSpan = raw, r.readSpan(n)
	}
	return r.lastSpan
}

func (r *Index) readSpan(n doc.Node) Span {
	d := r.Doc
	if d.Kind(n) == doc.Object {
		var s Span
		s.Start, s.HasStart = Seconds(d.Str(d.Get(n, "start")))
		s.End, s.HasEnd = Seconds(d.Str(d.Get(n, "end")))
		return s
	}
	at, ok := Seconds(d.Str(n))
	return Span{at, at, ok, ok}
}

// Seconds reads a FHIR instant or dateTime with a time of day as whole seconds
// since 1970 UTC. It returns false for a date and for anything malformed.
func Seconds(text []byte) (int64, bool) {
	const shape = "0000-00-00T00:00:00"
	if len(text) < len(shape)+1 {
		return 0, false
	}
	for i := range shape {
		digit := text[i] >= '0' && text[i] <= '9'
		if (shape[i] == '0') != digit || !digit && text[i] != shape[i] {
			return 0, false
		}
	}
	number := func(from, to int) int64 {
		n := int64(0)
		for _, c := range text[from:to] {
			n = n*10 + int64(c-'0')
		}
		return n
	}
	offset, ok := zone(text[len(shape):])
	if !ok {
		return 0, false
	}
	days := daysSince1970(number(0, 4), number(5, 7), number(8, 10))
	return ((days*24+number(11, 13))*60+number(14, 16))*60 + number(17, 19) - offset, true
}

// zone reads the text after the seconds, a fraction and "Z" or an offset, and
// returns the offset in seconds.
func zone(rest []byte) (int64, bool) {
	if rest[0] == '.' {
		rest = bytes.TrimLeft(rest[1:], "0123456789")
	}
	if len(rest) == 1 && rest[0] == 'Z' {
		return 0, true
	}
	if len(rest) != len("+00:00") || rest[3] != ':' || rest[0] != '+' && rest[0] != '-' {
		return 0, false
	}
	for _, i := range [...]int{1, 2, 4, 5} {
		if rest[i] < '0' || rest[i] > '9' {
			return 0, false
		}
	}
	minutes := (int64(rest[1]-'0')*10+int64(rest[2]-'0'))*60 + int64(rest[4]-'0')*10 + int64(rest[5]-'0')
	if rest[0] == '-' {
		minutes = -minutes
	}
	return minutes * 60, true
}

// daysSince1970 counts days of the Gregorian calendar. Its year begins in
// March, so that the leap day comes last.
func daysSince1970(year, month, day int64) int64 {
	if month <= 2 {
		year--
		month += 12
	}
	era := year / 400
	yearOfEra := year - era*400
	dayOfYear := (153*(month-3)+2)/5 + day - 1
	dayOfEra := yearOfEra*365 + yearOfEra/4 - yearOfEra/100 + dayOfYear
	const daysPerEra, epoch = 146097, 719468
	return era*daysPerEra + dayOfEra - epoch
}

// In converts the number to another UCUM unit. It returns false if the units
// are not convertible.
func (q Quantity) In(unit string) (float64, bool) {
	if string(q.Unit) == unit {
		return q.Number, true
	}
	for i := range usual {
		if c := &usual[i]; c.to == unit && c.from == string(q.Unit) {
			return q.Number * c.times / c.by, true
		}
	}
	number, err := ucum.Convert(q.Number, string(q.Unit), unit)
	return number, err == nil
}

// usual holds the conversions that nearly every record needs; other
// conversions go through package ucum.
var usual = [...]struct {
	from, to  string
	times, by float64
}{
	{"mL", "L", 1, 1000}, {"L", "mL", 1000, 1}, {"h", "min", 60, 1}, {"g", "kg", 1, 1000},
	{"L/h", "mL/min", 1000, 60}, {"L/h", "mL/h", 1000, 1}, {"mL/h", "L/h", 1, 1000}, {"mL/min", "L/h", 60, 1000},
}
