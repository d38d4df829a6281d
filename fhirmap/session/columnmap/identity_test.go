package columnmap_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/columnmap"
)

// A log of our own, read through a map that says of each column that it is
// itself, is the same log: every entry, character by character, and every
// instant.
func TestMapOfOurOwnLog(t *testing.T) {
	const folder = "../../../testdata/month"
	want, _, err := session.ReadFolder(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	text.WriteString("format = 1\n")
	for _, sheet := range []session.Sheet{"sessions", "checks", "readings", "medicines", "labs", "events"} {
		data, err := os.ReadFile(filepath.Join(folder, string(sheet)+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		first, _, _ := strings.Cut(string(data), "\n")
		fmt.Fprintf(&text, "[[table]]\nfile = %q\n", string(sheet)+".csv")
		for _, heading := range strings.Split(strings.TrimSpace(first), ",") {
			fmt.Fprintf(&text, "[[table.column]]\nheading = %q\nto = %q\n", heading, string(sheet)+"."+heading)
		}
	}
	m, err := columnmap.Parse([]byte(text.String()), "map.toml")
	if err != nil {
		t.Fatal(err)
	}
	got, findings, err := columnmap.Read(folder, m, nil, session.Options{}) // log.toml is in the folder
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		t.Logf("%s %s: %s", f.Rule, f.Cells[0], f.Details)
	}
	if len(got.Sessions) != len(want.Sessions) || len(want.Sessions) == 0 {
		t.Fatalf("%d sessions, want %d", len(got.Sessions), len(want.Sessions))
	}
	for i, s := range got.Sessions {
		other := want.Sessions[i]
		if s.Entry() != other.Entry() || s.ID != other.ID || !s.Start.Time.Equal(other.Start.Time) || !s.End.Time.Equal(other.End.Time) || s.Broken != other.Broken {
			t.Errorf("session %s differs:\n%s\n%s", s.ID, s.Entry(), other.Entry())
		}
		for j, r := range s.Readings {
			if !r.At.Time.Equal(other.Readings[j].At.Time) || r.At.Cell != other.Readings[j].At.Cell {
				t.Errorf("session %s reading %d is at %v in %v, want %v in %v", s.ID, j, r.At.Time, r.At.Cell, other.Readings[j].At.Time, other.Readings[j].At.Cell)
			}
		}
	}
}
