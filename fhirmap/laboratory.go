package fhirmap

import (
	"fmt"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// laboratory writes each result. Urea and urea nitrogen, mass and substance
// concentration have codes of their own; the unit as written decides, and
// nothing is converted.
func (m *mapper) laboratory() error {
	for _, lab := range m.s.Labs {
		field := session.Tests[lab.Test.Text]
		if lab.When.Text == "before" || lab.When.Text == "after" {
			field += session.Field("_" + lab.When.Text)
		}
		row, ok := profiles.Of(string(field), lab.Value.Unit)
		if !ok {
			return fmt.Errorf("laboratory row %d: no code for %s in %s", lab.Cell.Row, field, lab.Value.Unit)
		}
		role := "lab:" + string(field)
		before := len(m.resources)
		if err := m.measured(row, lab.Value, atOrOn(lab.Drawn, m.s.Date), role, lab.Ordinal); err != nil {
			return err
		}
		if len(m.resources) > before {
			m.remember(field, lab.Value)
		}
	}
	return nil
}
