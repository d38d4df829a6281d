package recompute

import (
	"hash/maphash"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/record"
)

// MaxKept is how many values a Ledger keeps at most, MaxWaiting how many
// computed values may wait for inputs.
const (
	MaxKept    = 400_000
	MaxWaiting = 20_000
)

// Ledger remembers the values of documents already checked, so that a computed
// value can be computed again though its inputs stand in other documents: the
// lines of an NDJSON file, or the session before. What it keeps is bounded: of
// more than that it keeps the values met last, for inputs stand near to what is
// computed from them. The zero value is ready.
type Ledger struct {
	seed    maphash.Seed
	started bool
	// values are the ones met last, before those met before them.
	values, before map[uint64]taken
	waiting        []waiting
	full           bool
}

// taken is what an Observation gives as inputs. A blood pressure gives two.
type taken struct {
	key    string // of the methods' vocabulary, or "bp_systolic"
	number float64
	second float64 // diastolic
	half   float64 // half a step of a rounded value, 0 for an exact one
}

// waiting is a computed value some of whose inputs were in no document yet.
type waiting struct {
	out   outcome
	wants []uint64
	value issue.Finding // place of the value
	from  issue.Finding // place of derivedFrom
}

// Full reports whether a limit was reached, so that not every value was
// computed again.
func (l *Ledger) Full() bool { return l.full }

func (l *Ledger) start() {
	if !l.started {
		l.seed, l.started = maphash.MakeSeed(), true
		l.values, l.before = map[uint64]taken{}, map[uint64]taken{}
	}
}

func (l *Ledger) hash(kind string, text []byte) uint64 {
	var h maphash.Hash
	h.SetSeed(l.seed)
	h.WriteString(kind)
	h.WriteByte(0)
	h.Write(text)
	return h.Sum64()
}

// Kinds of names a value can be found under.
const (
	byIdentity = "identity"
	byTypeID   = "type and id"
)

// put remembers the value of an Observation under its names.
func (l *Ledger) put(res *record.Resource, t taken) {
	if len(l.values) >= MaxKept/2 {
		l.full = l.full || len(l.before) > 0
		l.values, l.before = l.before, l.values
		clear(l.values)
	}
	if len(res.Identity) > 0 {
		l.values[l.hash(byIdentity, res.Identity)] = t
	}
	if len(res.ID) > 0 && res.Entry == doc.None {
		l.values[l.hash(byTypeID, res.ID)] = t
	}
}

// names returns the hashes a reference may be found by.
func (l *Ledger) names(d *doc.Doc, ref doc.Node) []uint64 {
	var names []uint64
	identifier := d.Get(ref, "identifier")
	if d.Is(d.Get(identifier, "system"), profiles.RecordIdentifier) {
		names = append(names, l.hash(byIdentity, d.Str(d.Get(identifier, "value"))))
	}
	const prefix = "Observation/"
	if text := d.Str(d.Get(ref, "reference")); len(text) > len(prefix) && string(text[:len(prefix)]) == prefix {
		names = append(names, l.hash(byTypeID, text[len(prefix):]))
	}
	return names
}

// keep remembers the values of a document.
func (e *engine) keep() {
	for i := range e.rec.Resources {
		res := &e.rec.Resources[i]
		if res.Type != "Observation" || res.Owner != record.Nowhere || e.d.Is(res.Status, "entered-in-error") {
			continue
		}
		if t, ok := e.takenFrom(i, res); ok {
			e.ledger.put(res, t)
		}
	}
}

func (e *engine) takenFrom(i int, res *record.Resource) (taken, bool) {
	if p, ok := e.rec.Pressure(res); ok {
		return taken{key: "bp_systolic", number: p.Systolic.Number, second: p.Diastolic.Number}, true
	}
	q, ok := res.Quantity, res.HasQuantity
	if !ok {
		return taken{}, false
	}
	if _, computed := e.rec.IsComputed(res); computed {
		return e.takenComputed(i, q)
	}
	if res.Row == nil || !res.Exact {
		return taken{}, false
	}
	key, number, ok := keyed(res.Row.Field, q)
	return taken{key: key, number: number}, ok
}

// takenComputed is a computed value at full precision where it agrees, else as
// written.
func (e *engine) takenComputed(i int, q record.Quantity) (taken, bool) {
	out := e.work(i)
	if out.state == working || !out.known {
		return taken{}, false
	}
	key := out.method.Key
	number, step, ok := inUnit(q, methods().units[key])
	if !ok {
		return taken{}, false
	}
	if out.agrees {
		return taken{key: key, number: out.result.Value}, true
	}
	return taken{key: key, number: number, half: step / 2}, true
}

// find returns a remembered value by any of its names.
func (l *Ledger) find(names []uint64) (taken, bool) {
	for _, name := range names {
		if t, ok := l.value(name); ok {
			return t, true
		}
	}
	return taken{}, false
}

func (l *Ledger) value(name uint64) (taken, bool) {
	t, ok := l.values[name]
	if !ok {
		t, ok = l.before[name]
	}
	return t, ok
}

// use puts a remembered value among the inputs.
func (in *inputs) use(t taken, stated int) {
	if t.key == "bp_systolic" {
		in.put(fromNumber("bp_systolic", t.number), stated)
		in.put(fromNumber("bp_diastolic", t.second), stated)
		return
	}
	if t.half > 0 {
		in.rounded[t.key] = t.half
	}
	in.put(fromNumber(t.key, t.number), stated)
}

// wait puts a computed value aside until its inputs are met.
func (c *checker) wait() bool {
	l := c.e.ledger
	if l == nil || len(c.out.inputs.wants) == 0 {
		return false
	}
	if len(l.waiting) >= MaxWaiting {
		l.full = true
		return false
	}
	w := waiting{out: *c.out, wants: c.out.inputs.wants}
	w.out.stated.Text = append([]byte(nil), c.out.stated.Text...)
	w.out.stated.Unit = append([]byte(nil), c.out.stated.Unit...)
	w.value = c.e.d.Finding(c.res.Value, "calc-value-differs")
	w.from = c.e.d.Finding(c.res.DerivedFrom, "calc-input-elsewhere")
	if c.e.line > 0 {
		w.value.Line, w.from.Line = w.value.Line+c.e.line-1, w.from.Line+c.e.line-1
	}
	l.waiting = append(l.waiting, w)
	return true
}

// Finish computes again what waited for inputs, now that all documents were
// met, in the order they were met.
func (l *Ledger) Finish(add func(issue.Finding)) {
	for i := range l.waiting {
		w := &l.waiting[i]
		stated := len(w.out.inputs.list)
		for _, name := range w.wants {
			if t, ok := l.value(name); ok {
				w.out.inputs.use(t, stated)
			}
		}
		fill(w.out.method, &w.out.inputs, 0)
		w.out.result = w.out.method.Compute(w.out.inputs.numbers)
		w.report(add)
	}
	l.waiting = l.waiting[:0]
}

func (w *waiting) report(add func(issue.Finding)) {
	out := &w.out
	if out.result.OK() {
		out.compare()
	}
	f := w.value
	switch {
	case len(out.result.Missing) > 0:
		f = w.from
		f.Details, f.Expected = elsewhere, keyList(out.result.Missing)
	case !out.result.OK():
		f.Rule, f.Severity, f.Mend = ruled("calc-not-computable")
		f.Details = "the method gives no value for these inputs: " + out.result.WhyNot
		f.Value, f.Expected = out.written(), "no value; inputs "+inputList(out.inputs.list)
	case !out.unitOK || out.agrees:
		return
	default:
		f.Details = "the value is not what " + out.code + " gives for its inputs"
		f.Value, f.Expected = out.written(), out.again()
	}
	add(f)
}

func ruled(rule string) (string, issue.Severity, string) {
	f := issue.At(rule)
	return f.Rule, f.Severity, f.Mend
}
