package check

import (
	"regexp"
	"strconv"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// name is a field in the words of the person who fills in the log.
func name(f session.Field) issue.Text {
	if row, ok := profiles.RowOf(f); ok && row.Name.English() != "" {
		return issue.T(row.Name.English())
	}
	return issue.Literal(string(f))
}

// day writes a day as the date of a cell is written, or of the first session.
func (c *checker) day(like string, day time.Time) string {
	if like == "" && len(c.log.Sessions) > 0 {
		like = c.log.Sessions[0].Date.Text
	}
	return session.SpellDay(like, c.log.About.DateStyle, day)
}

var (
	dayOfYear   = regexp.MustCompile(`^\D*(?:(\d{1,2})[-_./ ](\d{1,2})|(\d\d)(\d\d))\D*$`)
	monthInWord = regexp.MustCompile(`(?i)^(\d{0,2})\W*(jan|feb|mar|mär|mrz|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)\pL*\W*(\d{0,2})\D*$`)
	// ofWord are the months of English and German words by their first letters.
	ofWord = map[string]int{"jan": 1, "feb": 2, "mar": 3, "mär": 3, "mrz": 3, "apr": 4, "may": 5, "mai": 5, "jun": 6, "jul": 7,
		"aug": 8, "sep": 9, "oct": 10, "okt": 10, "nov": 11, "dec": 12, "dez": 12}
)

// namedDay is the day in the name of a session, or of a name with two numbers
// the day and month, or month and day, nearest to its date, or of one with the
// month in words, where that is the date of most sessions.
func (c *checker) namedDay(s *session.Session) (day time.Time, ok bool) {
	if c.byDay == nil {
		n, exact := 0, 0
		for _, other := range c.dated() {
			n++
			if day, ok := nearestDay(other); ok && day.Equal(other.Date.Time) {
				exact++
			}
		}
		trusted := n > fewest && float64(exact) >= most*float64(n)
		c.byDay = &trusted
	}
	if day, ok = nearestDay(s); ok && *c.byDay {
		return day, ok
	}
	return s.NamedDay()
}

func nearestDay(s *session.Session) (day time.Time, ok bool) {
	if s.IDDerived || !s.Date.OK() {
		return day, false
	}
	var pairs [][2]int // month and day
	if m := monthInWord.FindStringSubmatch(s.ID); m != nil {
		of, _ := strconv.Atoi(m[1] + m[3])
		pairs = [][2]int{{ofWord[strings.ToLower(m[2])], of}}
	} else if m := dayOfYear.FindStringSubmatch(s.ID); m != nil {
		a, _ := strconv.Atoi(m[1] + m[3])
		b, _ := strconv.Atoi(m[2] + m[4])
		pairs = [][2]int{{a, b}, {b, a}}
	}
	for _, pair := range pairs {
		for year := s.Date.Time.Year() - 1; year <= s.Date.Time.Year()+1; year++ {
			one := time.Date(year, time.Month(pair[0]), pair[1], 0, 0, 0, 0, s.Date.Time.Location())
			if int(one.Month()) == pair[0] && (!ok || one.Sub(s.Date.Time).Abs() < day.Sub(s.Date.Time).Abs()) {
				day, ok = one, true
			}
		}
	}
	return day, ok
}
