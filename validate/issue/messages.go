package issue

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// Language is a language that findings about a log can be told in. The zero
// value is English, in which they are written.
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

// catalogue is one language: the rules by id, and every other text by its
// English words, in which {} stands for what differs from finding to finding.
type catalogue struct {
	rules map[string]ruleWords
	texts map[string]string
	// workbook are words for parts of a folder and what stands for them in
	// a workbook, in English and in the language.
	workbook [][4]string
}

// translator is a catalogue ready for use.
type translator struct {
	exact    map[string]string
	patterns []pattern
	rules    map[string]ruleWords
}

type pattern struct {
	form *regexp.Regexp
	// parts are what stands before, between and behind the gaps.
	parts  []string
	weight int // letters that are no gap
}

const gap = "{}"

var german = sync.OnceValue(func() *translator { return newTranslator(germanCatalogue) })

func (l Language) translator() *translator {
	if l == German {
		return german()
	}
	return nil
}

func newTranslator(c catalogue) *translator {
	t := &translator{exact: map[string]string{}, rules: c.rules}
	for english, other := range c.texts {
		t.learn(english, other)
	}
	for _, r := range Rules() {
		if words, ok := c.rules[r.ID]; ok {
			t.learn(r.Mend, words.mend)
		}
	}
	t.learnWorkbook(c.workbook)
	// The pattern with most words of its own is the one that is meant.
	slices.SortFunc(t.patterns, func(a, b pattern) int {
		return cmp.Or(cmp.Compare(b.weight, a.weight), strings.Compare(a.form.String(), b.form.String()))
	})
	return t
}

func (t *translator) learn(english, other string) {
	if !strings.Contains(english, gap) {
		t.exact[english] = other
		return
	}
	form := strings.ReplaceAll(regexp.QuoteMeta(english), regexp.QuoteMeta(gap), "(.+?)")
	t.patterns = append(t.patterns, pattern{regexp.MustCompile("^" + form + "$"), strings.Split(other, gap), len(english)})
}

// learnWorkbook adds the texts in the words for a workbook, as the reader of
// workbooks puts them.
func (t *translator) learnWorkbook(words [][4]string) {
	var english, other []string
	for _, w := range words {
		english = append(english, w[0], w[1])
		other = append(other, w[2], w[3])
	}
	inEnglish, inOther := strings.NewReplacer(english...), strings.NewReplacer(other...)
	for text, translated := range t.exact {
		if as := inEnglish.Replace(text); as != text {
			if _, have := t.exact[as]; !have {
				t.exact[as] = inOther.Replace(translated)
			}
		}
	}
}

// Text translates one text of a finding. ok is false when the catalogue does
// not have it; then the text comes back as it is.
func (l Language) Text(text string) (translated string, ok bool) {
	t := l.translator()
	if t == nil || text == "" {
		return text, true
	}
	if other, ok := t.text(text, deepest); ok {
		return other, true
	}
	return text, false
}

// deepest is how far texts stand within texts, and longest how long one is:
// beyond them it is no text of ours.
const (
	deepest = 3
	longest = 600
)

func (t *translator) text(text string, depth int) (string, bool) {
	if other, ok := t.exact[text]; ok {
		return other, true
	}
	if depth == 0 || len(text) > longest {
		return "", false
	}
	for _, p := range t.patterns {
		if other, ok := p.fill(text, t, depth); ok {
			return other, true
		}
	}
	const joint = "; "
	for at := strings.Index(text, joint); at >= 0; {
		left, ok1 := t.text(text[:at], depth-1)
		right, ok2 := t.text(text[at+len(joint):], depth-1)
		if ok1 && ok2 {
			return left + joint + right, true
		}
		next := strings.Index(text[at+1:], joint)
		if next < 0 {
			break
		}
		at += 1 + next
	}
	return "", false
}

// fill puts the words of a text into the pattern's other language. What
// stands in a gap is translated when it is itself in the catalogue; a text in
// two halves is left for text to divide.
func (p pattern) fill(text string, t *translator, depth int) (string, bool) {
	m := p.form.FindStringSubmatch(text)
	if m == nil || len(m) != len(p.parts) {
		return "", false
	}
	var out strings.Builder
	for i, part := range p.parts {
		out.WriteString(part)
		if i+1 == len(m) {
			break
		}
		inside := m[i+1]
		if other, ok := t.text(inside, depth-1); ok && inside != text {
			inside = other
		} else if strings.Contains(inside, "; ") {
			return "", false
		}
		out.WriteString(inside)
	}
	return out.String(), true
}

// Finding translates what a finding says. Values that were entered, places and
// ids stay.
func (l Language) Finding(f Finding) Finding {
	f.Details, _ = l.Text(f.Details)
	f.Mend, _ = l.Text(f.Mend)
	f.Expected, _ = l.Text(f.Expected)
	if strings.HasPrefix(f.Rule, "month-") {
		f.Value, _ = l.Text(f.Value) // counted, not entered
	}
	return f
}

// Rule translates the texts of a rule; ok is false for a rule that the
// catalogue does not have.
func (l Language) Rule(r Rule) (Rule, bool) {
	t := l.translator()
	if t == nil {
		return r, true
	}
	words, ok := t.rules[r.ID]
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

// Word translates a word of the frame that findings are printed in.
func (l Language) Word(word string) string {
	text, _ := l.Text(word)
	return text
}
