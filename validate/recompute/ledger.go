package recompute

import (
	"hash/maphash"
	"sync"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
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
	// Values, if set before the first document, receives each computed value
	// once, when it is compared.
	Values func(Row)

	seed    maphash.Seed
	started bool
	values  recent[taken]
	waiting []waiting
	claims  []claim
	full    bool
	weeks   weeks
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
func (l *Ledger) Full() bool { return l.full || l.weeks.full || l.weeks.measured.forgot }

func (l *Ledger) start() {
	if !l.started {
		l.seed, l.started, l.weeks.tell = maphash.MakeSeed(), true, l.Values
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
	l.values.put(name, t, MaxKept)
}

// recent keeps the latest values by the hashes of their names, in two
// generations: the later one and the one before it. The zero value is empty.
type recent[T any] struct {
	now, before map[uint64]T
	forgot      bool // values were dropped
}

// put adds a value and keeps at most most of them.
func (r *recent[T]) put(name uint64, value T, most int) {
	if r.now == nil {
		r.now, r.before = map[uint64]T{}, map[uint64]T{}
	}
	if len(r.now) >= most/2 {
		r.forgot = r.forgot || len(r.before) > 0
		r.now, r.before = r.before, r.now
		clear(r.now)
	}
	r.now[name] = value
}

// find returns the value with one of the names.
func (r *recent[T]) find(names ...uint64) (value T, found bool) {
	for _, name := range names {
		for _, table := range [...]map[uint64]T{r.now, r.before} {
			if value, found = table[name]; found {
				return value, true
			}
		}
	}
	return value, false
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
		switch values, n := e.given(i); n {
		case 1:
			e.ledger.put(res, taken{key: keys().index[values[0].key], number: values[0].number, other: values[0].half})
		case 2:
			e.ledger.put(res, taken{key: pressure, number: values[0].number, other: values[1].number})
		}
	}
}

// agreed is a computed value that agrees, at full precision.
func (out *outcome) agreed() taken {
	return taken{key: keys().index[out.method.Key], number: out.result.Value}
}

// find returns a stored value by any of its names.
func (l *Ledger) find(names ...uint64) (taken, bool) {
	if l.share != nil {
		return taken{}, false
	}
	return l.values.find(names...)
}

// use adds a stored value to the inputs.
func (in *inputs) use(t taken, stated int) {
	if t.key == pressure {
		in.put(fromNumber("bp_systolic", t.number, 0), stated)
		in.put(fromNumber("bp_diastolic", t.other, 0), stated)
		return
	}
	in.put(fromNumber(keys().list[t.key], t.number, t.other), stated)
}
