package workbook

import (
	"strings"
	"sync"

	"runsheet.example/fhirmap/session"
)

// titled is the column of a name as it is shown, in the unit of the name.
func titled(sheet session.Sheet, name string) session.Column {
	return columnsByName()[sheetHeading{sheet, name}]
}

// inOtherUnit are the units that a heading may name instead of the log's own.
var inOtherUnit = []string{"lb", "°F", "mL"}

// shown are the ways a column is shown: in its own unit first, then in others.
func shown(c session.Column) []session.Column {
	all := []session.Column{c}
	for _, unit := range inOtherUnit {
		if other, ok := session.NameIn(c.Sheet, c.Name, unit); ok && other != c.Name {
			in := c
			in.Name, in.Title = other, inBrackets.ReplaceAllString(c.Title, "("+unit+")")
			all = append(all, in)
		}
	}
	return all
}

// columnsByName are the columns in every unit, by their names.
var columnsByName = sync.OnceValue(func() map[sheetHeading]session.Column {
	byName := map[sheetHeading]session.Column{}
	for _, c := range session.Columns {
		for _, shown := range shown(c) {
			key := sheetHeading{c.Sheet, shown.Name}
			if _, taken := byName[key]; !taken {
				byName[key] = shown
			}
		}
	}
	return byName
})

// plain is a heading without the differences that people and line breaks
// make. A hyphen before a break of ours is no part of the word.
func plain(heading string) string {
	heading = strings.ReplaceAll(strings.Join(strings.Fields(strings.ToLower(heading)), " "), "- ", "")
	return strings.Join(strings.FieldsFunc(heading, func(r rune) bool {
		return strings.ContainsRune(" _-,.()[]/", r)
	}), " ")
}

// columnByTitle finds the column that a friendly heading stands for, or that
// an exact name names.
func columnByTitle(sheet session.Sheet, heading string) (string, bool) {
	wanted := plain(heading)
	if wanted == "" {
		return "", false
	}
	name, ok := namesByHeading()[sheetHeading{sheet, wanted}]
	return name, ok
}

// sheetHeading is a heading of a sheet: the plain words of one, or a name.
type sheetHeading struct {
	sheet session.Sheet
	text  string
}

// namesByHeading are the names of the columns by all that may stand for them.
var namesByHeading = sync.OnceValue(func() map[sheetHeading]string {
	names := map[sheetHeading]string{{session.SheetSessions, plain("Urine (L)")}: "urine_l"} // of workbooks written earlier
	for _, c := range session.Columns {
		for _, shown := range shown(c) {
			names[sheetHeading{c.Sheet, plain(shown.Title)}] = shown.Name
			names[sheetHeading{c.Sheet, plain(shown.Name)}] = shown.Name
		}
	}
	return names
})
