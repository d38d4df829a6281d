package session

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"runsheet.example/validate/issue"
)

// DateForm is how a foreign sheet writes its dates. The zero value leaves it
// to the date style of the log.
type DateForm struct {
	style string // "iso", "dmy" or "mdy" when declared by that word
	form  *regexp.Regexp
	parts []string // what each group of form is: d, m, y, yy, name
	year  int      // of dates written without one
}

// ParseDateForm reads a declaration of dates: iso, dmy, mdy, or the form
// itself written with d, m, mmm (the month's name), yy, yyyy and w (the day of
// the week), such as "dd.mm.yy", "d mmm yyyy" or "w dd/mm". A form without a
// year needs one; two digits of a year are of this century.
func ParseDateForm(declared string, year int) (DateForm, error) {
	declared = strings.TrimSpace(declared)
	switch strings.ToLower(declared) {
	case "":
		if year != 0 {
			return DateForm{}, fmt.Errorf("a year is for dates written without one: declare the form, such as dd.mm.")
		}
		return DateForm{}, nil
	case styleISO, styleDMY, styleMDY:
		return DateForm{style: strings.ToLower(declared)}, nil
	}
	f := DateForm{year: year}
	var pattern strings.Builder
	seen := map[string]bool{}
	for rest := strings.ToLower(declared); rest != ""; {
		letter, size := utf8.DecodeRuneInString(rest)
		if letter == utf8.RuneError {
			return DateForm{}, fmt.Errorf("date form %q: it is no text", declared)
		}
		run := rest[:len(rest)-len(strings.TrimLeft(rest, string(letter)))]
		part, group := dateToken(run)
		switch {
		case part == "" && unicode.IsLetter(letter):
			return DateForm{}, fmt.Errorf("date form %q: %q is none of d, m, mmm, yy, yyyy, w", declared, run)
		case part == "":
			pattern.WriteString(regexp.QuoteMeta(run))
		default:
			pattern.WriteString(group)
			f.parts = append(f.parts, part)
			seen[strings.TrimLeft(part, "y")+strings.Repeat("y", min(1, strings.Count(part, "y")))] = true
		}
		rest = rest[max(size, len(run)):]
	}
	if !seen["d"] || !seen["m"] && !seen["name"] {
		return DateForm{}, fmt.Errorf("date form %q: it needs a day and a month", declared)
	}
	if seen["y"] == (year != 0) {
		return DateForm{}, fmt.Errorf("date form %q: a year stands either in the form or beside it", declared)
	}
	whole, err := regexp.Compile(`^` + pattern.String() + `\.?$`)
	if err != nil {
		return DateForm{}, fmt.Errorf("date form %q: %w", declared, err)
	}
	f.form = whole
	return f, nil
}

func dateToken(run string) (part, group string) {
	switch run {
	case "d", "dd":
		return "d", `(\d{1,2})`
	case "m", "mm":
		return "m", `(\d{1,2})`
	case "mmm", "mmmm":
		return "name", `([\p{L}]{3,}\.?)`
	case "yy":
		return "yy", `(\d{2})`
	case "yyyy":
		return "y", `(\d{4})`
	case "w", "www":
		return "w", `([\p{L}]{2,}\.?,?)`
	}
	return "", ""
}

// declared reports whether the map declares the form of dates.
func (f DateForm) declared() bool { return f.style != "" || f.form != nil }

// read reads a date in the declared form; the year-first form of ISO 8601 is
// always understood, as workbooks give their dates so.
func (f DateForm) read(text, style string) dateReading {
	if f.style != "" {
		style = f.style
	}
	plain := afterDate.ReplaceAllString(text, "$1")
	if f.form == nil || yearFirst.MatchString(plain) {
		return readDate(text, style)
	}
	m := f.form.FindStringSubmatch(strings.ToLower(plain))
	if m == nil {
		return dateReading{rule: "log-date", details: "the date is not written in the form that the map declares", expected: issue.T("a date in the form of the map, or year first such as 2025-11-03")}
	}
	year, month, day, weekday := strconv.Itoa(f.year), "", "", ""
	for i, part := range f.parts {
		switch part {
		case "d":
			day = m[i+1]
		case "m":
			month = m[i+1]
		case "y":
			year = m[i+1]
		case "yy":
			year = "20" + m[i+1]
		case "w":
			weekday = m[i+1]
		case "name":
			month = strconv.Itoa(int(monthNamed(m[i+1])))
		}
	}
	read := dayOf(year, month, day)
	if read.usable() && !mayBe(weekday, read.day.Weekday()) {
		read.rule, read.details = "log-weekday", "the day of the week does not fit the date"
		read.expected = issue.T("a date that is the day of the week written beside it")
	}
	return read
}

// dayNamesIn are the days of the week, from Sunday, in English, German,
// French, Spanish, Dutch, Italian and Swedish.
var dayNamesIn = [7][]string{
	{"sunday", "sonntag", "dimanche", "domingo", "zondag", "domenica", "söndag"},
	{"monday", "montag", "lundi", "lunes", "maandag", "lunedì", "måndag"},
	{"tuesday", "dienstag", "mardi", "martes", "dinsdag", "martedì", "tisdag"},
	{"wednesday", "mittwoch", "mercredi", "miércoles", "woensdag", "mercoledì", "onsdag"},
	{"thursday", "donnerstag", "jeudi", "jueves", "donderdag", "giovedì", "torsdag"},
	{"friday", "freitag", "vendredi", "viernes", "vrijdag", "venerdì", "fredag"},
	{"saturday", "samstag", "sonnabend", "samedi", "sábado", "zaterdag", "sabato", "lördag"},
}

// mayBe reports whether a written day of the week, whole or its beginning,
// can be the day; a word that is none of the known names may be any.
func mayBe(written string, day time.Weekday) bool {
	written = strings.ToLower(strings.Trim(written, "., "))
	known := false
	for i, names := range dayNamesIn {
		for _, name := range names {
			if written != "" && strings.HasPrefix(name, written) {
				if known = true; time.Weekday(i) == day {
					return true
				}
			}
		}
	}
	return !known
}

// monthNames are the months in English, German, French, Spanish, Dutch and
// Italian, with the short forms that are no beginnings of them.
var monthNames = [12][]string{
	{"january", "januar", "jänner", "janvier", "enero", "januari", "gennaio"},
	{"february", "februar", "février", "fevrier", "febrero", "februari", "febbraio"},
	{"march", "märz", "maerz", "mars", "marzo", "maart", "mrt", "mrz"},
	{"april", "avril", "abril", "aprile"},
	{"may", "mai", "mayo", "mei", "maggio"},
	{"june", "juni", "juin", "junio", "giugno"},
	{"july", "juli", "juillet", "julio", "luglio"},
	{"august", "août", "aout", "agosto", "augustus"},
	{"september", "septembre", "septiembre", "settembre"},
	{"october", "oktober", "octobre", "octubre", "ottobre"},
	{"november", "novembre", "noviembre"},
	{"december", "dezember", "décembre", "decembre", "diciembre", "dicembre"},
}

// monthNamed finds a month by its name or by a beginning of three or more
// letters that only one month has; 0 when there is none.
func monthNamed(name string) time.Month {
	name = strings.TrimSuffix(name, ".")
	found := time.Month(0)
	for i, names := range monthNames {
		for _, full := range names {
			if !strings.HasPrefix(full, name) || len([]rune(name)) < 3 {
				continue
			}
			if found != 0 && found != time.Month(i+1) {
				return 0
			}
			found = time.Month(i + 1)
		}
	}
	return found
}

// ClockForm is how a foreign sheet writes times of day beside 18:30. The zero
// value adds nothing.
type ClockForm struct{ form *regexp.Regexp }

// clockForms are the forms by their example.
var clockForms = map[string]*regexp.Regexp{
	"18h30": regexp.MustCompile(`(?i)^(\d{1,2})\s?h\s?(\d{2})$`),
	"18.30": regexp.MustCompile(`^(\d{1,2})\.(\d{2})$`),
	"1830":  regexp.MustCompile(`^(\d{1,2})(\d{2})$`),
	"18.5":  hoursForm,
}

// clockFormNames are the forms of times that a log can declare.
var clockFormNames = []string{"18:30", "18h30", "18.30", "1830", "18.5"}

// ParseClockForm reads a declaration of times by their example: 18:30, 18h30,
// 18.30, 1830, or 18.5 for hours with decimals.
func ParseClockForm(declared string) (ClockForm, error) {
	if declared == "" || declared == "18:30" {
		return ClockForm{}, nil
	}
	form, ok := clockForms[declared]
	if !ok {
		return ClockForm{}, fmt.Errorf("time form %q: expected 18:30, 18h30, 18.30, 1830 or 18.5", declared)
	}
	return ClockForm{form}, nil
}

var clockWord = regexp.MustCompile(`(?i)\s*(uhr|uur|hrs|h)\.?$`)

// read reads a time of day in the declared form, with the word for hours that
// some languages put after it.
func (f ClockForm) read(text string) (time.Duration, bool) {
	plain := clockWord.ReplaceAllString(text, "")
	if clock, ok := readTimeOfDay(plain); ok {
		return clock, true
	}
	if f.form == nil {
		return 0, false
	}
	if f.form == hoursForm {
		clock, ok := decimalHours(plain)
		return clock.Round(time.Minute), ok && clock.Round(time.Minute) < 24*time.Hour
	}
	if m := f.form.FindStringSubmatch(plain); m != nil {
		return timeOfDay(m[1], m[2], "", 0, 23)
	}
	return 0, false
}
