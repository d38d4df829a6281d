package issue

import (
	"fmt"
	"strings"
	"time"
)

// Text is a text of a finding before it is written out in a language.
type Text struct {
	// Key is the English text with {} for each gap. It is also the key of the
	// text in the catalogues of the other languages.
	Key string
	// Args fill the gaps in order. An argument that is a Text is translated.
	// Any other is written as it is: a number, a time, a person's own words.
	Args []any
	// InWorkbook puts the names that parts of a log have in a workbook for
	// those they have in a folder, also in Args that are Texts.
	InWorkbook bool
}

const gap = "{}"

// T returns the text of a key with its gaps filled by args.
func T(key string, args ...any) Text { return Text{Key: key, Args: args} }

// Literal returns a text that is the same in every language, such as what a
// person entered. An empty one is the zero Text.
func Literal(text string) Text {
	if text == "" {
		return Text{}
	}
	return T(gap, text)
}

// Or returns the alternatives as one text, each as it is.
func Or(list []string) Text {
	if len(list) < 2 {
		return Literal(strings.Join(list, ""))
	}
	return T("{} or {}", list[0], Or(list[1:]))
}

// OneOrMany returns the key for a number of things: one for 1, else many.
func OneOrMany(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// Day returns the day of a date and its month in words.
func Day(t time.Time) Text { return T("{} "+t.Month().String(), t.Day()) }

// Date returns the day of a date, its month in words and its year.
func Date(t time.Time) Text { return T("{} {}", Day(t), t.Year()) }

// And returns the text followed by another, parted by a semicolon.
func (t Text) And(more Text) Text { return T("{}; {}", t, more) }

// IsZero reports whether there is no text.
func (t Text) IsZero() bool { return t.Key == "" }

// String writes the text in English.
func (t Text) String() string { return English.Text(t) }

// MarshalText writes the text in English.
func (t Text) MarshalText() ([]byte, error) { return []byte(t.String()), nil }

// UnmarshalText reads a text that was written out; it stays in its language.
func (t *Text) UnmarshalText(text []byte) error {
	*t = Literal(string(text))
	return nil
}

// Text writes a text in the language. A key that the catalogue does not have
// stays English.
func (l Language) Text(t Text) string { return l.write(t, t.InWorkbook) }

func (l Language) write(t Text, inWorkbook bool) string {
	pattern, words := t.Key, englishWorkbook
	if translated, ok := catalogues()[l][t.Key]; ok {
		pattern, words = translated, vocabularies[l].workbook
	}
	if inWorkbook {
		pattern = words.Replace(pattern)
	}
	if len(t.Args) == 0 {
		return pattern
	}
	var out strings.Builder
	for _, arg := range t.Args {
		before, after, ok := strings.Cut(pattern, gap)
		if !ok {
			break
		}
		out.WriteString(before)
		if inner, ok := arg.(Text); ok {
			out.WriteString(l.write(inner, inWorkbook || inner.InWorkbook))
		} else {
			fmt.Fprint(&out, arg)
		}
		pattern = after
	}
	out.WriteString(pattern)
	return out.String()
}

// englishWorkbook are the names that parts of a log have in a workbook.
var englishWorkbook = strings.NewReplacer(
	"under [patient]", "on the sheet About",
	"in log.toml", "on the sheet About",
	"log.toml", "the sheet About",
	"decimal_mark", "Decimal mark",
	"date_style", "Dates you type as text",
	"time_form", "Times you type as text",
	"sessions.csv", "the sheet Sessions",
	"add the line", "fill the cell in",
	`["mon", "wed", "fri"]`, "mon, wed, fri",
)
