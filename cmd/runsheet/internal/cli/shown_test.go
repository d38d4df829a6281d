package cli

import (
	"bytes"
	"fmt"
	"testing"
)

func TestShownEscapesWhatSteers(t *testing.T) {
	for text, want := range map[string]string{
		"plain ü 透析 \ttab\r\n": "plain ü 透析 \ttab\r\n",
		"\x1b[2J":              `\u001b[2J`,
		"a\rb":                 `a\u000db`,
		"end\r":                `end\u000d`,
		"\u009b31m":            `\u009b31m`,
		"\u202egnp.exe":        `\u202egnp.exe`,
		"\x00\x7f":             `\u0000\u007f`,
		"split \xe9\x80":       "split \xe9\x80",
	} {
		var out bytes.Buffer
		n, err := fmt.Fprint(shown{&out}, text)
		if err != nil || n != len(text) || out.String() != want {
			t.Errorf("%q is shown as %q, want %q (%d, %v)", text, out.String(), want, n, err)
		}
	}
}
