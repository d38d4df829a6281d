package fhirmap

import (
	"fmt"
	"slices"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// Roles distinguish the resources of a session that have the same code.
const (
	roleReading  = "reading:"
	roleEvent    = "event:"
	roleComputed = "computed:"
	roleLab      = "lab:"
)

// measurements writes the numbers and then the texts of the session's own row,
// in column order.
func (m *mapper) measurements() error {
	for _, column := range session.Columns {
		if column.Sheet != session.SheetSessions || column.Kind != session.KindNumber {
			continue
		}
		v, ok := m.s.Values[column.Field]
		if !ok || !column.Holds(v.Unit) {
			continue
		}
		row, ok := profiles.Of(string(column.Field), v.Unit)
		if !ok {
			continue // half of a blood pressure, written by pressures
		}
		if !v.OK() && m.known(column.Field) {
			continue // written by carriedOver, under the same identity
		}
		if err := m.measured(row, v, m.sessionTime(row), string(column.Field), 0); err != nil {
			return err
		}
		m.remember(column.Field, v)
	}
	if err := m.carriedOver(); err != nil {
		return err
	}
	return m.words()
}

// words writes the texts of the session's own row that have a code.
func (m *mapper) words() error {
	for _, column := range session.Columns {
		t := m.s.Texts[column.Field]
		if column.Sheet != session.SheetSessions || column.Kind != session.KindText || !t.OK() {
			continue
		}
		if err := m.written(string(column.Field), t.Text, effective{period: m.treatmentPeriod()}, string(column.Field), 0, t.Cell); err != nil {
			return err
		}
	}
	return nil
}

// remember records the Observation of a field for computed values.
func (m *mapper) remember(field session.Field, v session.Value) {
	if v.OK() {
		m.byField[field] = m.resources[len(m.resources)-1].Identity
	}
}

// known reports whether a value outside the session's row is known from
// elsewhere.
func (m *mapper) known(field session.Field) bool {
	switch field {
	case "dry_weight":
		_, ok := measure.DryWeight(m.log, m.at)
		return ok && m.s.Status != session.SkippedStatus
	case "treated_time":
		return m.computedSession.TreatedFromClock && m.s.Status != session.SkippedStatus
	default:
		return false
	}
}

// carriedOver writes values that computed values need and the session's row
// lacks: the dry weight in force, and the treatment time from the clock.
func (m *mapper) carriedOver() error {
	if m.s.Status == session.SkippedStatus {
		return nil
	}
	if _, have := m.byField["dry_weight"]; !have {
		if err := m.dryWeightInForce(); err != nil {
			return err
		}
	}
	if m.computedSession.TreatedFromClock {
		return m.timeFromClock()
	}
	return nil
}

func (m *mapper) dryWeightInForce() error {
	v, ok := measure.DryWeight(m.log, m.at)
	row, found := profiles.Of("dry_weight", v.Unit)
	if !ok || !found {
		return nil
	}
	if err := m.measured(row, v, onDay(m.s.Date.Time), "dry_weight", 0, valueCells(m.s.Value("dry_weight"))...); err != nil {
		return err
	}
	m.remember("dry_weight", v)
	return nil
}

// timeFromClock writes the time from start to end as treatment time if none
// was entered; its note says so, because it includes pauses.
func (m *mapper) timeFromClock() error {
	in := m.computedSession.TreatedTime
	row, ok := profiles.Of("treated_time", in.Unit)
	if !ok {
		return fmt.Errorf("no code for treated_time in %s", in.Unit)
	}
	id := m.names.name(m.s.ID, "treated_time", 0)
	o := m.observation(id, row.Category, row.Phase, concept(row.Text, row.Codings...))
	o.EffectivePeriod = m.treatmentPeriod()
	o.Status = observationPreliminary
	o.ValueQuantity = quantity(in.Text, in.Unit)
	o.Method = ptr(concept("from start and end of the session"))
	o.Note = []r4.Annotation{{Text: "Not read off the machine: counted from start to end, so pauses count as treatment."}}
	o.Text = narrative(row.Text + ": " + in.Text + " " + in.Unit + ", from start and end")
	m.byField["treated_time"] = id
	m.preliminary["treated_time"] = true
	cells := append(slices.Clone(in.Cells), valueCells(m.s.Value("treated_time"))...)
	return m.add("Observation", id, "treated_time", o, cells...)
}

// sessionTime is the effective time of a value of the session's row.
func (m *mapper) sessionTime(row profiles.Measurement) effective {
	switch {
	case row.Field == "dry_weight":
		return onDay(m.s.Date.Time)
	case row.Phase == profiles.PhasePre:
		return atOrOn(m.s.BeforeAt, m.s.Date)
	case row.Phase == profiles.PhasePost:
		return m.afterTime()
	default:
		return effective{period: m.treatmentPeriod()}
	}
}

func (m *mapper) afterTime() effective {
	day := m.s.Date
	if m.s.End.OK() {
		day = m.s.End
	}
	return atOrOn(m.s.AfterAt, day)
}
