package fhirmap

import (
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// readings writes each number of each reading as an Observation with its own
// time, so that each can be searched, corrected and withdrawn alone.
func (m *mapper) readings() error {
	for i, r := range m.s.Readings {
		if m.opts.Series == FirstAndLast && i > 0 && i < len(m.s.Readings)-1 {
			continue
		}
		if err := m.oneReading(r); err != nil {
			return err
		}
	}
	return nil
}

func (m *mapper) oneReading(r *session.Reading) error {
	m.reading = r.Ordinal
	defer func() { m.reading = 0 }()
	when := m.within(r.At)
	for _, p := range profiles.Pressures() {
		if p.Phase != profiles.PhaseIntra {
			continue
		}
		systolic, diastolic := r.Value(session.Field(p.Systolic)), r.Value(session.Field(p.Diastolic))
		if err := m.pressure(p, systolic, diastolic, when, roleReading+p.Systolic, r.Ordinal); err != nil {
			return err
		}
	}
	for _, column := range session.Columns {
		if column.Sheet != session.SheetReadings || column.Kind != session.KindNumber {
			continue
		}
		v, ok := r.Values[column.Field]
		row, found := profiles.Of(string(column.Field), v.Unit)
		if !ok || !found || !column.Holds(v.Unit) {
			continue
		}
		row.Phase = profiles.PhaseIntra
		if err := m.measured(row, v, when, roleReading+string(column.Field), r.Ordinal); err != nil {
			return err
		}
	}
	return m.written("reading_note", r.Note.Text, when, roleReading+"note", r.Ordinal, r.Note.Cell)
}

// valueCells are the cells with a value or a recorded absence.
func valueCells(values ...session.Value) []issue.Cell {
	var cells []issue.Cell
	for _, v := range values {
		if v.OK() || saysAbsent(v.Absence) {
			cells = append(cells, v.Cell)
		}
	}
	return cells
}
