//go:build examples || differences

package validate_test

import (
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
)

// compareWithList holds what differs to the lines "difference # reason" of a
// file.
func compareWithList(t *testing.T, list string, different map[string]bool) {
	t.Helper()
	data, err := os.ReadFile(list)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		what, reason, _ := strings.Cut(strings.TrimSpace(line), " # ")
		if what == "" || what[0] == '#' {
			continue
		}
		if reason == "" {
			t.Errorf("no reason is given: %s", what)
		}
		if !different[what] {
			t.Errorf("listed, but found no more: %s", what)
		}
		delete(different, what)
	}
	for _, what := range slices.Sorted(maps.Keys(different)) {
		t.Errorf("not listed: %s", what)
	}
}
