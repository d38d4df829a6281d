package check

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// draggedRows finds lots, expiry dates and doses that count up from row to row,
// as when a cell is dragged down.
func (c *checker) draggedRows() {
	columns, of := map[string][]session.Value{}, map[issue.Cell]*session.Session{}
	add := func(s *session.Session, column string, v session.Value) {
		columns[column] = append(columns[column], v)
		of[v.Cell] = s
	}
	counted := func(t session.Text, unit, digits string) session.Value {
		d, err := session.ParseDecimal(digits, '.')
		if err != nil {
			return session.Value{Absence: session.Unreadable}
		}
		return session.Value{Text: t.Text, Decimal: d, Unit: unit, Absence: session.Present, Cell: t.Cell}
	}
	for _, s := range c.log.Sessions {
		for _, row := range s.Checks {
			stem := strings.TrimRight(row.Lot.Text, "0123456789")
			if v := counted(row.Lot, "lot", row.Lot.Text[len(stem):]); v.OK() {
				add(s, "lot "+row.What.Text+" "+stem, v)
			}
			day, month := row.LastDay, row.LastDay.Year()*12+int(row.LastDay.Month())
			switch {
			case row.OnlyMonth:
				add(s, "month "+row.What.Text, counted(row.Expires, "month", fmt.Sprint(month)))
			case !day.IsZero():
				add(s, "day "+row.What.Text, counted(row.Expires, "day", fmt.Sprint(day.UTC().Add(12*time.Hour).Unix()/86400)))
			}
		}
		for _, m := range s.Medicines {
			for _, v := range []session.Value{m.Dose, m.Rate} {
				if v.OK() {
					add(s, "dose "+m.Name.Text+" "+v.Unit, v)
				}
			}
		}
	}
	for _, column := range slices.Sorted(maps.Keys(columns)) {
		its := func(i int) *session.Session { return of[columns[column][i].Cell] }
		if !c.filled("", columns[column], its) {
			c.series(columns[column], its)
		}
	}
}

// pastedTwice finds a medicine, a check, a result or an event that occurs twice
// in one session, with its time, or a dose a few minutes later than the same one.
// If that happens in several sessions it is a habit, as with a lock in each of two
// lumens.
func (c *checker) pastedTwice() {
	type row struct {
		session     *session.Session
		rule        string
		cell, first issue.Cell
	}
	twice := map[string][]row{}
	for _, s := range c.log.Sessions {
		seen := map[string]issue.Cell{}
		rule := "clin-medicine-twice"
		add := func(what session.Text, at session.Moment, rest ...string) {
			key := fmt.Sprintf("%s %q %q %q", rule, what.Text, at.Time, rest)
			if c.suspect[at.Cell] {
				return // of another session
			}
			if first, again := seen[key]; again && at.OK() {
				twice[what.Text] = append(twice[what.Text], row{s, rule, what.Cell, first})
			}
			seen[key] = what.Cell
		}
		for i, m := range s.Medicines {
			if first := c.againLater(s, i); first != nil {
				twice[m.Name.Text] = append(twice[m.Name.Text], row{s, rule, m.Name.Cell, first.Name.Cell})
			}
			add(m.Name, m.At, m.Dose.Text, m.Dose.Unit, m.Rate.Text, m.Route.Text)
		}
		rule = "month-copied"
		for _, k := range s.Checks {
			add(k.What, k.At, k.Result.Text, k.Value.Text, k.Lot.Text, k.Expires.Text)
		}
		for _, l := range s.Labs {
			add(l.Test, l.Drawn, l.When.Text, l.Value.Text, l.Value.Unit, l.Words.Text)
		}
		for _, e := range s.Events {
			add(e.What, e.At, e.Kind.Text, e.AlarmNumber.Text, e.Action.Text)
		}
	}
	for _, kind := range slices.Sorted(maps.Keys(twice)) {
		if one := twice[kind][0]; len(twice[kind]) == 1 {
			f := at(one.rule, "this row stands twice in the session", one.cell)
			f.Value, f.Mend = kind, issue.T("take one of the two rows out if it was done once")
			f.Cells = append(f.Cells, one.first)
			c.add(f, one.session)
		}
	}
}

// againLater is an earlier row with the dose of a row of medicines in one session,
// at another time, where other sessions have that dose and each has it once: a few
// minutes before, or of a medicine that nobody gives twice, at any time. It is nil
// if the person wrote about it.
func (c *checker) againLater(s *session.Session, i int) *session.Medicine {
	const close, others = 15 * time.Minute, 2 // common practice
	m := s.Medicines[i]
	same := func(o *session.Medicine) bool {
		return drug(o) == drug(m) && o.Dose.Text == m.Dose.Text && o.Dose.Unit == m.Dose.Unit && o.Rate.Text == m.Rate.Text && o.Route.Text == m.Route.Text
	}
	times := func(s *session.Session) int {
		return len(s.Medicines) - len(slices.DeleteFunc(slices.Clone(s.Medicines), same))
	}
	j := slices.IndexFunc(s.Medicines[:i], same)
	if j < 0 || !m.Dose.OK() || s.Medicines[j].At.Time.Equal(m.At.Time) || strings.Contains(said(s), drug(m)) {
		return nil
	}
	once := slices.Contains([]string{"ESA", "iron"}, m.Kind.Text)
	apart := m.At.Time.Sub(s.Medicines[j].At.Time).Abs()
	if !m.At.OK() || !s.Medicines[j].At.OK() || apart > close && !once {
		return nil
	}
	n := 0
	for _, other := range c.log.Sessions {
		if other != s && times(other) > 1 {
			return nil
		}
		n += times(other)
	}
	if times(s) > 2 || n-times(s) < others {
		return nil
	}
	return s.Medicines[j]
}

// resultForValue finds a check with its number in the column of the result, and
// its result in the column of the number.
func (c *checker) resultForValue(s *session.Session, row *session.Check) {
	_, err := session.ParseDecimal(strings.Replace(row.Result.Text, ",", ".", 1), '.')
	if err != nil || !row.Words.OK() || strings.ContainsAny(row.Value.Text, "0123456789") {
		return
	}
	f := at("clin-columns-swapped", "result and value of this check look exchanged", row.Result.Cell)
	f.Value, f.Expected = row.Result.Text, issue.T("perhaps {} here and {} there", row.Value.Text, row.Result.Text)
	f.Cells = append(f.Cells, row.Value.Cell)
	c.add(f, s)
}

// copiedReason finds a session done whose reason is that of the one before,
// which was not done or cut short.
func (c *checker) copiedReason(i int, s *session.Session) {
	if i == 0 || s.Status != session.Done || !s.Reason.OK() {
		return
	}
	before := c.log.Sessions[i-1]
	if before.Status == session.Done || before.Reason.Text != s.Reason.Text {
		return
	}
	f := at("clin-done-short", "the session is marked as done, and has the reason of the session before", s.Reason.Cell)
	f.Value = s.Reason.Text
	f.Cells = append(f.Cells, before.Reason.Cell)
	c.add(f, s)
}
