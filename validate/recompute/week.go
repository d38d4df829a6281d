package recompute

import (
	"cmp"
	"slices"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// Limits of the data kept for weeks: names of session measurements, and weeks
// with their values.
const (
	MaxMeasured = 60_000
	MaxWeeks    = 5_000
)

// weeks runs the urea model through the weeks of a record: from the state that
// each week records and from the measurements of its sessions, which are in
// other documents. It computes every value of a week again, and the state at
// the start of the next week.
type weeks struct {
	measured recent[measured]
	states   []weekState
	values   []weekValue
	full     bool
	tell     func(Row) // nil if rows are not wanted
}

// measured is a session measurement that a week uses.
type measured struct {
	session uint64
	number  float64
	// start is in seconds since 1970 and minutes is the length of the
	// treatment, if the effective time of the measurement is that of the
	// treatment; otherwise start is 0.
	start   int64
	minutes float64
	field   uint8 // index in sessionFields
}

// sessionFields are the session measurements that a week uses. The weight
// after dialysis only marks a session in the count. The volume of dialysate
// identifies ultrafiltration without dialysate.
var sessionFields = []string{"uf_removed", "treated_time", "weight_before", "blood_flow", "dialysate_flow", "weight_after", "dialysate_volume"}

// weekState is the state of one week as recorded.
type weekState struct {
	names    []uint64 // names that refer to it
	from, to int64    // seconds since 1970
	state    calc.Inputs
	koa      []float64
	notDone  []float64
	sessions [][]uint64 // names of each measurement
	file     string
	at       spot
}

// weekValue is one value of a week.
type weekValue struct {
	week   []uint64 // names of the week
	method calc.Method
	stated resources.Quantity
	file   string
	at     spot
	index  int  // of the resource
	row    *Row // if rows are wanted
}

// weekMethods are the methods whose value follows from a week; other methods
// in a week record their inputs.
var weekMethods = map[string]bool{
	"sessions-done": true, "hours-done": true, "uf-done": true,
	"stdktv-done-two-pool": true, "ekr-done-two-pool": true, "time-averaged-urea-done-two-pool": true, "npcr-generation": true,
}

// measure indexes a measurement under its names.
func (w *weeks) measure(name uint64, m measured) { w.measured.put(name, m, MaxMeasured) }

// take adds the data gathered from a document.
func (w *weeks) take(states []weekState, values []weekValue, line int) {
	for _, s := range states {
		s.at.inFile(line)
		w.states = append(w.states, s)
	}
	for _, v := range values {
		v.at.inFile(line)
		w.values = append(w.values, v)
	}
	if len(w.states) > MaxWeeks || len(w.values) > MaxWeeks*len(weekMethods) {
		for _, v := range w.values {
			v.finish(w.tell)
		}
		w.states, w.values, w.full = nil, nil, true
	}
}

// gatherWeeks reads the weeks of a document and the measurements that weeks
// may use.
func (e *engine) gatherWeeks(l *Ledger, measure func(name uint64, m measured)) (states []weekState, values []weekValue) {
	for i := range e.rec.Resources {
		res := &e.rec.Resources[i]
		if res.Type != "Observation" || e.d.Is(res.Status, "entered-in-error") {
			continue
		}
		if res.Row != nil && res.HasQuantity {
			if m, ok := e.measured(l, res); ok {
				for _, name := range l.namesOf(res) {
					measure(name, m)
				}
			}
			if v, ok := e.weekValue(l, i, res); ok {
				values = append(values, v)
			}
		} else if e.rec.HasCoding(res.Code, profiles.ModelWeek) {
			states = append(states, e.weekState(l, i, res))
		}
	}
	return states, values
}

func (e *engine) measured(l *Ledger, res *resources.Resource) (measured, bool) {
	field := slices.Index(sessionFields, res.Row.Field)
	if field < 0 || !res.Exact || res.PartOf == doc.None {
		return measured{}, false
	}
	key, number, ok := keyed(res.Row.Field, res.Quantity)
	period := e.d.Kind(res.Effective) == doc.Object
	if !ok || !period && key != "weight_before" && key != "weight_after" {
		return measured{}, false // a reading
	}
	m := measured{number: number, field: uint8(field)}
	if res.Hub != resources.Nowhere && len(e.rec.Resources[res.Hub].Identity) > 0 {
		m.session = l.hash(byIdentity, e.rec.Resources[res.Hub].Identity)
	} else {
		m.session = l.hash(byTypeID, e.d.Str(e.d.Get(e.d.FirstChild(res.PartOf), "reference")))
	}
	if period && res.Span.HasStart {
		m.start = res.Span.Start
		if res.Span.HasEnd {
			m.minutes = float64(res.Span.End-res.Span.Start) / 60
		}
	}
	return m, true
}

func (e *engine) weekState(l *Ledger, i int, res *resources.Resource) weekState {
	d := e.d
	s := weekState{names: l.namesOf(res), from: res.Span.Start, to: res.Span.End, state: calc.Inputs{}, file: d.File, at: spotOf(d, res.Node)}
	for c := d.FirstChild(res.Component); c != doc.None; c = d.Next(c) {
		in, ok := e.rec.InputOf(d.Get(c, "code"))
		if !ok {
			continue
		}
		q, ok := e.rec.Quantity(d.Get(c, "valueQuantity"))
		number, _, same := inUnit(q, in.Unit)
		if !ok || !same {
			continue
		}
		switch in.Key {
		case "dialyser_koa":
			s.koa = append(s.koa, number)
		case "planned_not_done":
			s.notDone = append(s.notDone, number)
		default:
			s.state[in.Key] = number
		}
	}
	for ref := d.FirstChild(res.DerivedFrom); ref != doc.None; ref = d.Next(ref) {
		s.sessions = append(s.sessions, e.namesAt(l, ref, i))
	}
	return s
}

// namesAt are the names of the target of a reference, within this document or
// not.
func (e *engine) namesAt(l *Ledger, ref doc.Node, from int) []uint64 {
	if target, outcome := e.rec.Resolve(ref, from); outcome == resources.Found {
		return l.namesOf(&e.rec.Resources[target])
	}
	return l.names(e.d, ref)
}

func (e *engine) weekValue(l *Ledger, i int, res *resources.Resource) (weekValue, bool) {
	if res.PartOf != doc.None {
		return weekValue{}, false
	}
	if _, computed := e.rec.IsComputed(res); !computed {
		return weekValue{}, false
	}
	out := e.work(i)
	ref := e.d.FirstChild(res.DerivedFrom)
	if !out.known || !weekMethods[out.method.ID] || ref == doc.None {
		return weekValue{}, false
	}
	stated := res.Quantity
	stated.Text, stated.Unit = slices.Clone(stated.Text), slices.Clone(stated.Unit)
	return weekValue{e.namesAt(l, ref, i), out.method, stated, e.d.File, spotOf(e.d, res.Value), i, nil}, true
}

// namesOf are the names that other documents may use for a resource.
func (l *Ledger) namesOf(res *resources.Resource) []uint64 {
	var names []uint64
	if len(res.Identity) > 0 {
		names = append(names, l.hash(byIdentity, res.Identity))
	}
	if len(res.ID) > 0 && res.Entry == doc.None {
		names = append(names, l.hash(byTypeID, res.ID))
	}
	return names
}

// finish computes the weeks again in order of time.
func (w *weeks) finish(add func(issue.Finding)) {
	slices.SortStableFunc(w.states, func(a, b weekState) int { return cmp.Compare(a.from, b.from) })
	weeks := map[uint64]*followed{}
	for i := range w.states {
		for _, name := range w.states[i].names {
			weeks[name] = nil // known but not yet computed
		}
	}
	for i := range w.states {
		s := &w.states[i]
		f := w.follow(s, weeks)
		for _, name := range s.names {
			weeks[name] = f
		}
		if f.elsewhere && w.hasValues(s) {
			add(s.at.finding(s.file, "calc-week-elsewhere", "not recomputable from this document: the sessions that the week is computed from are not at hand"))
			continue
		}
		w.continues(s, weeks, add)
		f.incomplete(s, add)
	}
	for i := range w.values {
		v := &w.values[i]
		for _, name := range v.week {
			f := weeks[name]
			if f == nil {
				continue
			}
			if !f.elsewhere {
				v.compare(f, add)
			} else if v.row != nil && v.row.Comparison == Same { // by its own components only
				v.row.Rule, v.row.Comparison = "calc-week-elsewhere", NotAgain
			}
			break
		}
		v.finish(w.tell)
	}
	w.states, w.values = nil, nil
}

// hasValues reports whether some value depends on the week.
func (w *weeks) hasValues(s *weekState) bool {
	return len(s.state) > 0 || slices.ContainsFunc(w.values, func(v weekValue) bool {
		return slices.ContainsFunc(v.week, func(name uint64) bool { return slices.Contains(s.names, name) })
	})
}
