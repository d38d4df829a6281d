package session

import (
	"slices"
	"strings"
	"sync"

	"runsheet.example/validate/issue"
)

// PlainTitle is a heading without the differences that people and line breaks
// make. A hyphen before a break of ours is no part of the word.
func PlainTitle(heading string) string {
	heading = strings.ReplaceAll(strings.Join(strings.Fields(strings.ToLower(heading)), " "), "- ", "")
	return strings.Join(strings.FieldsFunc(heading, func(r rune) bool {
		return strings.ContainsRune(" _-,.()[]/", r)
	}), " ")
}

// Words are the title of a column without the places where a narrow heading is
// broken, and the unit in it as people write it.
func Words(c Column) (title, unit string) {
	title, unit, _ = strings.Cut(c.Title, " (")
	title = strings.ReplaceAll(strings.ReplaceAll(title, "Rinse- ", "Rinse-"), "- ", "")
	return title, strings.ReplaceAll(strings.TrimSuffix(unit, ")"), "/ ", "/")
}

// TitleIn is the title of a column in a language, with its unit.
func TitleIn(l issue.Language, c Column) string {
	title, unit := Words(c)
	words := l.Text(issue.T(title))
	switch {
	case words == title:
		return c.Title
	case unit == "":
		return words
	}
	return words + " (" + l.Text(issue.T(unit)) + ")"
}

// synonyms are words that mean exactly one of the words of a column (common practice).
var synonyms = map[string]string{
	"lock": "catheter lock", "line lock": "catheter lock", "subcutaneous": "skin", "under the skin": "skin", "s.c.": "skin", "sc": "skin",
	"oral": "mouth", "orally": "mouth", "by mouth": "mouth", "erythropoietin": "ESA", "epo": "ESA",
}

// Chosen finds the choice that a text names in another word or in a language other
// than English, in any case.
func Chosen(choices []string, text string) (choice string, ok bool) {
	plain := plainWords(text)
	if choice = synonyms[plain]; slices.Contains(choices, choice) {
		return choice, true
	}
	for _, tag := range issue.Languages() {
		for _, choice := range choices {
			if words := issue.Language(tag).Text(issue.T(choice)); words != choice && strings.ToLower(words) == plain {
				return choice, true
			}
		}
	}
	return "", false
}

// plainWords is a text in lower case with single spaces.
func plainWords(text string) string { return strings.Join(strings.Fields(strings.ToLower(text)), " ") }

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
		for _, tag := range issue.Languages() {
			names[sheetHeading{c.Sheet, PlainTitle(TitleIn(issue.Language(tag), c))}] = c.Name
		}
	}
	for _, c := range Headings() { // which no translation of another displaces
		names[sheetHeading{c.Sheet, PlainTitle(c.Title)}] = c.Name
		names[sheetHeading{c.Sheet, PlainTitle(c.Name)}] = c.Name
	}
	return names
})
