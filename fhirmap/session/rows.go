package session

import (
	"strings"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// readReadings reads the readings file into its sessions.
func (r *reader) readReadings(s *sheetReader) {
	a := newAttached(r, s)
	filled := 0 // of the row before; rows are mostly alike
	for one, ok := a.next(); ok; one, ok = a.next() {
		row := &Reading{Ordinal: len(one.Readings) + 1, Cell: s.spot(0).cell, Values: make(map[Field]Value, filled)}
		one.Readings = append(one.Readings, row)
		a.wantedTime(a.marker(), one, &row.At, "the time of the row is missing", issue.Warning)
		for _, c := range s.columns {
			switch {
			case c.Kind == KindNumber:
				// An empty cell is the same as no entry; leaving it out keeps
				// long logs small.
				if v := s.number(c, c.Unit, false); v.Absence != NotRecorded {
					s.put(row.Values, c, v)
				}
			case c.Field == "note":
				row.Note = s.words(c)
			}
		}
		filled = len(row.Values)
	}
	a.settle()
}

// readMedicines reads the medicines file into its sessions.
func (r *reader) readMedicines(s *sheetReader) {
	a := newAttached(r, s)
	for one, ok := a.next(); ok; one, ok = a.next() {
		row := &Medicine{Ordinal: len(one.Medicines) + 1, Cell: s.spot(0).cell}
		one.Medicines = append(one.Medicines, row)
		marker := a.marker()
		a.wantedTime(marker, one, &row.At, "the time the medicine was given is missing", issue.Information)
		row.Name = s.textOf("medicine")
		s.require("medicine", row.Name.Absence, "the name of the medicine is missing")
		row.Kind = s.textOf("kind")
		row.Route = s.textOf("route")
		row.CodeSystem = s.textOf("code_system")
		row.Code = s.textOf("code")
		s.asPrinted(row.Code)
		row.Dose = s.numberWithUnit("dose", "dose_unit", doseUnit)
		row.Rate = s.numberWithUnit("rate", "rate_unit", rateUnit)
		from := row.At
		if !from.OK() {
			from = one.Start
		}
		row.Until = a.until(marker, one, from)
	}
	a.settle()
}

// readLabs reads the labs file into its sessions.
func (r *reader) readLabs(s *sheetReader) {
	a := newAttached(r, s)
	for one, ok := a.next(); ok; one, ok = a.next() {
		row := &Lab{Ordinal: len(one.Labs) + 1, Cell: s.spot(0).cell}
		one.Labs = append(one.Labs, row)
		row.When = s.textOf("when")
		s.require("when", row.When.Absence, "it is not said whether the sample was drawn before or after dialysis")
		a.drawn(one, row)
		row.Test = s.testName()
		s.require("test", row.Test.Absence, "the name of the test is missing")
		s.result(row)
		row.Laboratory = s.textOf("laboratory")
	}
	a.settle()
}

// readEvents reads the events file into its sessions.
func (r *reader) readEvents(s *sheetReader) {
	a := newAttached(r, s)
	for one, ok := a.next(); ok; one, ok = a.next() {
		if a.isReading() {
			continue
		}
		row := &Event{Ordinal: len(one.Events) + 1, Cell: s.spot(0).cell}
		one.Events = append(one.Events, row)
		a.wantedTime(a.marker(), one, &row.At, "the time it happened is missing", issue.Information)
		row.Kind = s.textOf("kind")
		s.require("kind", row.Kind.Absence, "the kind of event is missing")
		row.What = s.textOf("what")
		s.require("what", row.What.Absence, "it is not said what happened")
		row.AlarmNumber = s.textOf("alarm_number")
		s.asPrinted(row.AlarmNumber)
		row.Action = s.textOf("action")
	}
	a.settle()
}

// isReading reports a row of the events that has numbers in place of words.
func (a *attached) isReading() bool {
	for _, field := range []Field{"kind", "what"} {
		c, ok := a.s.column(field)
		if _, err := ParseDecimal(a.s.text(c.position), markOr(a.s.mark)); !ok || err != nil {
			return false
		}
	}
	f := a.s.spot(0).finding("log-row-foreign", "this row has numbers in place of words; it looks like a reading and is left out")
	f.Value, f.Expected = a.s.text(0), issue.T("a row in the sheet readings")
	a.s.add(f)
	a.s.leaveRow(RowUnplaced)
	return true
}

// drawn places the time a sample was drawn: on the day written, or else near
// the session, or on the session's own day for a sample that has nothing to
// do with its start or end.
func (a *attached) drawn(one *Session, row *Lab) {
	marker := a.marker()
	if c, ok := a.s.column("drawn_date"); ok {
		day := a.s.dateCell(c, a.r.log.About.DateStyle, a.r.log.Location)
		row.Day = day
		switch {
		case day.OK():
			a.timeOn(wallOf(day.Time), marker, one, row)
			return
		case day.Absence == Unreadable:
			row.Drawn = day
			return
		}
	}
	if c, _ := a.s.column("drawn_time"); a.relative(c, one, &row.Drawn) {
		return
	}
	if row.When.Text == "other" && one.Date.OK() {
		a.timeOn(wallOf(one.Date.Time), marker, one, row)
		return
	}
	a.time("drawn_time", marker, one, &row.Drawn)
}

// textOf reads a text or choice cell by its field.
func (s *sheetReader) textOf(field Field) Text {
	c, ok := s.column(field)
	switch {
	case !ok:
		return Text{}
	case c.Choices != nil:
		return s.choice(c)
	default:
		return s.words(c)
	}
}

// testName reads the name of a laboratory test. One that is not in [Tests] is
// kept as written; one that may be a misspelling of those gives a finding.
func (s *sheetReader) testName() Text {
	c, ok := s.column("test")
	if !ok {
		return Text{}
	}
	t := s.words(c)
	if !t.OK() {
		return t
	}
	if field, known := TestField(t.Text); known {
		t.Text = string(field)
		return t
	}
	if near := nearTest(t.Text); near != "" {
		s.complain(c.position, "log-test-name", "no test has this name, so it is sent as written and nothing is computed from it",
			t.Text, issue.T("perhaps {}", near))
	}
	return t
}

// result reads the result of a laboratory test. What is neither a number nor in
// a unit the log knows is an error only where the test has limits to compare it
// with; any other test, and words for one that has no phases, are carried in the
// words of the report.
func (s *sheetReader) result(row *Lab) {
	value, ok := s.column("value")
	if !ok {
		return
	}
	_, absent := s.absence(value.position)
	c, ok := s.column("unit")
	test, _ := TestField(row.Test.Text)
	_, limited := profiles.LimitOf(string(test))
	_, phased := profiles.RowOf(test.At("before"))
	text, unit := s.text(value.position), ""
	if limited && (phased || strings.ContainsAny(text, "0123456789")) || absent || !row.Test.OK() {
		row.Value = s.numberWithUnit("value", "unit", laboratoryUnit)
		return
	}
	if ok {
		unit = s.text(c.position)
	}
	if _, known := laboratoryUnit(unit); known && s.readNumber(value, text).ok {
		row.Value = s.numberWithUnit("value", "unit", laboratoryUnit)
		return
	}
	row.Words = s.words(value)
	row.Words.Text = strings.TrimSpace(text + " " + unit)
}

// numberWithUnit reads a number whose unit is in another column. Without
// a unit that the log knows, a number is unreadable.
func (s *sheetReader) numberWithUnit(field, unitField Field, find func(string) (string, bool)) Value {
	c, ok := s.column(field)
	if !ok {
		return Value{}
	}
	v := s.number(c, "", s.sheet == SheetLabs)
	if !v.OK() {
		return v
	}
	v.UnitText = s.textOf(unitField)
	v.Unit, ok = s.unitCell(unitField, find)
	if !ok {
		v.Absence = Unreadable
	}
	return v
}

func doseUnit(written string) (string, bool)       { return ucumOf(written, doseUnits) }
func laboratoryUnit(written string) (string, bool) { return ucumOf(written, laboratoryUnits) }
