package issue

import (
	"fmt"
	"unicode"
	"unicode/utf8"
)

// Steers reports a character that acts on a terminal or on the direction of
// writing instead of being shown: a control character but tab and line ends, or
// one with the Unicode property Bidi_Control. Output for readers must not
// contain one from a log or a server.
func Steers(r rune) bool {
	return unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t' || unicode.Is(unicode.Bidi_Control, r)
}

// Escape writes the characters of a text that steer, and a carriage return that
// ends no line, as in a JSON string, so that JSON stays what it is. It returns
// the text itself when there are none.
func Escape(text []byte) []byte {
	var out []byte
	done := 0
	for at := 0; at < len(text); {
		r, size := utf8.DecodeRune(text[at:])
		if Steers(r) || r == '\r' && (at+1 == len(text) || text[at+1] != '\n') {
			out = fmt.Appendf(append(out, text[done:at]...), "\\u%04x", r)
			done = at + size
		}
		at += size
	}
	if done == 0 {
		return text
	}
	return append(out, text[done:]...)
}
