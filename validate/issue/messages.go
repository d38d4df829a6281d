package issue

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"runsheet.example/profiles"
)

// Language is a language of findings about a log. The zero value is English,
// in which they are written.
type Language string

// The languages that the program itself names; [Languages] are all.
const (
	English Language = "en"
	German  Language = "de"
)

// vocabulary is what a language has of its own: a language is a column of the
// names in package profiles and one of these.
type vocabulary struct {
	// texts are those of findings, pages and forms, by their English ones.
	texts []map[string]string
	// rules are the texts of the rules that checking a log can raise.
	rules map[string]ruleWords
	// workbook puts the names that parts of a log have in a workbook for those
	// in a folder; row and column are the words of a place.
	workbook    *strings.Replacer
	row, column string
	// decimalMark is the mark that people write in a number, dateStyle the
	// order of a date in a log (see [Language.DateStyle]).
	decimalMark, dateStyle string
}

var vocabularies = map[Language]vocabulary{
	English: {workbook: englishWorkbook, row: "row", column: "column", decimalMark: "."},
	German:  {[]map[string]string{germanTexts, germanReport, germanColumns, germanPages, germanWorkbookTexts, germanUnit}, germanRules, germanWorkbook, "Zeile", "Spalte", ",", "dmy"},
}

// Languages are the languages by their tags (RFC 5646).
func Languages() []string { return slices.Clone(profiles.Languages) }

// ParseLanguage reads the tag of a language.
func ParseLanguage(tag string) (Language, error) {
	switch {
	case tag == "":
		return English, nil
	case slices.Contains(profiles.Languages, tag):
		return Language(tag), nil
	default:
		return English, fmt.Errorf("language %q: expected %s", tag, strings.Join(profiles.Languages, " or "))
	}
}

// DecimalMark is the decimal mark of numbers in the language, "." or ",".
func (l Language) DecimalMark() string { return cmp.Or(vocabularies[l].decimalMark, ".") }

// DateStyle is the order of a date that people type in the language, as a log
// names it, and "" for a language that is written in more than one way.
func (l Language) DateStyle() string { return vocabularies[l].dateStyle }

// Number writes a decimal number as people write it: with the decimal mark of
// the language and a minus sign in place of a hyphen.
func (l Language) Number(decimal string) string {
	return strings.NewReplacer(".", l.DecimalMark(), "-", "−").Replace(decimal)
}

// ruleWords are the texts of a rule in another language.
type ruleWords struct{ what, why, mend string }

// catalogues hold the texts of each language by their keys: those of findings,
// pages and forms, the names of measurements and the advice of rules.
var catalogues = sync.OnceValue(func() map[Language]map[string]string {
	all := map[Language]map[string]string{}
	for l, v := range vocabularies {
		texts := map[string]string{}
		for _, more := range v.texts {
			maps.Copy(texts, more)
		}
		for _, row := range profiles.Rows() {
			if name := row.Name.In(string(l)); name != "" && l != English {
				texts[row.Name.English()] = name
			}
		}
		for _, r := range Rules() {
			if words, ok := v.rules[r.ID]; ok {
				texts[r.Mend] = words.mend
			}
		}
		all[l] = texts
	}
	return all
})

// Finding returns a finding with its texts in the language. Values that were
// entered, places and ids stay.
func (l Language) Finding(f Finding) Finding {
	for _, text := range [...]*Text{&f.Details, &f.Mend, &f.Expected} {
		*text = Literal(l.Text(*text))
	}
	if !f.Counted.IsZero() {
		f.Value = l.Text(f.Counted)
	}
	return f
}

// Rule translates the texts of a rule; ok is false for a rule that the
// catalogue does not have.
func (l Language) Rule(r Rule) (Rule, bool) {
	words, ok := vocabularies[l].rules[r.ID]
	if ok {
		r.What, r.Why, r.Mend = words.what, words.why, words.mend
	}
	return r, ok || l == English || l == ""
}

// Cell writes a place as [Cell.String] does, in the language.
func (l Language) Cell(c Cell) string {
	if v, ok := vocabularies[l]; ok {
		return c.in(v.row, v.column)
	}
	return c.String()
}
