package fhirmap

import (
	"strconv"
	"time"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// WeeksLabel is the label of the weeks of a log, in place of a session id.
const WeeksLabel = "weeks"

// RoleWeeks is the role of the Observation that groups the weeks.
const RoleWeeks = "urea_model_weeks"

const roleWeek = "urea_model_week"

// Weeks maps the weeks of the log as one more record, nil when nothing
// computed is written: for each week an Observation with the state of the urea
// model at its start and references to its sessions, its values, and one
// Observation that groups the weeks. It needs only the log, not the resources
// of the sessions.
//
// There is no Provenance: its condition refers to the Procedure of a session,
// and the weeks have none. Each Observation refers to the software Device
// instead.
//
// Decision 11. A week is recomputed from its sessions and the state of the
// urea model at its start, so both are stated, with six decimals so that
// rounding moves no value. The end of a week is the start of the next one,
// except after a new sample, which restarts the model and is stated. A week
// with a restarted treatment has no model, since nothing in the record joins
// the two records. A partial export has no weeks.
func (p *Mapping) Weeks() (*SessionRecord, error) {
	if p.opts.NoComputed {
		return nil, nil
	}
	weeks := measure.Weeks(p.log)
	if len(weeks) == 0 {
		return nil, nil
	}
	m := newLogMapper(p.log, p.opts)
	for _, step := range []func() error{m.patient, m.software} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	id := m.names.name("", RoleWeeks, 0)
	var members []r4.Reference
	var cells []issue.Cell
	for i := range weeks {
		w := weekMapper{mapper: m, week: &weeks[i]}
		if i > 0 && weeks[i].Continues {
			w.before = m.weekID(weeks[i-1].Monday)
		}
		if err := w.write(); err != nil {
			return nil, err
		}
		members = append(members, m.reference("Observation", w.id))
		cells = append(cells, w.cells...)
	}
	o := m.weekObservation(id, weeks[0].Monday, weeks[len(weeks)-1].End, concept("Weeks of dialysis, calculated", profiles.ModelWeeks))
	o.HasMember = members
	o.Note = []r4.Annotation{{Text: caution}}
	o.Text = narrative("Weeks of dialysis, calculated")
	err := m.add("Observation", id, RoleWeeks, o, unique(cells)...)
	return &SessionRecord{ID: id, label: WeeksLabel, Resources: m.resources, opts: p.opts}, err
}

// weekID is the identity of a week, derived from its first day.
func (m *mapper) weekID(monday time.Time) string {
	return m.names.name("", roleWeek, ordinalOf(monday))
}

func ordinalOf(monday time.Time) int {
	n, _ := strconv.Atoi(monday.Format("20060102")) // eight digits
	return n
}

// weekObservation starts an Observation about weeks of the log.
func (m *mapper) weekObservation(id string, from, to time.Time, code r4.CodeableConcept) *r4.Observation {
	o := m.ofPatient(id, profiles.ProcedureC, profiles.PhaseAny, code)
	o.EffectivePeriod = &r4.Period{Start: ptr(r4.DateTime(from)), End: ptr(r4.DateTime(to))}
	o.Device = ptr(m.reference("Device", softwareName(m.opts.Tool)))
	return o
}

type weekMapper struct {
	*mapper
	week *measure.Week
	// id is the identity of the week, before of the one it continues.
	id, before string
	cells      []issue.Cell
}

// write adds the week and its values.
func (w *weekMapper) write() error {
	w.id = w.weekID(w.week.Monday)
	o := w.weekObservation(w.id, w.week.Monday, w.week.End, concept("Week of dialysis with the urea model at its start", profiles.ModelWeek))
	w.sessions(o)
	w.state(o)
	for _, v := range w.week.Values {
		id := w.names.name("", computedRole(v), ordinalOf(w.week.Monday))
		if err := w.value(id, v); err != nil {
			return err
		}
	}
	o.Text = narrative("Week of dialysis from " + r4.Date(w.week.Monday) + ", calculated")
	return w.add("Observation", w.id, roleWeek, o, w.cells...)
}

// sessions refers to the Observations that the week is computed from, session
// by session. They are in other deliveries, so only their identity is known.
func (w *weekMapper) sessions(o *r4.Observation) {
	if w.before != "" {
		o.DerivedFrom = append(o.DerivedFrom, w.reference("Observation", w.before))
	}
	for _, s := range w.week.Sessions {
		named := false
		use := func(field session.Field, cells ...issue.Cell) {
			named = true
			o.DerivedFrom = append(o.DerivedFrom, r4.Reference{
				Type: ptr("Observation"), Identifier: &identifier(w.names.name(s.ID, string(field), 0))[0],
			})
			w.cells = append(w.cells, cells...)
		}
		for _, field := range measure.SessionFields(s) {
			if v := s.Value(field); v.OK() && v.Comparator == "" {
				use(field, v.Cell)
			} else if field == "treated_time" && s.Start.OK() && s.End.OK() {
				use(field, s.Start.Cell, s.End.Cell)
			}
		}
		if v := s.Value("weight_after"); !named && v.OK() {
			use("weight_after", v.Cell)
		}
	}
}

// state writes the model at the start of the week, or the reason why there is
// none.
func (w *weekMapper) state(o *r4.Observation) {
	o.Note = []r4.Annotation{{Text: caution}}
	if w.week.State == nil {
		o.Status = observationCancelled
		o.DataAbsentReason = ptr(concept(w.week.WhyNot, profiles.Coding{System: profiles.DataAbsentReason, Code: "unknown", Display: "Unknown"}))
		return
	}
	for _, in := range w.week.State {
		w.input(o, in)
	}
	o.Method = ptr(concept("two pools of urea, body water by Watson, clearance from flows and KoA times the factor stated"))
	notes := w.week.Notes
	if w.week.Estimated {
		o.Status = observationPreliminary
		notes = append(notes, "Without blood samples the generation of urea is set to 1 mg/min: the concentrations are no measure of this person, only their ratios count.")
	}
	if !w.week.Continues {
		notes = append(notes, "The model starts anew with this week, from "+w.week.Fit.Start()+".")
	}
	for _, text := range notes {
		o.Note = append(o.Note, r4.Annotation{Text: text})
	}
}

// value adds one value of the week.
func (w *weekMapper) value(id string, v measure.Value) error {
	row, _ := profiles.Of(v.Key(), v.Result.Method.Unit)
	o := w.weekObservation(id, v.Start, v.End, concept(row.Text, row.Codings...))
	o.DerivedFrom = []r4.Reference{w.reference("Observation", w.id)}
	w.calculated(o, row, v)
	if v.Result.OK() && v.Modelled && w.week.Estimated {
		o.Status = observationPreliminary
	}
	cells := v.Cells()
	if v.Modelled {
		cells = w.cells
	}
	return w.add("Observation", id, computedRole(v), o, cells...)
}
