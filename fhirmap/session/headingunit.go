package session

import "strings"

// headingUnits are the units that a heading may name in place of the log's
// own, as endings of a column's name.
var headingUnits = []struct{ own, other, unit string }{
	{"_kg", "_lb", "lb"}, {"_c", "_f", "°F"}, {"_l", "_ml", "mL"},
}

// NameIn is the name of a column with another unit in it, or the column's own:
// weight_before_kg in "lb" is weight_before_lb. ok is false for a unit that
// the column cannot have in its heading.
func NameIn(sheet Sheet, name, unit string) (in string, ok bool) {
	c, written, known := columnHeaded(sheet, name)
	if !known || c.Kind != KindNumber || c.Unit == "" || strings.TrimSpace(unit) == "" {
		return "", false
	}
	if written.name != "" {
		c, _ = columnNamed(sheet, ownName(c.Name, written))
	}
	_, u, err := ColumnIn(sheet, c.Field, unit)
	if own, spelt := ucumOf(unit, columnUnits); spelt && own == c.Unit {
		return c.Name, true
	}
	for _, h := range headingUnits {
		if stem, has := strings.CutSuffix(c.Name, h.own); has && err == nil && u.name == h.unit {
			return stem + h.other, true
		}
	}
	return "", false
}

// ownName is the name of a column as the log has it.
func ownName(name string, written Unit) string {
	for _, h := range headingUnits {
		if stem, has := strings.CutSuffix(name, h.other); has && h.unit == written.name {
			return stem + h.own
		}
	}
	return name
}

// columnHeaded finds the column that a heading names, in the unit that the
// heading names: weight_before_lb is the column weight_before_kg in pounds.
func columnHeaded(sheet Sheet, heading string) (*Column, Unit, bool) {
	if c, ok := columnNamed(sheet, heading); ok {
		return c, Unit{}, true
	}
	plain := plainHeading(heading)
	for _, h := range headingUnits {
		stem, has := strings.CutSuffix(plain, h.other)
		if !has {
			continue
		}
		c, ok := columnNamed(sheet, stem+h.own)
		if !ok || c.Kind != KindNumber {
			continue
		}
		if _, u, err := ColumnIn(sheet, c.Field, h.unit); err == nil && u.name == h.unit {
			in := *c
			in.Name, in.Unit = plain, u.code
			return &in, u, true
		}
	}
	return nil, Unit{}, false
}

// Units are the units that an empty log asks for body weight and temperature
// in. The zero value is the log's own: kg and °C.
type Units string

// USUnits are pounds and degrees Fahrenheit.
const USUnits Units = "us"

// ColumnsOf are the columns of a sheet as an empty log in these units has them.
func (u Units) ColumnsOf(sheet Sheet) []Column {
	var columns []Column
	for _, c := range Columns {
		if c.Sheet != sheet {
			continue
		}
		if u == USUnits && (strings.Contains(string(c.Field), "weight") || strings.HasPrefix(string(c.Field), "temperature")) {
			unit := map[string]string{"kg": "lb", "Cel": "°F"}[c.Unit]
			name, _ := NameIn(sheet, c.Name, unit)
			in, _, _ := columnHeaded(sheet, name)
			c.Hint = strings.NewReplacer("kg", unit, "°C", unit).Replace(c.Hint)
			c.Name, c.Unit = in.Name, in.Unit
		}
		columns = append(columns, c)
	}
	return columns
}
