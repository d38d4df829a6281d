package recompute

import (
	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// Row is one computed value of a document, with its recomputed value.
type Row struct {
	// File is the file of the record.
	File string `json:"-"`
	// Rule is the rule of the finding about a value that was not computed again
	// or differs, if the row comes from a [Ledger].
	Rule string `json:"-"`
	// Session is the record identifier of the session's Procedure, or "".
	Session string `json:"session,omitempty"`
	// Start is the beginning of the effective time, as written.
	Start string `json:"start"`
	// Key and Quantity identify the computed quantity.
	Key      string `json:"key"`
	Quantity string `json:"quantity"`
	// Value and Unit are as written; Value is "" if absent.
	Value string `json:"value,omitempty"`
	Unit  string `json:"unit,omitempty"`
	// Method is the code of the method.
	Method string `json:"method"`
	// WhyNot is the text of the reason of an absent value.
	WhyNot string `json:"whyNot,omitempty"`
	// Recomputed is the recomputed value, rounded as the method rounds, or ""
	// if it cannot be computed.
	Recomputed string `json:"recomputed,omitempty"`
	// Comparison says whether value and recomputed value are equal at the
	// precision written; "" without a value.
	Comparison Comparison `json:"comparison,omitempty"`
	Inputs     []Input    `json:"inputs"`
	// Source is the publication of the method.
	Source string `json:"source"`
}

// Comparison is the result of computing a value again.
type Comparison string

// The results.
const (
	Same     Comparison = "same"
	NotAgain Comparison = "not again" // it could not be computed again
	Differs  Comparison = "differs"
)

// Table returns the computed values of a document in document order.
func Table(d *doc.Doc) []Row {
	var rec resources.Index
	rec.Read(d)
	e := newEngine(&rec)
	var rows []Row
	for i := range rec.Resources {
		if _, computed := rec.IsComputed(&rec.Resources[i]); computed {
			rows = append(rows, e.row(i, e.work(i)))
		}
	}
	return rows
}

func (e *engine) row(i int, out *outcome) Row {
	d, res := e.d, &e.rec.Resources[i]
	row := Row{
		File: d.File, Session: e.session(i), Start: e.start(res),
		Key: out.method.Key, Quantity: out.method.Quantity, Method: out.code,
		Source: out.method.Source,
	}
	if out.hasValue {
		row.Value, row.Unit = string(out.stated.Text), string(out.stated.Unit)
	} else {
		row.WhyNot = string(d.Str(d.Get(res.Absent, "text")))
	}
	row.compare(out)
	return row
}

// compare sets what the inputs give, and compares it with the value.
func (row *Row) compare(out *outcome) {
	row.Inputs = append([]Input{}, out.inputs.list...)
	if out.known && len(out.inputs.ambiguous) == 0 && out.result.OK() {
		row.Recomputed = out.result.Rounded()
	}
	switch {
	case row.Value == "":
	case out.agrees:
		row.Comparison = Same
	case row.Recomputed == "":
		row.Comparison = NotAgain
	default:
		row.Comparison = Differs
	}
}

// tell keeps the row of a value that was checked and waits for nothing, if rows
// are wanted.
func (e *engine) tell(c *checker) {
	if e.ledger == nil || e.ledger.Values == nil || c.waits {
		return
	}
	if e.rows == nil {
		e.rows = map[int]*Row{}
	}
	row := e.row(c.i, c.out)
	row.Rule = c.rule
	e.rows[c.i] = &row
}

// handOn gives the rows of weeks to their values, which are compared later, and
// the others to the ledger.
func (e *engine) handOn(weeks []weekValue) {
	for i := range weeks {
		weeks[i].row = e.rows[weeks[i].index]
		delete(e.rows, weeks[i].index)
	}
	for i := range e.rec.Resources {
		if row := e.rows[i]; row != nil {
			e.ledger.Values(*row)
		}
	}
}

func (e *engine) session(i int) string {
	if hub := e.rec.Resources[i].Hub; hub != resources.Nowhere {
		return string(e.rec.Resources[hub].Identity)
	}
	return ""
}

func (e *engine) start(res *resources.Resource) string {
	if e.d.Kind(res.Effective) == doc.Object {
		return string(e.d.Str(e.d.Get(res.Effective, "start")))
	}
	return string(e.d.Str(res.Effective))
}
