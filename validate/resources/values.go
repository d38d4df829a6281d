package resources

import (
	"bytes"
	"strconv"
	"time"

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
	const leap = "2006-01-02T15:04:60"
	written, extra := string(text), int64(0)
	if len(written) > len(leap) && written[len(leap)-2:len(leap)] == "60" {
		written, extra = written[:len(leap)-2]+"59"+written[len(leap):], 1
	}
	at, err := time.Parse(time.RFC3339, written)
	return at.Unix() + extra, err == nil
}

// In converts the number to another UCUM unit. It returns false if the units
// are not convertible, or unit is "".
func (q Quantity) In(unit string) (float64, bool) {
	if string(q.Unit) == unit || unit == "" {
		return q.Number, unit != ""
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
