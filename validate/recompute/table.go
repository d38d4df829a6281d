package recompute

import (
	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// Row is one computed value of a document, with its recomputed value.
type Row struct {
	// Session is the record identifier of the session's Procedure, or "".
	Session string
	// Start is the beginning of the effective time, as written.
	Start string
	// Key and Quantity identify the computed quantity, Method is the code of
	// its method.
	Key, Quantity, Method string
	// Value and Unit are as written; Value is "" if absent, and WhyNot is then
	// the text of the absent reason.
	Value, Unit, WhyNot string
	// Recomputed is the recomputed value, rounded as the method rounds, or ""
	// if it cannot be computed.
	Recomputed string
	// Agrees reports that value and recomputed value are equal at the
	// precision written.
	Agrees bool
	// Source is the publication behind the method, Inputs are its inputs.
	Source string
	Inputs []Input
}

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
		Session: e.session(i), Start: e.start(res),
		Key: out.method.Key, Quantity: out.method.Quantity, Method: out.code,
		Source: out.method.Source, Inputs: out.inputs.list, Agrees: out.agrees,
	}
	if out.hasValue {
		row.Value, row.Unit = string(out.stated.Text), string(out.stated.Unit)
	} else {
		row.WhyNot = string(d.Str(d.Get(res.Absent, "text")))
	}
	if out.known && len(out.inputs.ambiguous) == 0 && out.result.OK() {
		row.Recomputed = out.result.Rounded()
	}
	return row
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
