package pdf

import (
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Font is a size (the height of the type body, in millimetres) and a weight of
// the one typeface: Go, by Bigelow & Holmes, which has the letters of European
// languages, Greek and Cyrillic. Bold letters are as wide as the others.
type Font struct {
	SizeMM float64
	Bold   bool
}

// face is a parsed font with the widths measured so far.
type face struct {
	mutex  sync.Mutex
	font   *sfnt.Font
	buffer sfnt.Buffer
	widths map[rune]float64
}

// typeface is the one font. It never changes, and parsing the embedded file
// cannot fail.
var typeface = sync.OnceValue(func() *face {
	parsed, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		panic(err)
	}
	return &face{font: parsed, widths: map[rune]float64{}}
})

// width returns the width of a character in parts of the font size, and false
// if the font does not hold the character.
func (f *face) width(r rune) (float64, bool) {
	f.mutex.Lock()
	defer f.mutex.Unlock()
	if w, ok := f.widths[r]; ok {
		return w, w >= 0
	}
	f.widths[r] = -1
	index, err := f.font.GlyphIndex(&f.buffer, r)
	if err != nil || index == 0 || r > 0xFFFF || unicode.IsControl(r) {
		return 0, false
	}
	em := f.font.UnitsPerEm()
	advance, err := f.font.GlyphAdvance(&f.buffer, index, fixed.I(int(em)), font.HintingNone)
	if err != nil {
		return 0, false
	}
	f.widths[r] = float64(advance) / 64 / float64(em)
	return f.widths[r], true
}

// WidthMM is the width of a line of text.
func (f Font) WidthMM(s string) float64 {
	face, width := typeface(), 0.0
	for _, r := range printable(s) {
		w, _ := face.width(r)
		width += w
	}
	return width * f.SizeMM
}

// Wrap breaks a text at spaces into lines of at most widthMM, and words longer
// than a line anywhere. A text without words gives no line.
func (f Font) Wrap(s string, widthMM float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && f.WidthMM(line+" "+word) <= widthMM {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; f.WidthMM(line) > widthMM; {
			head := f.head(line, widthMM)
			lines, line = append(lines, head), line[len(head):]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// head returns the longest beginning that fits, at least one character.
func (f Font) head(s string, widthMM float64) string {
	end := 0
	for i, r := range s {
		next := i + len(string(r))
		if end > 0 && f.WidthMM(s[:next]) > widthMM {
			break
		}
		end = next
	}
	return s[:end]
}

// Shows reports whether the font holds every character of the text. It holds
// none of the scripts that run from right to left.
func Shows(s string) bool { return printable(s) == strings.Join(strings.Fields(s), " ") }

// printable replaces each run of white space by one space and each character
// that a font does not hold by "?".
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if _, ok := typeface().width(r); !ok {
			return '?'
		}
		return r
	}, strings.Join(strings.Fields(s), " "))
}
