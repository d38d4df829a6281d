package issue

import (
	"fmt"
	"maps"
	"strings"
	"sync"

	"runsheet.example/profiles"
)

// Language is a language of findings about a log. The zero value is English,
// in which they are written.
type Language string

// The languages.
const (
	English Language = "en"
	German  Language = "de"
)

// Languages are the languages by their tags (RFC 5646).
func Languages() []string { return []string{string(English), string(German)} }

// ParseLanguage reads the tag of a language.
func ParseLanguage(tag string) (Language, error) {
	switch l := Language(tag); l {
	case English, German:
		return l, nil
	case "":
		return English, nil
	default:
		return English, fmt.Errorf("language %q: expected %s", tag, strings.Join(Languages(), " or "))
	}
}

// ruleWords are the texts of a rule in another language.
type ruleWords struct{ what, why, mend string }

// germanCatalogue holds the German texts by their keys: those of findings, and
// the advice of rules.
var germanCatalogue = sync.OnceValue(func() map[string]string {
	texts := maps.Clone(germanTexts)
	for _, more := range []map[string]string{germanReport, germanColumns, germanPages} {
		maps.Copy(texts, more)
	}
	for _, row := range profiles.Rows() {
		if row.Name.English != "" {
			texts[row.Name.English] = row.Name.German
		}
	}
	for _, r := range Rules() {
		if words, ok := germanRules[r.ID]; ok {
			texts[r.Mend] = words.mend
		}
	}
	return texts
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
	if l != German {
		return r, true
	}
	words, ok := germanRules[r.ID]
	if ok {
		r.What, r.Why, r.Mend = words.what, words.why, words.mend
	}
	return r, ok
}

// Cell writes a place as [Cell.String] does, in the language.
func (l Language) Cell(c Cell) string {
	if l == German {
		return c.in("Zeile", "Spalte")
	}
	return c.String()
}
