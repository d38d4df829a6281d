package session

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// Check is one row of what was looked at, tested or used for a session.
type Check struct {
	Ordinal int
	Cell    issue.Cell
	At      Moment // absent when not written
	// Kind is the row of [profiles.CheckKinds] that What names; its Field is
	// [OwnCheck] for words of the person's own.
	Kind   CheckKind
	What   Text
	Result Text // as written
	// Value is the number of a kind that has one, in a unit the log knows.
	// Words hold what is written there otherwise, with its unit.
	Value Value
	Words Text
	Lot   Text
	// Expires is the last day on which a supply may be used, local midnight;
	// of a month alone its last day, and OnlyMonth is set.
	Expires   Text
	LastDay   time.Time
	OnlyMonth bool
	ByWhom    Text
}

// OwnCheck is the field of a check in the person's own words.
const OwnCheck Field = "check_other"

// checkKind finds the kind that words name.
func checkKind(words string) CheckKind {
	plain := plainWords(words)
	for _, k := range profiles.CheckKinds() {
		if _, ok := Chosen([]string{k.Name}, words); ok || k.Name == plain || slices.Contains(k.Also, plain) {
			return k
		}
	}
	return CheckKind{Name: words, Field: OwnCheck}
}

// verdicts are the results that are understood; true means ok or yes.
var verdicts = map[string]struct{ good, sign bool }{
	"ok": {good: true}, "passed": {good: true}, "pass": {good: true}, "good": {good: true}, "in ordnung": {good: true}, "bestanden": {good: true},
	"not ok": {}, "failed": {}, "fail": {}, "nicht ok": {}, "nicht in ordnung": {}, "nicht bestanden": {},
	"yes": {good: true, sign: true}, "ja": {good: true, sign: true}, "oui": {good: true, sign: true}, "no": {sign: true}, "nein": {sign: true}, "non": {sign: true},
}

// Failed reports whether the result says that something is not as it should
// be. Yes and no say nothing of a check in the person's own words.
func (c *Check) Failed() bool {
	v, known := verdicts[strings.ToLower(c.Result.Text)]
	if !known || !c.Result.OK() || v.sign && c.Kind.Field == OwnCheck {
		return false
	}
	return v.good == (v.sign && c.Kind.Sign)
}

// IsSupply reports whether the row has the lot or the date of something used.
func (c *Check) IsSupply() bool { return c.Lot.OK() || !c.LastDay.IsZero() }

// Says reports whether the row has a result or a value, or says that there is
// none.
func (c *Check) Says() bool {
	return c.Result.OK() || c.Value.OK() || c.Words.OK() || c.Absence() != NotRecorded
}

// Absence is why there is neither result nor value, as far as the row says.
func (c *Check) Absence() Absence {
	for _, a := range []Absence{c.Result.Absence, c.Value.Absence} {
		if a == NotDone || a == AskedUnknown {
			return a
		}
	}
	return NotRecorded
}

// Checks are mostly made some hours before the start; a disinfection can
// follow the treatment (common practice).
const checksBefore = 8 * time.Hour

// readChecks reads the checks into their sessions. Only what was looked at
// must be said.
func (r *reader) readChecks(s *sheetReader) {
	a := newAttached(r, s)
	for one, ok := a.next(); ok; one, ok = a.next() {
		row := &Check{Ordinal: len(one.Checks) + 1, Cell: s.spot(0).cell, What: s.textOf("what")}
		if !row.What.OK() {
			f := s.rowSpot().finding("log-cell-missing", "it is not said what was looked at, so the row is left out")
			f.Severity = issue.Warning
			s.add(f)
			continue
		}
		one.Checks = append(one.Checks, row)
		row.Kind = checkKind(row.What.Text)
		a.near = spanOf(one)
		if one.Start.OK() {
			a.near.from = one.Start.Time.Add(-checksBefore)
		}
		a.time("time", a.marker(), one, &row.At)
		row.Result = s.textOf("result")
		row.Lot = s.textOf("lot")
		row.ByWhom = s.textOf("by_whom")
		s.checkValue(row)
		s.expiry(row, r.log)
		if !row.LastDay.IsZero() || !row.Expires.OK() {
			s.asPrinted(row.Lot)
		}
	}
	a.settle()
}

// germanHardness is a degree of German hardness, which UCUM has no code for:
// 10 mg CaO in a litre, 0.178 mmol/L (DIN 38409-6, from memory).
var germanHardness = regexp.MustCompile(`(?i)^\s*[°º]\s*d\s*h?\s*$`)

// checkValue reads the value of a check. What is no number with a unit of the
// log is kept as words: test strips are read in many ways.
func (s *sheetReader) checkValue(row *Check) {
	c, ok := s.column("value")
	if !ok {
		return
	}
	text := s.text(c.position)
	row.Value = Value{Text: text, Cell: s.spot(c.position).cell}
	if row.Value.Absence, ok = s.absence(c.position); ok {
		return
	}
	unit := s.textOf("unit")
	number := s.readNumber(c, text)
	ucum, known := ucumOf(unit.Text, checkUnits)
	if number.ok && known && slices.Contains(row.Kind.Units, ucum) {
		row.Value.Decimal, row.Value.Comparator, row.Value.Unit, row.Value.Absence = number.decimal, number.comparator, ucum, Present
		return
	}
	row.Words = Text{Text: strings.TrimSpace(text + " " + unit.Text), Absence: Present, Cell: row.Value.Cell}
	row.Value.Absence = NotRecorded
	kind := row.Kind.Name + " " + unit.Text
	if row.Kind.Units != nil && strings.ContainsAny(text, "0123456789") && (unit.Text == "" || !slices.Contains(s.inWords, kind)) {
		s.inWords = append(s.inWords, kind)
		f := s.spot(c.position).finding("log-check-words", "this is not a plain number with a unit the log knows, so it is sent as words")
		f.Value, f.Expected = row.Words.Text, issue.T("a number, and a unit such as mg/L or mS/cm")
		if number.ok && germanHardness.MatchString(unit.Text) {
			f.Severity, f.Mend = issue.Information, issue.Text{}
			f.Expected = issue.T("nothing to do; in mmol/L it would be the number times 0.178")
		}
		s.add(f)
	}
}

// ofSpreadsheet are the forms that a spreadsheet gives to a text that looks like
// a number or a date: 4.47E+06, 28-Mar, Mar-28, 2028-03-01.
var ofSpreadsheet = func() *regexp.Regexp {
	const month = `(Jan|Feb|Mar|Mär|Mrz|Apr|May|Mai|Jun|Jul|Aug|Sep|Oct|Okt|Nov|Dec|Dez)`
	return regexp.MustCompile(`^(\d([.,]\d+)?E\+\d{2,}|\d{1,2}(-|\. ?| )` + month + `|` + month + `[- ]\d{2}|\d{4}-\d{2}-\d{2})$`)
}()

const changedText = "this looks like a text that a spreadsheet turned into a number or a date"

// asPrinted reports what is printed on a package, or shown by a machine, where a
// spreadsheet has made a number or a date of it.
func (s *sheetReader) asPrinted(t Text) {
	if !t.OK() || !ofSpreadsheet.MatchString(t.Text) {
		return
	}
	s.add(spot{cell: t.Cell}.finding("log-text-changed", changedText).Seen(t.Text, issue.T("what is printed or shown")))
}

// Forms of a month that is printed on a package.
var (
	yearMonth = regexp.MustCompile(`^(\d{4})[-/.](\d{1,2})$`)
	monthYear = regexp.MustCompile(`^(\d{1,2})[-/.](\d{4})$`)
)

// expiry reads until when a supply may be used: a day, or a month to its end.
func (s *sheetReader) expiry(row *Check, log *Log) {
	row.Expires = s.textOf("expires")
	if !row.Expires.OK() {
		return
	}
	text := row.Expires.Text
	year, month := "", ""
	if m := yearMonth.FindStringSubmatch(text); m != nil {
		year, month = m[1], m[2]
	} else if m := monthYear.FindStringSubmatch(text); m != nil {
		year, month = m[2], m[1]
	}
	y, _ := strconv.Atoi(year)
	m, _ := strconv.Atoi(month)
	day := s.readDate(text, log.About.DateStyle)
	switch {
	case m >= 1 && m <= 12:
		row.OnlyMonth = true
		row.LastDay = midnightOf(time.Date(y, time.Month(m)+1, 0, 0, 0, 0, 0, time.UTC), log.Location)
	case day.usable():
		row.LastDay = midnightOf(day.day, log.Location)
	default:
		f := spot{cell: row.Expires.Cell}.finding("log-date", "this cannot be read as a day or a month, so it is not sent")
		f.Severity, f.Value, f.Expected = issue.Warning, text, issue.T("a day or a month such as 2026-03-31 or 2026-03")
		if s.readDate(row.Lot.Text, log.About.DateStyle).usable() {
			f.Expected = issue.T("perhaps {} here and {} there", row.Lot.Text, text)
			f.Cells = append(f.Cells, row.Lot.Cell)
		}
		s.add(f)
	}
}
