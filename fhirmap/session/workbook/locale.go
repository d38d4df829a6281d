package workbook

import (
	"fmt"
	"strings"
)

// Locale decides how dates, times and numbers are shown and typed; the language
// of the words is another choice.
type Locale struct {
	// Name is a BCP 47 tag: en-GB, en-US, de or fr.
	Name string
	// date and clock are number formats. Dates carry the name of the day, so
	// that an exchanged day and month is seen at once.
	date, clock string
	// dateStyle and decimalMark are declared on the About sheet.
	dateStyle, decimalMark string
}

// locales are the locales known; the first is the default. The bracketed
// number is the language of day names (ECMA-376 part 1, 18.8.31).
var locales = []Locale{
	{"en-GB", "[$-809]ddd d mmm yyyy", "hh:mm", "dmy", "."},
	{"en-US", "[$-409]ddd mmm d, yyyy", "h:mm AM/PM", "mdy", "."},
	{"de", "[$-407]ddd dd.mm.yyyy", "hh:mm", "dmy", ","},
	{"fr", "[$-40C]ddd dd/mm/yyyy", "hh:mm", "dmy", ","},
}

// Locales are the names that [ParseLocale] accepts.
func Locales() []string {
	var names []string
	for _, l := range locales {
		names = append(names, l.Name)
	}
	return names
}

// ParseLocale finds a locale by its name; "" is en-GB.
func ParseLocale(name string) (Locale, error) {
	if name == "" {
		return locales[0], nil
	}
	for _, l := range locales {
		if strings.EqualFold(l.Name, name) {
			return l, nil
		}
	}
	return Locale{}, fmt.Errorf("locale %q is not one of %s", name, strings.Join(Locales(), ", "))
}

// LocaleOf is the name of the first locale of a language, "" if there is none.
func LocaleOf(language string) string {
	for _, l := range locales {
		if language != "" && (l.Name == language || strings.HasPrefix(l.Name, language+"-")) {
			return l.Name
		}
	}
	return ""
}

// orDefault is the locale, or the first one for the zero value.
func (l Locale) orDefault() Locale {
	if l.Name == "" {
		return locales[0]
	}
	return l
}

// Paper is a size of paper to print on.
type Paper uint8

// The sizes of paper. A4 is the zero value.
const (
	A4 Paper = iota
	Letter
)

// code is the paper's number in a workbook (ECMA-376 part 1, 18.3.1.63).
func (p Paper) code() int {
	if p == Letter {
		return 1
	}
	return 9
}
