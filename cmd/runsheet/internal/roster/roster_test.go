package roster

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func read(t *testing.T, text string) (Roster, error) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "roster.csv")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return Read(path)
}

const headings = "identifier_system,identifier_value,from,to,sessions_per_week,leave\n"

func TestRead(t *testing.T) {
	got, err := read(t, "\ufeff"+strings.ReplaceAll(headings, ",", ";")+`s;N;2025-01-01;;3.5;"2025-03-03/2025-03-16 hospital; 2025-08-04/2025-08-04 away from home"`+"\n")
	want := Roster{{
		Identifier: Identifier{"s", "N"}, Row: 2, From: "2025-01-01", PerWeek: 3.5,
		Leave: []Leave{{"2025-03-03", "2025-03-16", "hospital"}, {"2025-08-04", "2025-08-04", "away from home"}},
	}}
	if diff := cmp.Diff(want, got); diff != "" || err != nil {
		t.Error(diff, err)
	}
}

func TestFaults(t *testing.T) {
	for row, want := range map[string]string{
		"s,N,2025-13-01,,,":                     `row 2, column 3: "2025-13-01": expected a day`,
		"s,N,2025-02-01,2025-01-01,,":           `row 2, column 4: "2025-01-01" is before`,
		"s,N,,,0,":                              `row 2, column 5: "0": expected a number of sessions`,
		"s,N,,,NaN,":                            `row 2, column 5: "NaN"`,
		"s,N,,,15,":                             `row 2, column 5: "15"`,
		"s,N,,,,hospital":                       `row 2, column 6: "hospital": expected two days and a reason`,
		"s,N,,,,2025-03-03/2025-03-16":          "expected two days and a reason",
		"s,N,,,,2025-03-16/2025-03-03 hospital": "expected two days and a reason",
		"s,N,,,,2025-02-30/2025-03-03 hospital": `"2025-02-30" is no day`,
		"s,,,,,":                                "row 2, column 2: identifier_value is missing",
		"s,N,2025-01-01,2025-01-31,,\ns,N,,,x,": `row 3, column 5: "x"`,
	} {
		if _, err := read(t, headings+row+"\n"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", row, err, want)
		}
	}
}

// A patient may have several rows if their days do not overlap; the last one
// counts for what arrives.
func TestRows(t *testing.T) {
	for text, want := range map[string]string{
		"s,N,,2025-06-30,,\ns,N,2025-07-01,,5,":                    "",
		"s,N,2025-07-01,,5,\ns,N,,2025-06-30,,":                    "",
		"s,N,,2025-06-30,,\ns,N,2025-06-30,,,":                     "rows 2 and 3",
		"s,N,,,,\ns,M,,,,\ns,N,,,,":                                "rows 2 and 4",
		"s,N,,2025-01-31,,\ns,N,2025-03-01,,5,\ns,N,2025-02-01,,,": "rows 3 and 4",
	} {
		people, err := read(t, headings+text+"\n")
		if err != nil {
			t.Fatal(err)
		}
		err = people.Overlap()
		if (want == "") != (err == nil) || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
		p, err := people.Find(Identifier{"s", "N"})
		if want == "" && (err != nil || p.PerWeek != 5) {
			t.Errorf("%s: %+v, %v", text, p, err)
		}
		if want != "" && err == nil {
			t.Errorf("%s: one of two rows was taken", text)
		}
	}
	if _, err := (Roster{}).Find(Identifier{"s", "N"}); err == nil {
		t.Error("nobody was found")
	}
}

// FuzzRead holds that whatever can be read has an identifier and no days the
// wrong way round.
func FuzzRead(f *testing.F) {
	f.Add(headings + "s,N,2025-01-01,2025-12-31,3.5,2025-03-03/2025-03-16 hospital\n")
	f.Fuzz(func(t *testing.T, text string) {
		people, err := read(t, text)
		if err != nil {
			return
		}
		for _, p := range people {
			if p.System == "" || p.Value == "" || p.To != "" && p.To < p.From || p.PerWeek < 0 || p.PerWeek > 14 {
				t.Errorf("%q: %+v", text, p)
			}
		}
	})
}
