package cli

import (
	"strconv"
	"strings"
)

// entryIndex reads the entry number out of an expression that begins
// "Bundle.entry[n]".
func entryIndex(expression string) (int, bool) {
	rest, ok := strings.CutPrefix(expression, "Bundle.entry[")
	if !ok {
		return 0, false
	}
	number, _, ok := strings.Cut(rest, "]")
	if !ok {
		return 0, false
	}
	n, err := strconv.Atoi(number)
	return n, err == nil && n >= 0
}
