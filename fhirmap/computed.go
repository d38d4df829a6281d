package fhirmap

import (
	"slices"
	"strings"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/r4"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// caution is part of every computed value.
const caution = "Calculated by software from values entered by the patient; not verified by a clinician, not a device reading, not for changing treatment."

// computed writes every computed value that has a code. Its inputs are
// Observations it is derived from or components, so that it can be computed
// again from the record alone.
func (m *mapper) computed() error {
	if m.opts.NoComputed {
		return nil
	}
	var dose []r4.Reference
	var cells []issue.Cell
	for _, v := range m.computedSession.Values {
		row, ok := computedRow(v)
		if !ok {
			continue
		}
		if m.shared(v) {
			row.Text += ", method " + v.Result.Method.ID
		}
		id := m.names.name(m.s.ID, computedRole(v), 0)
		if err := m.computedValue(id, row, v); err != nil {
			return err
		}
		m.byMethod[v.Result.Method.ID] = id
		if doseKeys[v.Key()] && v.Result.OK() {
			dose = append(dose, m.reference("Observation", id))
			cells = append(cells, v.Cells()...)
		}
	}
	return m.adequacyPanel(dose, cells)
}

// shared reports whether the session has the quantity by another method too:
// both have one code, so that the text must distinguish them.
func (m *mapper) shared(v measure.Value) bool {
	return slices.ContainsFunc(m.computedSession.Values, func(o measure.Value) bool {
		return o.Key() == v.Key() && o.When == v.When && o.Result.Method.ID != v.Result.Method.ID
	})
}

func computedRole(v measure.Value) string { return roleComputed + v.Key() + ":" + v.Result.Method.ID }

// doseKeys are the dose measures in the adequacy panel.
var doseKeys = map[string]bool{"urea_reduction_ratio": true, "sp_kt_v": true, "e_kt_v": true, "std_kt_v_weekly": true}

func (m *mapper) computedValue(id string, row profiles.Measurement, v measure.Value) error {
	o := m.observation(id, row.Category, row.Phase, concept(row.Text, row.Codings...))
	m.computedTime(o, v)
	o.Performer = nil // software cannot be a performer in R4; the Provenance refers to it
	m.calculated(o, row, v)
	return m.add("Observation", id, computedRole(v), o, v.Cells()...)
}

// calculated sets the value with its method and inputs, or the reason of its
// absence.
//
// Decision 6. A value that rests on something not recorded (drinks left out,
// the clock in place of the machine's treatment time) has the status
// preliminary, and its note names what is missing.
func (m *mapper) calculated(o *r4.Observation, row profiles.Measurement, v measure.Value) {
	o.Method = ptr(concept(v.Result.Explain(), profiles.Coding{
		System: profiles.Algorithm, Code: v.Result.Method.Code(), Display: v.Result.Method.Quantity,
	}))
	for _, in := range v.Inputs {
		m.input(o, in)
	}
	notes := append([]string{caution, "Source: " + v.Result.Method.Source + ". Holds for: " + v.Result.Method.Range + "."}, v.Result.Notes...)
	if v.Result.OK() {
		o.ValueQuantity = quantity(v.Result.Rounded(), v.Result.Unit)
		if m.assumes(v) {
			o.Status = observationPreliminary
			m.preliminary[v.Result.Method.ID] = true
		}
		o.Text = narrative(row.Text + ": " + withUnit(v.Result.Rounded(), v.Result.Unit))
	} else {
		o.Status = observationCancelled
		o.DataAbsentReason = ptr(missingReason(v.Result))
		o.Method.Text = ptr(v.Result.Method.Formula)
		o.Text = narrative(row.Text + ": not computed, " + v.Result.WhyNot)
	}
	for _, text := range notes {
		o.Note = append(o.Note, r4.Annotation{Text: text})
	}
}

// longestTreatment distinguishes a treatment with a pause from a week.
const longestTreatment = 48 * time.Hour

// computedTime is the treatment, the week, or the time of the weight.
func (m *mapper) computedTime(o *r4.Observation, v measure.Value) {
	switch {
	case !v.Start.Equal(v.End):
		o.EffectivePeriod = m.computedPeriod(v)
	case v.Start.Equal(m.s.Start.Time):
		atOrOn(m.s.BeforeAt, m.s.Date).set(o)
	default:
		m.afterTime().set(o)
	}
}

// computedPeriod is a treatment, or a week, which begins with a day. If the
// end of the session is not recorded, a treatment has no end, and a week ends
// on the first day of the session.
func (m *mapper) computedPeriod(v measure.Value) *r4.Period {
	known, last := m.s.End.OK(), v.End
	if !known {
		last = m.s.Start.Time
	}
	week := last.Sub(v.Start) > longestTreatment
	period := &r4.Period{Start: ptr(r4.DateTime(v.Start))}
	if week {
		period.Start = ptr(r4.Date(v.Start))
	}
	switch {
	case known:
		period.End = ptr(r4.DateTime(last))
	case week:
		period.End = ptr(r4.Date(last))
	}
	return period
}

// input adds one input: a reference to its Observation, or a component.
func (m *mapper) input(o *r4.Observation, in measure.Input) {
	switch in.Origin {
	case measure.Entered:
		if id, ok := m.byField[in.Field]; ok {
			o.DerivedFrom = append(o.DerivedFrom, m.reference("Observation", id))
			return
		}
	case measure.Computed:
		if id, ok := m.byMethod[in.Method]; ok {
			o.DerivedFrom = append(o.DerivedFrom, m.reference("Observation", id))
			return
		}
	case measure.Previous:
		// It is in another session's delivery, so only its identity is known;
		// the component below allows the value to be computed again here.
		role, ordinal, display := string(in.Field), 0, "Body weight after the previous session"
		if in.Lab > 0 {
			role, ordinal, display = roleLab+role, in.Lab, "Urea of the part of the treatment before"
		}
		o.DerivedFrom = append(o.DerivedFrom, r4.Reference{
			Type: ptr("Observation"), Identifier: &identifier(m.names.name(in.Session.ID, role, ordinal))[0], Display: ptr(display),
		})
	}
	stated, ok := profiles.InputOf(in.Key)
	if !ok {
		return
	}
	o.Component = append(o.Component, r4.ObservationComponent{Code: concept("", stated.Coding), ValueQuantity: quantity(in.Text, stated.Unit)})
}

// assumes reports whether the value depends on something not recorded: an
// optional input left out, the clock in place of the machine's treatment time,
// or a computed value that does. Urine is not such an input: most people on
// dialysis pass none during a session, and the note states that it was left
// out.
func (m *mapper) assumes(v measure.Value) bool {
	used := map[string]bool{}
	for _, in := range v.Inputs {
		used[in.Key] = true
		if m.preliminary[in.Key] || in.Origin == measure.Computed && m.preliminary[in.Method] {
			return true
		}
	}
	for _, spec := range v.Result.Method.Inputs {
		if spec.Optional && !used[spec.Key] && spec.Key != "urine" {
			return true
		}
	}
	return false
}

// missingReason returns why an expected value has no number.
func missingReason(r calc.Result) r4.CodeableConcept {
	reason := profiles.Coding{System: profiles.DataAbsentReason, Code: "not-a-number", Display: "Not a Number (NaN)"}
	if len(r.Missing) > 0 {
		reason = profiles.Coding{System: profiles.DataAbsentReason, Code: "unknown", Display: "Unknown"}
	}
	return concept(r.WhyNot, reason)
}

// adequacyPanel groups the dose measures, so that a receiver finds them
// together.
func (m *mapper) adequacyPanel(members []r4.Reference, cells []issue.Cell) error {
	if len(members) == 0 {
		return nil
	}
	id := m.names.name(m.s.ID, "adequacy_panel", 0)
	o := m.observation(id, profiles.ProcedureC, profiles.PhaseAny,
		concept("Dialysis dose of the session, calculated", profiles.AdequacyPanel))
	o.EffectivePeriod = m.treatmentPeriod()
	o.Performer = nil
	o.HasMember = members
	o.Note = []r4.Annotation{{Text: caution}}
	o.Text = narrative("Measures of dialysis dose, calculated")
	return m.add("Observation", id, "adequacy_panel", o, unique(cells)...)
}

func unique(cells []issue.Cell) []issue.Cell {
	var out []issue.Cell
	seen := map[issue.Cell]bool{}
	for _, c := range cells {
		if !seen[c] {
			seen[c] = true
			out = append(out, c)
		}
	}
	return out
}

// computedRow is the code table row of a computed value. The first row of body
// water is for Watson's formula, the last for no formula.
func computedRow(v measure.Value) (profiles.Measurement, bool) {
	row, ok := profiles.Of(profiles.CodedAs(v.Result.Method.ID, v.Key()), v.Result.Unit)
	if v.Key() == "total_body_water" && !strings.HasPrefix(v.Result.Method.ID, "watson-") {
		rows := profiles.ByCode(profiles.Local, "total-body-water")
		return rows[0], true
	}
	return row, ok
}
