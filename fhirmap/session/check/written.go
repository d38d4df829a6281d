package check

import (
	"maps"
	"regexp"
	"slices"
	"strconv"

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

// inColumnUnits is a log to be checked: the log itself, or a copy in which
// numbers of other units stand in those of the columns, with their text as
// written. units are the units that the cells are written in.
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

var numberIn = regexp.MustCompile(`(-?\d+(?:\.\d+)?)( to (-?\d+(?:\.\d+)?))? (kg|L|°C|min)\b`)

// inWritten says what was expected in the unit of the finding's cell.
func inWritten(expected, unit string) string {
	in := ofColumn[unit]
	back := func(text string) string {
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
	return numberIn.ReplaceAllStringFunc(expected, func(found string) string {
		m := numberIn.FindStringSubmatch(found)
		if m[4] != in.own {
			return found
		}
		if m[3] != "" {
			return back(m[1]) + " to " + back(m[3]) + " " + in.written
		}
		return back(m[1]) + " " + in.written
	})
}
