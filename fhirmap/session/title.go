package session

import (
	"strings"
	"sync"
)

// PlainTitle is a heading without the differences that people and line breaks
// make. A hyphen before a break of ours is no part of the word.
func PlainTitle(heading string) string {
	heading = strings.ReplaceAll(strings.Join(strings.Fields(strings.ToLower(heading)), " "), "- ", "")
	return strings.Join(strings.FieldsFunc(heading, func(r rune) bool {
		return strings.ContainsRune(" _-,.()[]/", r)
	}), " ")
}

// ColumnTitled finds the column with this title or this exact name.
func ColumnTitled(sheet Sheet, heading string) (string, bool) {
	wanted := PlainTitle(heading)
	if wanted == "" {
		return "", false
	}
	name, ok := namesByHeading()[sheetHeading{sheet, wanted}]
	return name, ok
}

// sheetHeading is a heading of a sheet: the plain words of one, or a name.
type sheetHeading struct {
	sheet Sheet
	text  string
}

// namesByHeading are the names of the columns by each accepted heading.
var namesByHeading = sync.OnceValue(func() map[sheetHeading]string {
	names := map[sheetHeading]string{{SheetSessions, PlainTitle("Urine (L)")}: "urine_l"} // of workbooks written earlier
	for _, c := range Headings() {
		names[sheetHeading{c.Sheet, PlainTitle(c.Title)}] = c.Name
		names[sheetHeading{c.Sheet, PlainTitle(c.Name)}] = c.Name
	}
	return names
})
