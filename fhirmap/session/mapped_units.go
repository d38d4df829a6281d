package session

import (
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strings"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// Unit is the unit in which the numbers of a mapped column are written. The
// zero value is the column's own.
type Unit struct {
	// code is the UCUM code the value is kept in.
	code string
	// name is the unit as people write it.
	name string
	form unitForm
	// A number that is converted is multiplied by factor after offset was
	// added, and rounded to decimals beyond those written; nil factors leave
	// it as written.
	factor, offset *big.Rat
	finer          int
}

// unitForm is how a number is written.
type unitForm uint8

const (
	plainNumber unitForm = iota
	stonesAndPounds
	hoursAndMinutes
)

// Code is the UCUM code that the values are kept and sent in.
func (u Unit) Code() string { return u.code }

// Converted reports whether values are sent in another unit than written.
func (u Unit) Converted() bool { return u.factor != nil || u.form != plainNumber }

// foreignUnit is one more unit for columns of a unit. An empty fields list is
// for all of them.
type foreignUnit struct {
	column string // UCUM code of the column
	fields []Field
	forms  []string // ways to write a unit of two parts
	unit   Unit
}

var (
	bodyTemperatures = []Field{"temperature_before", "temperature_after"}
	oneCharge        = []Field{"dialysate_sodium", "dialysate_potassium", "dialysate_bicarbonate", "dialysate_lactate"}
	twoCharges       = []Field{"dialysate_calcium"}
)

// foreignUnits are the units people use beside those of the log. A unit that
// the record takes is kept; the others are converted, with a finding: stones
// and pounds exactly to pounds, hours and minutes to minutes, kPa by
// 1 mm[Hg] = 133.322 Pa (UCUM 2.1), temperatures and charges by definition.
var foreignUnits = []foreignUnit{
	{"kg", nil, nil, Unit{code: "[lb_av]", name: "lb"}},
	{"kg", []Field{"weight_before", "weight_after"}, nil, Unit{code: "g", name: "g"}},
	{"kg", nil, []string{"stlb", "st", "stone", "stones", "stoneandpounds", "st+lb", "st/lb"}, Unit{code: "[lb_av]", name: "st lb", form: stonesAndPounds}},
	{"L", nil, nil, Unit{code: "mL", name: "mL"}},
	{"Cel", bodyTemperatures, nil, Unit{code: "[degF]", name: "°F"}},
	{"Cel", nil, nil, Unit{code: "Cel", name: "°F", factor: big.NewRat(5, 9), offset: big.NewRat(-32, 1)}},
	{"mm[Hg]", nil, nil, Unit{code: "mm[Hg]", name: "kPa", factor: big.NewRat(1_000_000, 133_322)}},
	{"min", nil, nil, Unit{code: "h", name: "h"}},
	{"min", nil, []string{"h:mm", "hh:mm", "h:min", "hmm"}, Unit{code: "min", name: "h:mm", form: hoursAndMinutes}},
	{"mL/min", nil, nil, Unit{code: "mL/min", name: "L/min", factor: big.NewRat(1000, 1)}},
	{"mmol/L", oneCharge, nil, Unit{code: "mmol/L", name: "mEq/L", factor: big.NewRat(1, 1)}},
	{"mmol/L", twoCharges, nil, Unit{code: "mmol/L", name: "mEq/L", factor: big.NewRat(1, 2), finer: 1}},
	{"mmol/L", twoCharges, nil, Unit{code: "mmol/L", name: "mg/dL", factor: big.NewRat(10_000, 40_078), finer: 1}},
}

// ColumnIn finds the column of a field and the unit its numbers are written
// in; written may be empty for the log's own. The error names the units that
// the field can be written in.
func ColumnIn(sheet Sheet, field Field, written string) (Column, Unit, error) {
	first := -1
	plain := strings.ToLower(strings.Join(strings.Fields(written), ""))
	var names []string
	for i, c := range Columns {
		if c.Sheet != sheet || c.Field != field {
			continue
		}
		if first < 0 {
			first = i
		}
		names = append(names, c.Unit)
		if own, known := ucumOf(written, columnUnits); written == "" || written == c.Unit || known && own == c.Unit {
			return c, Unit{}, nil
		}
	}
	if first < 0 {
		return Column{}, Unit{}, fmt.Errorf("the log has no %s.%s", sheet, field)
	}
	c := Columns[first]
	for _, f := range foreignUnits {
		if f.column != c.Unit || f.fields != nil && !slices.Contains(f.fields, field) {
			continue
		}
		names = append(names, f.unit.name)
		if slices.Contains(f.forms, plain) || plainUnit(written) == plainUnit(f.unit.name) {
			return c, f.unit, nil
		}
	}
	return Column{}, Unit{}, fmt.Errorf("%s.%s cannot be written in %q; units: %s", sheet, field, written, strings.Join(slices.Compact(names), ", "))
}

var (
	stonePounds = regexp.MustCompile(`(?i)^(\d{1,3})\s*st(?:ones?|\.)?\s*(?:(\d{1,2}(?:[.,]\d+)?)\s*(?:lbs?\.?|pounds?)?)?$`)
	hourMinutes = regexp.MustCompile(`(?i)^(\d{1,2})\s*[:h]\s*([0-5]\d)\s*(?:h|min)?$`)
)

// numberWritten reads a number in the unit the map states.
func (s *sheetReader) numberWritten(c boundColumn, text string) numberReading {
	u := c.written
	switch u.form {
	case stonesAndPounds:
		return readCompound(text, stonePounds, 14, s.markOf(c.position), issue.T("stones and pounds such as 11 st 4 lb"))
	case hoursAndMinutes:
		return readCompound(text, hourMinutes, 60, s.markOf(c.position), issue.T("hours and minutes such as 4:30"))
	}
	unit := u.code
	if u.factor != nil {
		unit, _ = ucumOf(u.name, columnUnits)
	}
	r := readNumber(text, s.markOf(c.position), unit)
	if r.ok && u.factor != nil {
		r.decimal = u.convert(r.decimal)
	}
	return r
}

// readCompound reads a number in two parts, whole ones of the greater unit
// and a number of the smaller.
func readCompound(text string, form *regexp.Regexp, each int64, mark byte, expected issue.Text) numberReading {
	m := form.FindStringSubmatch(text)
	if m == nil {
		return numberReading{rule: "log-number", details: "this is not written in the two parts that the map declares", expected: expected}
	}
	small := m[2]
	if small == "" {
		small = "0"
	}
	d, err := ParseDecimal(small, markOr(mark))
	if err != nil || d.Float64() >= float64(each) {
		return numberReading{rule: "log-number", details: "this is not written in the two parts that the map declares", expected: expected}
	}
	great, _ := new(big.Rat).SetString(m[1])
	sum, _ := new(big.Rat).SetString(d.String())
	sum.Add(sum, great.Mul(great, big.NewRat(each, 1)))
	return numberReading{ok: true, decimal: Decimal{sum.FloatString(d.decimals())}}
}

// convert is the number in the unit it is kept in, rounded half away from
// zero.
func (u Unit) convert(d Decimal) Decimal {
	number, ok := new(big.Rat).SetString(d.String())
	if !ok {
		return Decimal{}
	}
	if u.offset != nil {
		number.Add(number, u.offset)
	}
	number.Mul(number, u.factor)
	return Decimal{number.FloatString(max(0, d.decimals()+u.finer))}
}

// decimals is the number of digits after the mark.
func (d Decimal) decimals() int {
	_, fraction, _ := strings.Cut(d.text, ".")
	return len(fraction)
}

// noteConversion keeps count of what is sent in another unit than written.
func (s *sheetReader) noteConversion(c boundColumn, v Value) {
	if !c.written.Converted() || !v.OK() {
		return
	}
	if s.converted == nil {
		s.converted = map[int]*conversion{}
	}
	one := s.converted[c.position]
	if one == nil {
		written := v.Text
		if c.written.form == plainNumber {
			written += " " + c.written.name
		}
		one = &conversion{at: v.Cell, written: written, became: v.Decimal.String() + " " + SpeltUnit(v.Unit)}
		s.converted[c.position] = one
	}
	one.count++
}

// SpeltUnit is a UCUM code as people write it.
func SpeltUnit(code string) string { return profiles.UnitOf(code).Symbol }

// OwnUnit reports whether a unit is that of one of the field's own columns;
// only a column map can give a value another.
func OwnUnit(field Field, unit string) bool {
	return slices.ContainsFunc(Columns, func(c Column) bool { return c.Field == field && c.Unit == unit })
}
