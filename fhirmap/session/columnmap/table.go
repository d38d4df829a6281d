package columnmap

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
)

// table is one [[table]] of a map, checked.
type table struct {
	entry    tableEntry
	form     bool
	dates    session.DateForm
	clock    session.ClockForm
	mark     byte
	absences map[string]session.Absence
	words    map[string]map[string]string // by column name, lower case
	set      []constant
	columns  []column
	groups   []group
	ignored  []matcher
	skipped  []matcher
}

// constant is what the map states for every row.
type constant struct {
	target target
	text   string
}

// column is one [[table.column]].
type column struct {
	entry   columnEntry
	heading matcher
	letter  int // from 0; -1 when not given
	row     int // of a cell on a form
	targets []target
	split   string
	// prefixes are texts before a value that are no part of it, lower case.
	prefixes []string
	// take is which of a session's rows has the value: "first", "last", or ""
	// for all that say something.
	take string
}

// group is one [[table.group]].
type group struct {
	entry   groupEntry
	sheet   session.Sheet
	columns []column
	set     []constant
	numbers bool // its headings have {n}
}

func newTable(e tableEntry) (table, error) {
	t := table{entry: e, form: e.Layout == "form"}
	if e.Layout != "" && e.Layout != "rows" && !t.form {
		return t, fmt.Errorf("layout = %q: expected rows or form", e.Layout)
	}
	var err error
	if t.dates, err = session.ParseDateForm(e.DateForm, e.Year); err != nil {
		return t, err
	}
	if t.clock, err = session.ParseClockForm(e.TimeForm); err != nil {
		return t, err
	}
	switch e.DecimalMark {
	case "":
	case ".", ",":
		t.mark = e.DecimalMark[0]
	default:
		return t, fmt.Errorf("decimal_mark = %q: expected . or ,", e.DecimalMark)
	}
	t.readAbsences()
	steps := []func() error{t.readWords, t.readColumns, t.readGroups, t.readSet, t.readPatterns, t.twice}
	for _, step := range steps {
		if err := step(); err != nil {
			return t, err
		}
	}
	return t, nil
}

func (t *table) readAbsences() {
	t.absences = map[string]session.Absence{}
	a := t.entry.Absences
	for _, list := range []struct {
		texts   []string
		absence session.Absence
	}{
		{a.NotRecorded, session.NotRecorded}, {a.NotDone, session.NotDone},
		{a.Unknown, session.AskedUnknown}, {a.NotApplicable, session.NotApplicable},
	} {
		for _, text := range list.texts {
			t.absences[plain(text)] = list.absence
		}
	}
}

// readWords checks their words for choices against the words of the log.
func (t *table) readWords() error {
	t.words = map[string]map[string]string{}
	for _, name := range slices.Sorted(maps.Keys(t.entry.Words)) {
		of := map[string]string{}
		known := false
		for _, c := range mappable() {
			if c.Name == name || string(c.Field) == name {
				known, name = true, c.Name
				for theirs, ours := range t.entry.Words[name] {
					if c.Kind == session.KindChoice && c.Choices != nil && !slices.Contains(c.Choices, ours) {
						return fmt.Errorf("words of %s: %q is none of %s", name, ours, strings.Join(c.Choices, ", "))
					}
					of[plain(theirs)] = ours
				}
				break
			}
		}
		if !known {
			return fmt.Errorf("words of %q: %w", name, noColumn("", name))
		}
		t.words[name] = of
	}
	return nil
}

func (t *table) readColumns() error {
	for i, e := range t.entry.Columns {
		c, err := newColumn(e, "", t.form)
		if err == nil && c.take != "" && (t.form || len(t.entry.Key) == 0 || c.targets[0].sheet != session.SheetSessions) {
			err = errTake
		}
		if err != nil {
			return fmt.Errorf("column %d: %w", i+1, err)
		}
		if t.form {
			for _, to := range c.targets {
				if to.sheet != session.SheetSessions {
					return fmt.Errorf("column %d: a single cell of a form goes to sessions; use a group for %s", i+1, to.sheet)
				}
			}
		}
		t.columns = append(t.columns, c)
	}
	return nil
}

var errTake = errors.New("take picks among the rows of one session: it needs a key in the table and a column of sessions")

// readPrefixes refuses what would change a number: digits, signs and marks.
func (c *column) readPrefixes() error {
	texts, err := textList(c.entry.Prefix, "prefix")
	for _, text := range texts {
		if strings.TrimSpace(text) == "" || strings.ContainsAny(text, "0123456789+-\u2212<>=\u2264\u2265.,/") {
			return fmt.Errorf("prefix = %q: expected words such as RR, without digits, signs and marks", text)
		}
		c.prefixes = append(c.prefixes, plain(text))
	}
	return err
}

func newColumn(e columnEntry, within session.Sheet, form bool) (column, error) {
	c := column{entry: e, letter: -1, split: e.Split, take: e.Take}
	var err error
	if e.Take != "" && e.Take != "first" && e.Take != "last" {
		return c, fmt.Errorf("take = %q: expected first or last", e.Take)
	}
	if err = c.readPrefixes(); err != nil {
		return c, err
	}
	if c.heading, err = newMatcher(e.Heading); err != nil {
		return c, err
	}
	switch {
	case form && e.Cell == "":
		return c, errors.New(`a form needs the cell, such as cell = "B3"`)
	case !form && e.Cell != "":
		return c, errors.New("cell is for forms; use heading or column here")
	case form:
		c.letter, c.row, err = parseCell(e.Cell)
	case e.Column != "":
		c.letter, err = parseLetters(e.Column)
	case e.Heading == "":
		return c, errors.New("it has neither a heading nor a column letter")
	}
	if err != nil {
		return c, err
	}
	names, err := textList(e.To, "to")
	if err != nil {
		return c, err
	}
	units, err := textList(e.Unit, "unit")
	if err != nil {
		return c, err
	}
	if len(names) == 0 || len(units) > 1 && len(units) != len(names) {
		return c, errors.New("it needs to, and as many units as names in it or one for all")
	}
	if len(names) > 1 && e.Split == "" {
		return c, errors.New(`a cell for several columns needs split, such as split = "/"`)
	}
	for i, name := range names {
		unit := ""
		switch {
		case len(units) == 1:
			unit = units[0]
		case len(units) > 1:
			unit = units[i]
		}
		to, err := parseTarget(name, within, unit)
		if err != nil {
			return c, err
		}
		c.targets = append(c.targets, to)
	}
	return c, nil
}

// textList reads a text or a list of texts.
func textList(value any, key string) ([]string, error) {
	switch v := value.(type) {
	case nil:
		return nil, nil
	case string:
		return []string{v}, nil
	case []any:
		var texts []string
		for _, one := range v {
			text, ok := one.(string)
			if !ok {
				return nil, fmt.Errorf("%s: expected texts in the list", key)
			}
			texts = append(texts, text)
		}
		return texts, nil
	}
	return nil, fmt.Errorf("%s: expected a text or a list of texts", key)
}

func (t *table) readGroups() error {
	for i, e := range t.entry.Groups {
		g, err := newGroup(e, t.form)
		if err != nil {
			return fmt.Errorf("group %d: %w", i+1, err)
		}
		t.groups = append(t.groups, g)
	}
	return nil
}

var ofSession = []session.Sheet{session.SheetChecks, session.SheetReadings, session.SheetMedicines, session.SheetLabs, session.SheetEvents}

func newGroup(e groupEntry, form bool) (group, error) {
	g := group{entry: e, sheet: session.Sheet(e.To)}
	if !slices.Contains(ofSession, g.sheet) {
		return g, fmt.Errorf("to = %q: expected checks, readings, medicines, labs or events", e.To)
	}
	if e.At != "" && e.At != "start" && e.At != "end" {
		return g, fmt.Errorf("at = %q: expected start or end", e.At)
	}
	if form && e.FirstRow == 0 {
		return g, errors.New("a group on a form needs first_row")
	}
	for i, one := range e.Columns {
		c, err := newColumn(one, g.sheet, false)
		if err == nil && c.take != "" {
			err = errTake
		}
		if err != nil {
			return g, fmt.Errorf("column %d: %w", i+1, err)
		}
		g.columns = append(g.columns, c)
		g.numbers = g.numbers || strings.Contains(one.Heading, numberMark)
	}
	if len(g.columns) == 0 {
		return g, errors.New("it has no column")
	}
	if e.EveryMin != 0 && (e.At == "" || !g.numbers) {
		return g, errors.New("every_min counts the {n} of headings from at = start")
	}
	var err error
	g.set, err = constants(e.Set, g.sheet)
	return g, err
}

func (t *table) readSet() (err error) {
	t.set, err = constants(t.entry.Set, "")
	return err
}

// constants reads what the map states itself: words, never numbers or times,
// which would be values that nobody measured.
func constants(set map[string]string, within session.Sheet) ([]constant, error) {
	var all []constant
	for _, name := range slices.Sorted(maps.Keys(set)) {
		to, err := parseTarget(name, within, "")
		if err != nil {
			return nil, err
		}
		switch to.column.Kind {
		case session.KindNumber, session.KindDate, session.KindTime, session.KindID:
			return nil, fmt.Errorf("set %q: a map can state words but no numbers, dates or times", name)
		case session.KindChoice:
			if to.column.Choices != nil && !slices.Contains(to.column.Choices, set[name]) {
				return nil, fmt.Errorf("set %q: %q is none of %s", name, set[name], strings.Join(to.column.Choices, ", "))
			}
		}
		all = append(all, constant{to, set[name]})
	}
	return all, nil
}

func (t *table) readPatterns() error {
	for _, list := range []struct {
		texts []string
		into  *[]matcher
	}{{t.entry.Ignore, &t.ignored}, {t.entry.SkipRows, &t.skipped}} {
		for _, text := range list.texts {
			m, err := newMatcher(text)
			if err != nil {
				return err
			}
			*list.into = append(*list.into, m)
		}
	}
	return nil
}

// twice refuses two entries for one column of ours: it would not be certain
// which is right.
func (t *table) twice() error {
	if name := firstTwice(t.columns, t.set); name != "" {
		return fmt.Errorf("two entries go to %s", name)
	}
	for i, g := range t.groups {
		if name := firstTwice(g.columns, g.set); name != "" {
			return fmt.Errorf("group %d: two entries go to %s", i+1, name)
		}
	}
	return nil
}

// firstTwice is the first target that two entries go to, "" for none.
func firstTwice(columns []column, set []constant) string {
	seen := map[string]bool{}
	var all []target
	for _, c := range columns {
		all = append(all, c.targets...)
	}
	for _, c := range set {
		all = append(all, c.target)
	}
	for _, to := range all {
		if seen[to.name()] {
			return to.name()
		}
		seen[to.name()] = true
	}
	return ""
}
