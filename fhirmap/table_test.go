package fhirmap

import (
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/ucum"
)

// Every number a log can hold has a code for the unit it is written in, or is
// half of a blood pressure. This fails when a column is added without its
// code.
func TestEveryColumnHasACode(t *testing.T) {
	half := map[string]bool{}
	for _, p := range profiles.Pressures() {
		half[p.Systolic], half[p.Diastolic] = true, true
	}
	for _, c := range session.Columns {
		if c.Kind != session.KindNumber || c.Sheet == session.SheetMedicines || c.Sheet == session.SheetLabs || c.Sheet == session.SheetChecks {
			continue
		}
		if _, ok := profiles.Of(string(c.Field), c.Unit); !ok && !half[string(c.Field)] {
			t.Errorf("column %s of %s has no code in %s", c.Name, c.Sheet, c.Unit)
		}
	}
	for _, test := range profiles.Rows() {
		if test.Tests == nil {
			continue
		}
		for _, when := range []string{"", "before", "after"} {
			lab := &session.Lab{Test: session.Text{Text: string(test.Field)}, When: session.Text{Text: when}}
			if row, _ := laboratoryRow(lab); len(row.Codings) == 0 || row.Phase != phases[when] {
				t.Errorf("laboratory test %s has no code for %q", test.Field, when)
			}
		}
	}
}

// Every event kind and every unit of the code table can be written.
func TestTableIsWritable(t *testing.T) {
	for _, c := range session.Columns {
		if c.Sheet != session.SheetEvents || c.Field != "kind" {
			continue
		}
		for _, kind := range c.Choices {
			if _, ok := profiles.Of("event_"+kind, ""); !ok {
				t.Errorf("event kind %s has no code", kind)
			}
		}
	}
	for _, m := range profiles.Measurements() {
		for _, unit := range m.Units {
			if _, err := ucum.Parse(unit); err != nil {
				t.Errorf("%s: %v", m.Field, err)
			}
			if !ucum.Commensurable(unit, m.Units[0]) {
				t.Errorf("%s may be written in %s and %s, which measure different things", m.Field, unit, m.Units[0])
			}
		}
	}
	for _, in := range profiles.Inputs() {
		if in.Unit == "" {
			continue
		}
		if _, err := ucum.Parse(in.Unit); err != nil {
			t.Errorf("input %s: %v", in.Key, err)
		}
	}
}
