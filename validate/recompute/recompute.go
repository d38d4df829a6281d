// Package recompute computes every derived value of a record again, from the
// inputs that the record itself names: the Observations it is derived from,
// and its components for what is no Observation of its own. The methods are
// those of package calc, found by the code in Observation.method.
//
// A value agrees when it is what the method gives, rounded to as many decimals
// as were written. An input that is itself a computed value of the record is
// taken at full precision, so that a chain of values is not judged by the
// rounding of its links.
package recompute

import (
	"math"
	"strings"
	"sync"

	"runsheet.example/calc"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/record"
)

// state tells how far an Observation has been worked out.
type state uint8

const (
	working state = iota
	done
)

// outcome is one computed Observation worked out.
type outcome struct {
	state  state
	known  bool // the method is known, in this version
	method calc.Method
	code   string // as written
	inputs inputs
	result calc.Result
	// stated is the value as written, valid when hasValue.
	stated   record.Quantity
	hasValue bool
	agrees   bool
	unitOK   bool
}

// engine works out the computed Observations of one document.
type engine struct {
	rec      *record.Record
	d        *doc.Doc
	ledger   *Ledger    // nil when there are no other documents
	line     int        // of the document in an NDJSON file, or 0
	outcomes []*outcome // nil until worked out
}

func newEngine(rec *record.Record) *engine {
	return &engine{rec: rec, d: rec.Doc, outcomes: make([]*outcome, len(rec.Resources))}
}

// methods finds the methods by id, and lists those for a key.
var methods = sync.OnceValue(func() (m struct {
	byID  map[string]calc.Method
	byKey map[string][]calc.Method
	units map[string]string
}) {
	m.byID, m.byKey, m.units = map[string]calc.Method{}, map[string][]calc.Method{}, map[string]string{}
	for _, method := range calc.Methods() {
		m.byID[method.ID] = method
		m.byKey[method.Key] = append(m.byKey[method.Key], method)
	}
	for _, spec := range calc.Vocabulary() {
		m.units[spec.Key] = spec.Unit
	}
	return m
})

// work returns the worked-out Observation with an index.
func (e *engine) work(i int) *outcome {
	if out := e.outcomes[i]; out != nil {
		return out
	}
	out := &outcome{state: working}
	e.outcomes[i] = out
	e.workOut(i, out)
	out.state = done
	return out
}

func (e *engine) workOut(i int, out *outcome) {
	res := &e.rec.Resources[i]
	coding, ok := e.rec.IsComputed(res)
	if !ok {
		return
	}
	out.code = string(e.d.Str(e.d.Get(coding, "code")))
	out.stated, out.hasValue = res.Quantity, res.HasQuantity
	at := strings.LastIndexByte(out.code, '-')
	if at < 0 {
		return
	}
	method, ok := methods().byID[out.code[:at]]
	if !ok || method.Version != out.code[at+1:] {
		return
	}
	out.known, out.method = true, method
	out.inputs = e.gather(i, res)
	fill(method, &out.inputs, 0)
	out.result = method.Compute(out.inputs.numbers)
	if out.hasValue && out.result.OK() {
		out.compare()
	}
}

// compare sets whether the stated value is what the method gives.
func (out *outcome) compare() {
	number, step, ok := inUnit(out.stated, out.method.Unit)
	out.unitOK = ok
	if !ok {
		return
	}
	const noise = 1e-12 // of binary fractions, below any digit written
	difference := math.Abs(number - out.result.Value)
	allowed := step/2 + noise*(1+math.Abs(number))
	out.agrees = difference <= allowed
	if !out.agrees && len(out.inputs.rounded) > 0 {
		out.agrees = difference <= out.method.Slack(out.inputs.numbers, out.inputs.rounded)+allowed
	}
}
