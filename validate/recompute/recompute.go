// Package recompute computes every derived value of a record again, from the
// inputs that the record names: the Observations in derivedFrom, and
// components for inputs that are not Observations. It uses the methods of
// package calc, identified by the code in Observation.method.
//
// A value agrees if it equals the result of the method, rounded to the
// decimals written. An input that is itself a computed value of the record
// enters at full precision, so that intermediate rounding does not affect the
// comparison.
package recompute

import (
	"strings"
	"sync"

	"runsheet.example/calc"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// state is the progress of computing an Observation again.
type state uint8

const (
	working state = iota
	done
)

// outcome is the result for one computed Observation.
type outcome struct {
	state  state
	known  bool // the method is known, in this version
	method calc.Method
	code   string // as written
	inputs inputs
	result calc.Result
	// stated is the value as written, valid when hasValue.
	stated   resources.Quantity
	hasValue bool
	agrees   bool
	unitOK   bool
}

// engine computes the computed Observations of one document again.
type engine struct {
	rec      *resources.Index
	d        *doc.Doc
	ledger   *Ledger    // nil without other documents
	line     int        // line of the document in an NDJSON file, or 0
	outcomes []*outcome // nil until computed
	rows     map[int]*Row
}

func newEngine(rec *resources.Index) *engine {
	return &engine{rec: rec, d: rec.Doc, outcomes: make([]*outcome, len(rec.Resources))}
}

// methods maps ids to methods, and lists the methods of a key.
var methods = sync.OnceValue(func() (m struct {
	byID  map[string]calc.Method
	byKey map[string][]calc.Method
}) {
	m.byID, m.byKey = map[string]calc.Method{}, map[string][]calc.Method{}
	for _, method := range calc.Methods() {
		m.byID[method.ID] = method
		m.byKey[method.Key] = append(m.byKey[method.Key], method)
	}
	return m
})

// work returns the result for the Observation with an index.
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
	out.compute()
}
