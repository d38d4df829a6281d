package cli

import (
	"fmt"
	"io"
	"unicode"
	"unicode/utf8"
)

// shown writes text for a person, a table or a pipeline, in which control
// characters and those that turn the direction of writing stand as escapes:
// texts of a log or a server must not steer a terminal. The escape is that of a
// JSON string, so that JSON stays what it is.
type shown struct{ raw io.Writer }

func (s shown) Write(p []byte) (int, error) {
	var out []byte
	done := 0
	for at := 0; at < len(p); {
		r, size := utf8.DecodeRune(p[at:])
		if steers(r) || r == '\r' && (at+1 == len(p) || p[at+1] != '\n') {
			out = fmt.Appendf(append(out, p[done:at]...), "\\u%04x", r)
			done = at + size
		}
		at += size
	}
	if done == 0 {
		return s.raw.Write(p)
	}
	if _, err := s.raw.Write(append(out, p[done:]...)); err != nil {
		return 0, err
	}
	return len(p), nil
}

// steers reports a character that does something instead of being shown.
func steers(r rune) bool {
	return unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t' || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069
}

// raw is what a writer writes to, for bytes that are no text and for what
// escapes its texts itself.
func raw(w io.Writer) io.Writer {
	if s, ok := w.(shown); ok {
		return s.raw
	}
	return w
}
