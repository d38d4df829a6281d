package open

import (
	"strconv"
	"testing"

	"runsheet.example/fhirmap/session/edit"
)

func text(n int) string { return strconv.Itoa(n) }

func mustOpen(t testing.TB, dir string) *edit.Log {
	t.Helper()
	l, err := edit.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return l
}
