package check

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// inUnit turns numbers of a unit that a column map allows into the unit of
// the log's own column: times factor, plus offset. The pound is exact by
// definition (1959).
type inUnit struct {
	unit           string
	factor, offset float64
	// written and own are the two units as people write them; decimals are
	// those of a suggestion in the unit written.
	written, own string
	decimals     int
}

var ofColumn = map[string]inUnit{
	"[lb_av]": {"kg", kgPerPound, 0, "lb", "kg", 1},
	"g":       {"kg", 0.001, 0, "g", "kg", 0},
	"mL":      {"L", 0.001, 0, "mL", "L", 0},
	"[degF]":  {"Cel", fahrenheitOne, fahrenheitOff, "°F", "°C", 1},
	"h":       {"min", 60, 0, "h", "min", 2},
}

// inColumnUnits returns the log itself, or a copy with all numbers converted to
// the units of their columns and their text as written. units are the written
// units of the cells.
func inColumnUnits(log *session.Log) (copied *session.Log, units map[issue.Cell]string) {
	units = map[issue.Cell]string{}
	for _, s := range log.Sessions {
		foreign(s.Values, units)
		for _, r := range s.Readings {
			foreign(r.Values, units)
		}
	}
	for _, p := range log.About.Prescriptions {
		foreign(p.Values, units)
	}
	if len(units) == 0 {
		return log, nil
	}
	all := *log
	all.About.Prescriptions = slices.Clone(log.About.Prescriptions)
	for i := range all.About.Prescriptions {
		all.About.Prescriptions[i].Values = converted(log.About.Prescriptions[i].Values)
	}
	all.Sessions = make([]*session.Session, len(log.Sessions))
	for i, s := range log.Sessions {
		one := *s
		one.Values = converted(s.Values)
		one.Readings = make([]*session.Reading, len(s.Readings))
		for j, r := range s.Readings {
			reading := *r
			reading.Values = converted(r.Values)
			one.Readings[j] = &reading
		}
		all.Sessions[i] = &one
	}
	return &all, units
}

func foreign(values map[session.Field]session.Value, units map[issue.Cell]string) {
	for _, v := range values {
		if _, ok := ofColumn[v.Unit]; ok {
			units[v.Cell] = v.Unit
		}
	}
}

func converted(values map[session.Field]session.Value) map[session.Field]session.Value {
	out := maps.Clone(values)
	for field, v := range values {
		in, ok := ofColumn[v.Unit]
		if !ok {
			continue
		}
		v.Unit = in.unit
		if v.OK() {
			number := v.Decimal.Float64()*in.factor + in.offset
			d, err := session.ParseDecimal(strconv.FormatFloat(number, 'f', 6, 64), '.')
			if err != nil {
				v.Absence = session.Unreadable
			}
			v.Decimal = d
		}
		out[field] = v
	}
	return out
}

// quantity is a number with its unit.
func quantity(number, ucum string) issue.Text {
	return issue.T("{} {}", number, issue.T(spoken(ucum)))
}

// bare is a quantity without its unit, for the lower end of a range.
func bare(number, ucum string) issue.Text {
	return issue.T("{}", number, issue.T(spoken(ucum)))
}

// withComma writes the quantities of a text with a decimal comma.
func withComma(text issue.Text) issue.Text {
	text.Args = slices.Clone(text.Args)
	for i, arg := range text.Args {
		q, ok := arg.(issue.Text)
		if !ok {
			continue
		}
		q = withComma(q)
		if len(q.Args) == 2 { // a quantity has its unit beside it
			number, written := q.Args[0].(string)
			if _, unit := q.Args[1].(issue.Text); written && unit {
				q.Args[0] = strings.Replace(number, ".", ",", 1)
			}
		}
		text.Args[i] = q
	}
	return text
}

// inWritten converts the expected value to the unit of the finding's cell.
func (in inUnit) inWritten(expected issue.Text) issue.Text {
	expected.Args = slices.Clone(expected.Args)
	for i, arg := range expected.Args {
		q, ok := arg.(issue.Text)
		if !ok || len(q.Args) != 2 {
			continue
		}
		if unit, ok := q.Args[1].(issue.Text); ok && unit.Key == in.own {
			q.Args = []any{in.back(fmt.Sprint(q.Args[0])), issue.T(in.written)}
			expected.Args[i] = q
		}
	}
	return expected
}

// back turns a number of the column into the unit written.
func (in inUnit) back(text string) string {
	number, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	rounded, err := strconv.ParseFloat(strconv.FormatFloat((number-in.offset)/in.factor, 'f', in.decimals, 64), 64)
	if err != nil {
		return text
	}
	return short(rounded)
}
