package session

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"runsheet.example/profiles"
)

// otherTests are names of tests without a field that are spelt nearly like one
// that has one (common practice).
var otherTests = []string{
	"Transferrin", "Transferrine", "Transferrina", "Prealbumin", "Präalbumin", "Uric acid", "Creatine", "Kreatin", "Créatine", "Manganese", "Mangan", "Calcitonin", "Calcitriol",
	"Haptoglobin", "Haptoglobine", "Myoglobin", "Carnitine", "Carnitin",
}

// testName is a name of a test in the letters that are compared and as it is
// written.
type testName struct {
	plain, written string
	field          Field // empty for a test without one
}

var testNames = func() (all []testName) {
	for _, row := range profiles.Rows() {
		if row.Tests == nil {
			continue
		}
		for _, name := range append([]string{string(row.Field)}, row.Tests...) {
			all = append(all, testName{plainTest(name), name, row.Field})
		}
	}
	for _, name := range otherTests {
		all = append(all, testName{plain: plainTest(name)})
	}
	return all
}()

// TestField is the field of a test by a name that laboratories give it, in any case and with
// or without accents, spaces and the word for serum or plasma.
func TestField(name string) (Field, bool) {
	plain := plainTest(name)
	for _, known := range testNames {
		if known.plain == plain {
			return known.field, known.field != ""
		}
	}
	return "", false
}

// nearTest is the name of a test that has a field of which another may be a
// misspelling, or "" where there is none or several are as near. It has none
// for up to three letters, since too many abbreviations are near each other.
func nearTest(name string) string {
	plain := plainTest(name)
	if len(plain) < 4 {
		return ""
	}
	var best testName
	bestAt := len(plain)
	for _, known := range testNames {
		d := editDistance(plain, known.plain)
		switch {
		case d > max(1, len(known.plain)/3) || d > bestAt:
		case d < bestAt:
			best, bestAt = known, d
		case best.field != known.field:
			best = testName{}
		}
	}
	return best.written
}

// plainTest is a name's letters and digits in lower case without accents, and
// without the word for what was examined.
func plainTest(name string) string {
	var words []string
	for _, word := range strings.FieldsFunc(norm.NFKD.String(strings.ToLower(name)), func(r rune) bool {
		return !unicode.In(r, unicode.Letter, unicode.Digit, unicode.Mn)
	}) {
		plain := strings.Map(func(r rune) rune {
			if unicode.Is(unicode.Mn, r) {
				return -1
			}
			return r
		}, word)
		switch plain {
		case "serum", "plasma":
		default:
			words = append(words, plain)
		}
	}
	return strings.Replace(strings.Join(words, ""), "β", "beta", 1)
}
