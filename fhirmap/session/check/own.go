package check

import (
	"maps"
	"math"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// Columns of a session that hold what a person sets and not what is measured.
var (
	setNumbers = []session.Field{
		"dialysate_flow", "blood_flow", "dialysate_sodium", "dialysate_potassium", "dialysate_calcium",
		"dialysate_bicarbonate", "dialysate_lactate",
	}
	setSites = []session.Field{"arterial_needle_site", "venous_needle_site"}
	setWords = []session.Field{"access", "needling", "needle_gauge", "first_try", "dialyser"}
)

// ofBath are the numbers that describe the dialysate.
var ofBath = []session.Field{"dialysate_sodium", "dialysate_potassium", "dialysate_calcium", "dialysate_bicarbonate", "dialysate_lactate"}

// entry is the content of a cell.
type entry struct {
	text string // "" for an empty cell
	cell issue.Cell
}

// ownRow is what was set in one session, by column. Doses are numbers, and kind
// and route of a medicine are words, in columns of that medicine.
type ownRow struct {
	session        *session.Session
	numbers, words map[string]entry
}

// tally counts the rows that hold a text, by column.
type tally map[string]map[string]int

func tallied(rows []ownRow, of func(ownRow) map[string]entry) tally {
	n := tally{}
	for _, row := range rows {
		for column, e := range of(row) {
			if n[column] == nil {
				n[column] = map[string]int{}
			}
			n[column][e.text]++
		}
	}
	return n
}

// ownRows compares what was set in each session with the person's other rows
// and with log.toml.
func (c *checker) ownRows() {
	rows := c.settings()
	numbers := tallied(rows, func(r ownRow) map[string]entry { return r.numbers })
	words := tallied(rows, func(r ownRow) map[string]entry { return r.words })
	for _, row := range rows {
		c.unlikeReadings(row, numbers)
		for _, field := range append([]session.Field{"dry_weight", "rinseback"}, ofBath...) {
			c.oddSetting(row, field, numbers[string(field)])
		}
		for _, column := range slices.Sorted(maps.Keys(row.words)) {
			c.unlike(row.session, column, row.words[column], words[column])
		}
		c.unplanned(row.session)
	}
	c.recovery(rows)
}

// oddSetting finds a number of the dialysate that one session has and no other,
// while the sessions before and after agree: with two digits exchanged, or far from
// them with one slip of the pen, or in finer steps. One digit alone may be any other: that
// is set for a day, but for a dry weight.
func (c *checker) oddSetting(row ownRow, field session.Field, n map[string]int) {
	const far = 0.1 // of the number (common practice)
	v := row.session.Value(field)
	number, ok := c.inLimitUnit(field, v)
	meant, between, _ := c.neighbourValue(row.session, field)
	p, prescribed := c.log.About.PrescriptionFor(row.session)
	own := p.Values[field]
	if !ok || !between || number == meant || n[row.numbers[string(field)].text] > 1 || row.session.Texts["prescription"].OK() ||
		prescribed && own.OK() && own.Decimal.Float64() == v.Decimal.Float64() {
		return
	}
	scale := number / v.Decimal.Float64()
	text, slip := exchangedDigits(v, func(one float64) bool { return math.Abs(one*scale-meant) < plausible.Rounding })
	rinse := field == "rinseback" // more or less for a day
	if rinse && !slip {
		text = withPointMoved(number, scale, func(one float64) bool { return within(one, meant, plausible.Rounding) })
	} else if !slip && (!within(number, meant, far) && len(v.Text) > 1 || field == "dry_weight" || inFinerSteps(number/scale, meant/scale)) {
		text = slipNear(v, meant/scale, plausible.Rounding)
	}
	if text == "" && (within(number, meant, far) || rinse) {
		return
	}
	f := atValue("clin-apart", "the {} differs from all your other rows", v, name(field))
	f.Expected = issue.T("perhaps {}", quantity(text, v.Unit))
	if text == "" {
		f.Severity, f.Expected = issue.Information, issue.T("about {}", quantity(short(meant/scale), v.Unit))
	}
	c.add(f, row.session)
}

// recovery finds a time until recovery that fits the others as hours, or that the
// decimal point of a number far above all of them makes one of them.
func (c *checker) recovery(rows []ownRow) {
	const perHour, far, above = 60, 5, 4 // common practice
	all := c.valuesOf(c.inRows(), "recovery_time", nil)
	for _, row := range rows {
		v := row.session.Value("recovery_time")
		hours, ok := c.good(v)
		others := slices.DeleteFunc(slices.Clone(all), func(one float64) bool { return one == hours })
		if ok && len(others) == len(all)-1 && len(others) > fewest && hours > 0 &&
			hours*far < slices.Min(others) && hours*perHour <= 2*slices.Max(others) {
			f := atValue("clin-unlike-own", "this is far from your other rows; it looks like hours, and the column is in minutes", v)
			f.Expected = issue.T("perhaps {}", quantity(short(hours*perHour), "min"))
			c.add(f, row.session)
		} else if ok && len(others) == len(all)-1 && len(others) > 2*fewest && hours > above*slices.Max(others) {
			i := slices.IndexFunc(decimalSlips, func(slip slip) bool { return slices.Contains(others, hours*slip.factor) })
			if i < 0 {
				continue // a bad day
			}
			f := atValue("clin-unlike-own", "the {} is far above all your other rows", v, name("recovery_time"))
			f.Mend = issue.T("look at the number; if it is right, leave it")
			f.Expected = issue.T("perhaps {}", quantity(short(hours*decimalSlips[i].factor), "min"))
			c.add(f, row.session)
		}
	}
}

// settings are the rows of the sessions held.
func (c *checker) settings() (rows []ownRow) {
	for _, s := range c.log.Sessions {
		if held(s) {
			rows = append(rows, c.setIn(s))
		}
	}
	return rows
}

func (c *checker) setIn(s *session.Session) ownRow {
	row := ownRow{s, map[string]entry{}, map[string]entry{}}
	number := func(column string, v session.Value) {
		switch {
		case v.OK() && !c.suspect[v.Cell]:
			row.numbers[column] = entry{v.Decimal.String() + " " + spoken(v.Unit), v.Cell}
		case v.Absence == session.NotRecorded:
			row.numbers[column] = entry{"", v.Cell}
		}
	}
	word := func(into map[string]entry, column string, t session.Text) {
		if t.OK() && !c.suspect[t.Cell] {
			into[column] = entry{t.Text, t.Cell}
		}
	}
	for _, field := range append([]session.Field{"dry_weight", "rinseback"}, setNumbers...) {
		number(string(field), s.Value(field))
	}
	for _, field := range setSites {
		word(row.numbers, string(field), s.Texts[field])
	}
	for _, field := range setWords {
		word(row.words, string(field), s.Texts[field])
	}
	for _, m := range s.Medicines {
		drug := strings.ToLower(m.Name.Text)
		if m.Dose.OK() {
			number("dose "+drug, m.Dose)
		}
		word(row.words, "kind "+drug, m.Kind)
		word(row.words, "route "+drug, m.Route)
	}
	return row
}

// offered are the words that a column of words offers.
func offered(field string) []string {
	for _, column := range session.Columns {
		if column.Sheet == session.SheetSessions && string(column.Field) == field {
			return column.Choices
		}
	}
	return nil
}

// unlike finds a word that occurs once and is a slip of a frequent one,
// or of one that is offered; and a kind or route that a medicine has only once.
func (c *checker) unlike(s *session.Session, column string, e entry, n map[string]int) {
	words := offered(column)
	if n[e.text] > 1 || slices.ContainsFunc(words, func(word string) bool { return strings.EqualFold(word, e.text) }) {
		return
	}
	meant := issue.Literal(session.Nearest(strings.ToLower(e.text), words))
	if meant.IsZero() && len(e.text) == 1 {
		meant = issue.Or(words)
	}
	fact, others, least := strings.Contains(column, " "), len(n)-1, fewest
	if strings.HasPrefix(column, "kind ") {
		least = 2 // what a medicine is does not change
	}
	for _, other := range slices.Sorted(maps.Keys(n)) {
		switch {
		case n[other] < least || other == e.text:
		case strings.EqualFold(other, e.text):
			return
		case fact && others == 1 && !sameRoute(e.text, other), !fact && mistyped(e.text, other):
			meant = issue.Literal(other)
		}
	}
	if meant.IsZero() {
		return
	}
	f := at("clin-unlike-own", "this differs from your other rows, or from the words of this column", e.cell)
	f.Value, f.Expected = e.text, issue.T("perhaps {}", meant)
	c.add(f, s)
}

// sameRoute is whether two routes both lead into the blood: which of them was
// used may change from day to day.
func sameRoute(a, b string) bool {
	blood := []string{"circuit", "vein"}
	return slices.Contains(blood, a) && slices.Contains(blood, b)
}

// mistyped is whether one text may be a slip of another. Another digit is
// another size or model, digits in another order are a slip.
func mistyped(written, meant string) bool {
	digits := func(text string) string {
		return strings.Map(func(r rune) rune {
			if r < '0' || r > '9' {
				return -1
			}
			return r
		}, text)
	}
	sorted := func(text string) string {
		letters := []rune(text)
		slices.Sort(letters)
		return string(letters)
	}
	return sorted(written) == sorted(meant) ||
		digits(written) == digits(meant) && len(meant) > 3 && session.Nearest(written, []string{meant}) != ""
}

// unplanned compares the access and the dry weight of a session with log.toml.
func (c *checker) unplanned(s *session.Session) {
	if !s.Date.OK() {
		return
	}
	used := s.Texts["access"]
	var kinds []string
	var last issue.Cell
	for _, access := range c.log.About.Accesses {
		if !access.ValidFrom.Time.After(s.Date.Time) {
			kinds, last = append(kinds, access.Kind.Text), access.Kind.Cell
		}
	}
	if kind := strings.ToLower(used.Text); used.OK() && len(kinds) > 0 && slices.Contains(session.AccessKinds, kind) && !slices.Contains(kinds, kind) {
		f := at("clin-unlike-plan", "log.toml has no such access on this day", used.Cell)
		f.Value, f.Expected = used.Text, issue.T("perhaps {}, or the new access in log.toml", kinds[len(kinds)-1])
		f.Cells = append(f.Cells, last)
		c.add(f, s)
	}
	dry := s.Value("dry_weight")
	kg, ok := c.good(dry)
	p, prescribed := c.log.About.PrescriptionFor(s)
	now, known := c.good(p.Values["dry_weight"])
	if !ok || !prescribed || !known || kg == now {
		return
	}
	for _, earlier := range c.log.About.Prescriptions {
		if old, set := c.good(earlier.Values["dry_weight"]); set && old == kg && earlier.ValidFrom.Time.Before(p.ValidFrom.Time) {
			f := atValue("clin-unlike-plan", "this is the dry weight of an earlier prescription", dry)
			f.Expected = issue.T("perhaps {}", quantity(p.Values["dry_weight"].Text, p.Values["dry_weight"].Unit))
			f.Cells = append(f.Cells, p.Values["dry_weight"].Cell)
			c.add(f, s)
			return
		}
	}
}
