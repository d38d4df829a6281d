package session

import (
	"regexp"
	"slices"
	"strings"
)

// headingUnits are the units that a heading may name in place of the log's
// own, as endings of a column's name.
var headingUnits = []struct{ own, other, unit string }{
	{"_kg", "_lb", "lb"}, {"_c", "_f", "°F"}, {"_l", "_ml", "mL"},
}

// headed is a column as a heading names it: weight_before_lb is the column
// weight_before_kg in pounds.
type headed struct {
	Column          // with the name, title and unit of the heading
	own     *Column // as the log has it
	written Unit    // zero for the log's own
}

type headingKey struct {
	sheet Sheet
	name  string
}

var inBrackets = regexp.MustCompile(`[(\[][^)\]]*[)\]]\s*$`)

// headings are the columns in every unit that a heading may name, each in its
// own first.
var headings, headingsByName = func() (all []*headed, byName map[headingKey]*headed) {
	byName = map[headingKey]*headed{}
	for i := range Columns {
		c := &Columns[i]
		own := &headed{Column: *c, own: c}
		byName[headingKey{c.Sheet, c.Name}] = own
		all = append(all, own)
		for _, h := range headingUnits {
			stem, has := strings.CutSuffix(c.Name, h.own)
			_, u, err := ColumnIn(c.Sheet, c.Field, h.unit)
			if !has || c.Kind != KindNumber || err != nil || u.name != h.unit {
				continue
			}
			in := headed{*c, c, u}
			in.Name, in.Unit, in.Title = stem+h.other, u.code, inBrackets.ReplaceAllString(c.Title, "("+h.unit+")")
			all = append(all, &in)
			if key := (headingKey{c.Sheet, in.Name}); byName[key] == nil {
				byName[key] = &in
			}
		}
	}
	return all, byName
}()

// Headings are the columns in every unit that a heading may name in place of
// the log's own, with their names and titles in it.
func Headings() []Column {
	var columns []Column
	for _, h := range headings {
		columns = append(columns, h.Column)
	}
	return columns
}

// Headed is the column of an exact name, which may hold another unit than the
// log's own.
func Headed(sheet Sheet, name string) Column {
	if h, ok := headingsByName[headingKey{sheet, name}]; ok {
		return h.Column
	}
	return Column{}
}

// columnHeaded finds the column that a heading names, in the unit that the
// heading names.
func columnHeaded(sheet Sheet, heading string) (*headed, bool) {
	h, ok := headingsByName[headingKey{sheet, plainHeading(heading)}]
	return h, ok
}

// NameIn is the name of a column with another unit in it, or the column's own:
// weight_before_kg in "lb" is weight_before_lb. ok is false for a unit that
// the column cannot have in its heading.
func NameIn(sheet Sheet, name, unit string) (in string, ok bool) {
	c, known := columnHeaded(sheet, name)
	if !known || c.Kind != KindNumber || c.Unit == "" || strings.TrimSpace(unit) == "" {
		return "", false
	}
	if own, spelt := ucumOf(unit, columnUnits); spelt && own == c.own.Unit {
		return c.own.Name, true
	}
	_, u, err := ColumnIn(sheet, c.Field, unit)
	at := slices.IndexFunc(headings, func(h *headed) bool { return h.own == c.own && u.name != "" && h.written.name == u.name })
	if err != nil || at < 0 {
		return "", false
	}
	return headings[at].Name, true
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
			in := Headed(sheet, name)
			c.Hint = strings.NewReplacer("kg", unit, "°C", unit).Replace(c.Hint)
			c.Name, c.Unit = in.Name, in.Unit
		}
		columns = append(columns, c)
	}
	return columns
}
