package columnmap

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// numberMark stands for the number of a repeated group in its headings.
const numberMark = "{n}"

// matcher recognises a heading: the text in any case, with * for anything at
// its end, {n} for a number, or a regular expression between slashes.
type matcher struct {
	text string
	form *regexp.Regexp
}

func newMatcher(text string) (matcher, error) {
	m := matcher{text: text}
	if len(text) > 2 && strings.HasPrefix(text, "/") && strings.HasSuffix(text, "/") {
		form, err := regexp.Compile("(?i)" + text[1:len(text)-1])
		if err != nil {
			return m, fmt.Errorf("heading = %q: %w", text, err)
		}
		m.form = form
		return m, nil
	}
	pattern := regexp.QuoteMeta(plain(text))
	pattern = strings.Replace(pattern, regexp.QuoteMeta(numberMark), `(\d{1,3})`, 1)
	if strings.HasSuffix(pattern, `\*`) {
		pattern = strings.TrimSuffix(pattern, `\*`) + ".*"
	}
	m.form = regexp.MustCompile("^" + pattern + "$")
	return m, nil
}

func (m matcher) match(heading string) bool {
	return m.text != "" && m.form.MatchString(plain(heading))
}

// number is the number of a repeated group in a heading.
func (m matcher) number(heading string) (int, bool) {
	found := m.form.FindStringSubmatch(plain(heading))
	if len(found) < 2 {
		return 0, false
	}
	n, err := strconv.Atoi(found[1])
	return n, err == nil
}

// plain is a text without the differences people make: case and spaces.
func plain(text string) string {
	return strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(text, "\u00A0", " "))), " ")
}

// parseLetters reads a column's letters as its number from 0.
func parseLetters(letters string) (int, error) {
	n := 0
	for _, c := range strings.ToUpper(letters) {
		if c < 'A' || c > 'Z' || n > 1000 {
			return 0, fmt.Errorf("column = %q: expected letters such as C or AB", letters)
		}
		n = n*26 + int(c-'A') + 1
	}
	return n - 1, nil
}

var cellForm = regexp.MustCompile(`^([A-Za-z]{1,3})([1-9]\d{0,6})$`)

func parseCell(name string) (letter, row int, err error) {
	m := cellForm.FindStringSubmatch(name)
	if m == nil {
		return 0, 0, fmt.Errorf("cell = %q: expected a cell such as B3", name)
	}
	letter, err = parseLetters(m[1])
	row, _ = strconv.Atoi(m[2])
	return letter, row, err
}
