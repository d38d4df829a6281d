package cli

import (
	"slices"
	"strings"
	"testing"
)

// A double click on the program opens the page, also of a folder dropped on it; a
// command line started from Explorer stays as it is.
func TestDoubleClick(t *testing.T) {
	folder := t.TempDir()
	for _, tc := range []struct{ args, want []string }{
		{nil, []string{"open"}},
		{[]string{folder}, []string{"open", folder}},
		{[]string{"check", folder}, []string{"check", folder}},
		{[]string{"--version"}, []string{"--version"}},
	} {
		if got := clicked(tc.args); !slices.Equal(got, tc.want) {
			t.Errorf("%q: %q", tc.args, got)
		}
	}
}

// In a window that closes at the end, a failure stays until it is read.
func TestFailureAfterADoubleClickWaits(t *testing.T) {
	for _, tc := range []struct {
		args  []string
		waits bool
	}{{[]string{"check"}, true}, {[]string{"--version"}, false}} {
		in := strings.NewReader("\n")
		var out, errs strings.Builder
		runClicked(t.Context(), tc.args, streams{in, &out, &errs})
		if asks := strings.HasSuffix(errs.String(), "Press Enter to close this window.\n"); asks != tc.waits || (in.Len() == 0) != tc.waits {
			t.Errorf("%q: %s", tc.args, errs.String())
		}
	}
}
