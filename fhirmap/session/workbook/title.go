package workbook

import (
	"strings"
	"sync"

	"runsheet.example/fhirmap/session"
)

// plain is a heading without the differences that people and line breaks
// make. A hyphen before a break of ours is no part of the word.
func plain(heading string) string {
	heading = strings.ReplaceAll(strings.Join(strings.Fields(strings.ToLower(heading)), " "), "- ", "")
	return strings.Join(strings.FieldsFunc(heading, func(r rune) bool {
		return strings.ContainsRune(" _-,.()[]/", r)
	}), " ")
}

// columnByTitle finds the column with this title or this exact name.
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

// namesByHeading are the names of the columns by each accepted heading.
var namesByHeading = sync.OnceValue(func() map[sheetHeading]string {
	names := map[sheetHeading]string{{session.SheetSessions, plain("Urine (L)")}: "urine_l"} // of workbooks written earlier
	for _, c := range session.Headings() {
		names[sheetHeading{c.Sheet, plain(c.Title)}] = c.Name
		names[sheetHeading{c.Sheet, plain(c.Name)}] = c.Name
	}
	return names
})
