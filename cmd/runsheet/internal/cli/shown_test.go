package cli

import (
	"bytes"
	"testing"
)

// However a text is cut into writes, what steers is escaped and nothing else is.
func TestShownEscapesWhatSteers(t *testing.T) {
	for text, want := range map[string]string{
		"plain ü 透析 \ttab\r\n": "plain ü 透析 \ttab\r\n",
		"\x1b[2J":              `\u001b[2J`,
		"a\rb":                 `a\u000db`,
		"end\r":                `end\u000d`,
		"\u009b31m":            `\u009b31m`,
		"\u202egnp.exe":        `\u202egnp.exe`,
		"a\u200f\u061cb":       `a\u200f\u061cb`,
		"\x00\x7f":             `\u0000\u007f`,
		"broken \xe9\x80":      "broken \xe9\x80",
		"broken \xe9\x80\x1b":  "broken \xe9\x80\\u001b",
		"\x80\x80\x80\x80":     "\x80\x80\x80\x80",
		"𝄞":                    "𝄞",
	} {
		for cut := range len(text) + 1 {
			var out bytes.Buffer
			w := &shown{raw: &out}
			for _, part := range []string{text[:cut], text[cut:]} {
				if n, err := w.Write([]byte(part)); err != nil || n != len(part) {
					t.Errorf("%q: wrote %d, %v", part, n, err)
				}
			}
			w.flush()
			if out.String() != want {
				t.Errorf("%q cut at %d is shown as %q, want %q", text, cut, out.String(), want)
			}
		}
	}
}
