package session

import (
	"errors"
	"path"
	"slices"
	"strings"
	"time"
	_ "time/tzdata" // the binary must know the zones on machines that do not

	"golang.org/x/text/cases"
	"golang.org/x/text/language"

	"runsheet.example/validate/issue"
)

// errZone is returned for a name that is not in the IANA list.
var errZone = errors.New("not a time zone of the IANA list")

// loadZone finds a time zone by its IANA name. The names that mean "whatever
// this computer uses" are refused: the log must read the same everywhere.
func loadZone(name string) (*time.Location, error) {
	if name == "" || name == "Local" {
		return nil, errZone
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return nil, errZone
	}
	return loc, nil
}

// continents are the first parts of the names of zones with a city.
var continents = []string{"Europe", "America", "Asia", "Africa", "Australia", "Pacific", "Atlantic", "Indian", "Antarctica"}

// zoneLike says which zones a text may mean: a city without its continent, or
// the name in other letters.
func zoneLike(text string) issue.Text {
	title := cases.Title(language.Und)
	words := strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '_' })
	for i, word := range words {
		words[i] = title.String(word)
	}
	name := strings.Join(words, "_")
	var like []string
	for _, start := range append([]string{""}, continents...) {
		if _, err := loadZone(path.Join(start, name)); err == nil && strings.Contains(path.Join(start, name), "/") {
			like = append(like, path.Join(start, name))
		}
	}
	if len(like) == 0 {
		return issue.T("a zone such as Europe/London")
	}
	return issue.T("perhaps {}", strings.Join(like, ", "))
}

// reach is further than any zone's offset from UTC (at most 14 hours), so
// that every instant at which a wall clock could show a given time lies
// within it.
const reach = 26 * time.Hour

// resolveLocal returns the instants at which clocks in loc show the date and
// time of day that wall carries in UTC, earliest first: one as a rule, none
// for a time left out when clocks go forward, two for a time that comes twice
// when they go back. time.Date and time.ParseInLocation would pick one
// silently.
func resolveLocal(wall time.Time, loc *time.Location) []time.Time {
	var found []time.Time
	for at := wall.Add(-reach); !at.After(wall.Add(reach)); {
		local := at.In(loc)
		_, offset := local.Zone()
		instant := wall.Add(-time.Duration(offset) * time.Second)
		if wallOf(instant.In(loc)).Equal(wall) &&
			!slices.ContainsFunc(found, instant.Equal) {
			found = append(found, instant.In(loc))
		}
		_, end := local.ZoneBounds()
		if end.IsZero() || end.After(wall.Add(reach)) {
			break
		}
		if !end.After(at) {
			// In leap years after the zone's table ends, ZoneBounds of Go 1.26
			// says that the period ends when the last day of the year begins.
			end = at.Add(time.Hour)
		}
		at = end
	}
	slices.SortFunc(found, time.Time.Compare)
	return found
}

// wallOf returns what the clock shows at an instant, carried in UTC, so that
// wall times can be compared and shifted by days without any zone.
func wallOf(instant time.Time) time.Time {
	y, m, d := instant.Date()
	h, mi, s := instant.Clock()
	return time.Date(y, m, d, h, mi, s, 0, time.UTC)
}
