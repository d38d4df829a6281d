package check

import (
	"maps"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// drug is the medicine's name as it is compared.
func drug(m *session.Medicine) string { return strings.ToLower(strings.TrimSpace(m.Name.Text)) }

// rows are all rows of medicines, by name.
func (c *checker) rows() map[string][]*session.Medicine {
	if c.byDrug == nil {
		c.byDrug = map[string][]*session.Medicine{}
		for _, s := range c.log.Sessions {
			for _, m := range s.Medicines {
				c.byDrug[drug(m)] = append(c.byDrug[drug(m)], m)
			}
		}
	}
	return c.byDrug
}

// likeOwn compares the row of a medicine with the person's other rows of it: its
// name, its units, and dose and rate against each other.
func (c *checker) likeOwn(s *session.Session, m *session.Medicine) {
	c.ownName(s, m)
	c.otherKind(s, m)
	dose := func(m *session.Medicine) session.Value { return m.Dose }
	rate := func(m *session.Medicine) session.Value { return m.Rate }
	c.ownUnit(s, m, dose)
	c.ownUnit(s, m, rate)
	doseNow, ok := c.good(m.Dose)
	rateNow, both := c.good(m.Rate)
	usualDose, usualRate := c.only(m, dose), c.only(m, rate)
	if ok && both && doseNow != rateNow && doseNow == usualRate && rateNow == usualDose {
		f := atValue("clin-columns-swapped", "dose and rate hold what your other rows have in the other one", m.Dose)
		f.Expected = issue.T("perhaps {} here and {} there", m.Rate.Text, m.Dose.Text)
		f.Cells = append(f.Cells, m.Rate.Cell)
		c.doubt(f, s)
	}
}

// only is the number that nearly all other rows of a medicine have, 0 when
// there is none.
func (c *checker) only(m *session.Medicine, of func(*session.Medicine) session.Value) float64 {
	counts := map[float64]int{}
	all := 0
	for _, other := range c.rows()[drug(m)] {
		if number, ok := c.good(of(other)); ok && other != m {
			counts[number]++
			all++
		}
	}
	for number, n := range counts {
		if n >= fewest && 10*n >= 9*all {
			return number
		}
	}
	return 0
}

// ownName finds a name that occurs once and is a slip of a frequent one.
func (c *checker) ownName(s *session.Session, m *session.Medicine) {
	if len(c.rows()[drug(m)]) > 1 || substance(drug(m)) >= 0 {
		return
	}
	for _, name := range slices.Sorted(maps.Keys(c.rows())) {
		rows := c.rows()[name]
		if name != drug(m) && len(rows) >= fewest && mistyped(drug(m), name) {
			f := at("clin-unlike-own", "this differs from your other rows, or from the words of this column", m.Name.Cell)
			f.Value, f.Expected = m.Name.Text, issue.T("perhaps {}", rows[0].Name.Text)
			c.add(f, s)
			return
		}
	}
}

// ownUnit finds a dose or a rate in a unit of another kind than that of all
// other rows of the medicine.
func (c *checker) ownUnit(s *session.Session, m *session.Medicine, of func(*session.Medicine) session.Value) {
	v := of(m)
	unit, n, like := "", 0, session.Value{}
	for _, other := range c.rows()[drug(m)] {
		o := of(other)
		if !o.OK() || other == m {
			continue
		}
		if _, same := doseIn(1, v.Unit, o.Unit); same || unit != "" && o.Unit != unit {
			return
		}
		unit, like = o.Unit, o
		n++
	}
	if _, ok := c.good(v); !ok || n < fewest {
		return
	}
	f := atValue("clin-dose", "the unit is not that of your other rows of this medicine", v)
	f.Value, f.Expected = v.Text+" "+writtenUnit(v), issue.T("perhaps {}", asWritten(v.Text, like))
	f.Cells = append(f.Cells, unitCells(v)...)
	c.doubt(f, s)
}
