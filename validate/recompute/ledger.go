package recompute

import (
	"hash/maphash"
	"sync"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/spill"
)

// MaxKept limits the names of values that a Ledger keeps, MaxWaiting the
// computed values that wait for inputs.
const (
	MaxKept    = 390_000
	MaxWaiting = 20_000
)

// Ledger keeps the values of documents already checked, so that a value can be
// computed again although its inputs are in other documents: other lines of an
// NDJSON file, or the session before. Its memory is bounded. Beyond the limit
// it keeps the latest values, because inputs are close to the values computed
// from them. The zero value is ready for use.
type Ledger struct {
	seed    maphash.Seed
	started bool
	// values is the latest generation of values, before the generation that
	// preceded it.
	values, before *spill.Table[taken]
	waiting        []stored
	forgot, full   bool
	weeks          weeks
	// share is set for the values of a single document, which collect in it;
	// see [Share].
	share *Share
}

// taken is the inputs that an Observation yields: a number and its key in the
// methods' vocabulary. A blood pressure yields two.
type taken struct {
	number float64
	// other is the diastolic pressure; for other keys, half a rounding step of
	// a rounded value, 0 for an exact one.
	other float64
	key   uint16 // index in calc.Vocabulary, or pressure
}

// pressure stands for the two keys of a blood pressure.
const pressure = ^uint16(0)

// keys are those of calc.Vocabulary, and the index of each.
var keys = sync.OnceValue(func() (k struct {
	list  []string
	index map[string]uint16
}) {
	k.index = map[string]uint16{}
	for i, spec := range calc.Vocabulary() {
		k.list = append(k.list, spec.Key)
		k.index[spec.Key] = uint16(i)
	}
	return k
})

// Full reports whether some value was not computed again because a limit was
// reached.
func (l *Ledger) Full() bool { return l.full || l.weeks.full }

func (l *Ledger) start() {
	if !l.started {
		l.seed, l.started = maphash.MakeSeed(), true
		l.values, l.before = new(spill.Table[taken]), new(spill.Table[taken])
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

// Kinds of names that a value is indexed by.
const (
	byIdentity = "identity"
	byTypeID   = "type and id"
)

// put indexes the value of an Observation under its names.
func (l *Ledger) put(res *resources.Resource, t taken) {
	for _, name := range l.namesOf(res) {
		l.name(name, t)
	}
}

func (l *Ledger) name(name uint64, t taken) {
	if l.share != nil {
		l.share.values = append(l.share.values, named{name, t})
		return
	}
	if l.values.Len() >= MaxKept/2 {
		l.forgot = l.forgot || l.before.Len() > 0
		l.values, l.before = l.before, l.values
		l.values.Clear()
	}
	l.values.Put(name, t)
}

// names returns the hashes of the names that a reference may use.
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

// keep stores the values of a document.
func (e *engine) keep() {
	for i := range e.rec.Resources {
		res := &e.rec.Resources[i]
		if res.Type != "Observation" || res.Owner != resources.Nowhere || e.d.Is(res.Status, "entered-in-error") {
			continue
		}
		if t, ok := e.takenFrom(i, res); ok {
			e.ledger.put(res, t)
		}
	}
}

func (e *engine) takenFrom(i int, res *resources.Resource) (taken, bool) {
	if p, ok := e.rec.Pressure(res); ok {
		return taken{key: pressure, number: p.Systolic.Number, other: p.Diastolic.Number}, true
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
	return taken{key: keys().index[key], number: number}, ok
}

// takenComputed is a computed value at full precision if it agrees; otherwise
// as written.
func (e *engine) takenComputed(i int, q resources.Quantity) (taken, bool) {
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
		return out.agreed(), true
	}
	return taken{key: keys().index[key], number: number, other: step / 2}, true
}

// agreed is a computed value that agrees, at full precision.
func (out *outcome) agreed() taken {
	return taken{key: keys().index[out.method.Key], number: out.result.Value}
}

// find returns a stored value by any of its names.
func (l *Ledger) find(names []uint64) (taken, bool) {
	for _, name := range names {
		if t, ok := l.value(name); ok {
			return t, true
		}
	}
	return taken{}, false
}

func (l *Ledger) value(name uint64) (taken, bool) {
	if l.share != nil {
		return taken{}, false
	}
	t := l.values.Find(name)
	if t == nil {
		t = l.before.Find(name)
	}
	if t == nil {
		return taken{}, false
	}
	return *t, true
}

// use adds a stored value to the inputs.
func (in *inputs) use(t taken, stated int) {
	if t.key == pressure {
		in.put(fromNumber("bp_systolic", t.number), stated)
		in.put(fromNumber("bp_diastolic", t.other), stated)
		return
	}
	key := keys().list[t.key]
	if t.other > 0 {
		in.rounded[key] = t.other
	}
	in.put(fromNumber(key, t.number), stated)
}
