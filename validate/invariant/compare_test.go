package invariant

import (
	"math/big"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Days and instants against package time, from year 1 to 9999.
func TestDayNumber(t *testing.T) {
	origin := dayNumber(1, 1, 1)
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.IntRange(0, 3_652_058).Draw(t, "day")
		want := time.Date(1, 1, 1+day, 0, 0, 0, 0, time.UTC)
		if got := dayNumber(want.Year(), int(want.Month()), want.Day()) - origin; got != day {
			t.Fatalf("%s: day %d, want %d", want, got, day)
		}
		y, m, d := civil(origin + day)
		if y != want.Year() || m != int(want.Month()) || d != want.Day() {
			t.Fatalf("day %d: got %d-%d-%d, want %s", day, y, m, d, want)
		}
	})
}

func TestCompareTimesAgreesWithInstants(t *testing.T) {
	draw := func(t *rapid.T, name string) time.Time {
		zone := time.FixedZone("", rapid.IntRange(-14*60, 14*60).Draw(t, name+" offset")*60)
		return time.Unix(rapid.Int64Range(1_700_000_000, 1_700_200_000).Draw(t, name), 0).In(zone)
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := draw(t, "a"), draw(t, "b")
		got := compareTimes([]byte(a.Format(time.RFC3339)), []byte(b.Format(time.RFC3339)))
		if want := orderOf(a.Compare(b)); got != want {
			t.Fatalf("%s, %s: got %d, want %d", a, b, got, want)
		}
	})
}

func TestCompareDecimalsAgreesWithRationals(t *testing.T) {
	number := rapid.StringMatching(`-?(0|[1-9][0-9]{0,20})(\.[0-9]{1,20})?([eE][+-]?[0-9]{1,2})?`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := number.Draw(t, "a"), number.Draw(t, "b")
		x, ok1 := new(big.Rat).SetString(a)
		y, ok2 := new(big.Rat).SetString(b)
		if !ok1 || !ok2 {
			t.Fatal("no number")
		}
		if got, want := compareDecimals([]byte(a), []byte(b)), orderOf(x.Cmp(y)); got != want {
			t.Fatalf("%s, %s: got %d, want %d", a, b, got, want)
		}
	})
}

// Whatever stands where a time or a number should, comparing must not fail.
func FuzzCompare(f *testing.F) {
	f.Add("2026-01-01T07:00:00Z", "2026-01-01T07:00:00+01:00")
	f.Add("2026-01", "1e999999999999999999")
	f.Add("-0.00", "0")
	f.Fuzz(func(t *testing.T, a, b string) {
		reversed := map[order]order{unknown: unknown, less: greater, same: same, greater: less}
		if x, y := compareTimes([]byte(a), []byte(b)), compareTimes([]byte(b), []byte(a)); y != reversed[x] {
			t.Fatalf("times %q, %q: %d and %d", a, b, x, y)
		}
		if x, y := compareDecimals([]byte(a), []byte(b)), compareDecimals([]byte(b), []byte(a)); y != reversed[x] {
			t.Fatalf("decimals %q, %q: %d and %d", a, b, x, y)
		}
	})
}
