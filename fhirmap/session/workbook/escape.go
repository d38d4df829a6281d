package workbook

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf16"
)

// Workbooks write letters that XML does not have as _xHHHH_, and a text that
// looks like that with its first sign written so (ECMA-376 part 1,
// 22.9.2.19).
const escapeLength = len("_x0000_")

// escape makes a text fit to be written into a cell.
func escape(text string) string {
	if !strings.Contains(text, "_x") && strings.IndexFunc(text, needsEscape) < 0 {
		return text
	}
	var out strings.Builder
	for i, c := range text {
		if _, looksLike := escapeAt(text[i:]); looksLike || needsEscape(c) {
			fmt.Fprintf(&out, "_x%04X_", c)
			continue
		}
		out.WriteRune(c)
	}
	return out.String()
}

// needsEscape reports letters that XML 1.0 cannot hold, or that its readers
// turn into others.
func needsEscape(c rune) bool {
	return c < ' ' && c != '\t' && c != '\n' || c == '\uFFFE' || c == '\uFFFF'
}

// unescape resolves the escapes. One letter may take two of them.
func unescape(text string) string {
	if !strings.Contains(text, "_x") {
		return text
	}
	var out strings.Builder
	var units []uint16
	flush := func() {
		out.WriteString(string(utf16.Decode(units)))
		units = units[:0]
	}
	for i := 0; i < len(text); {
		if unit, ok := escapeAt(text[i:]); ok {
			units = append(units, unit)
			i += escapeLength
			continue
		}
		flush()
		out.WriteByte(text[i])
		i++
	}
	flush()
	return out.String()
}

func escapeAt(text string) (uint16, bool) {
	if len(text) < escapeLength || text[:2] != "_x" || text[escapeLength-1] != '_' {
		return 0, false
	}
	unit, err := strconv.ParseUint(text[2:escapeLength-1], 16, 16)
	return uint16(unit), err == nil
}
