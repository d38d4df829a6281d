package recompute

import (
	"slices"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// waiting is a computed value that lacks inputs so far, in compact form.
type waiting struct {
	method, code string
	stated       resources.Quantity
	list         []Input
	wants        []uint64
	file         string
	// at are the positions of its parts.
	at  [ofWhole + 1]spot
	row *Row // if rows are wanted
}

// spot is a position in a document.
type spot struct {
	line, column int32
	expression   string
}

func spotOf(d *doc.Doc, n doc.Node) spot {
	line, column := d.Position(d.Offset(n))
	return spot{int32(line), int32(column), d.Path(n)}
}

func (s spot) finding(file, rule, details string, args ...any) issue.Finding {
	f := issue.At(rule)
	f.File, f.Line, f.Column, f.Expression = file, int(s.line), int(s.column), s.expression
	f.Details = issue.T(details, args...)
	return f
}

// wait stores a computed value until its inputs arrive.
func (c *checker) wait() bool {
	l := c.e.ledger
	if l == nil || len(c.out.inputs.wants) == 0 {
		return false
	}
	d, out := c.e.d, c.out
	w := waiting{
		method: out.method.ID, code: out.code, stated: out.stated, list: out.inputs.list, wants: out.inputs.wants, file: d.File,
		at: [...]spot{ofValue: spotOf(d, c.res.Value), ofInputs: spotOf(d, c.res.DerivedFrom), ofWhole: spotOf(d, c.res.Node)},
	}
	w.stated.Text, w.stated.Unit = slices.Clone(w.stated.Text), slices.Clone(w.stated.Unit)
	if l.Values != nil {
		row := c.e.row(c.i, out)
		w.row = &row
	}
	if l.share != nil {
		l.share.waiting = append(l.share.waiting, w)
		return true
	}
	w.inFile(c.e.line)
	return l.store(w)
}

// inFile counts lines from the beginning of the file; line is the line of the
// document in it, or 0.
func (w *waiting) inFile(line int) {
	for i := range w.at {
		w.at[i].inFile(line)
	}
}

func (s *spot) inFile(line int) { s.line += int32(max(line-1, 0)) }

// store adds a waiting value if the limit allows it.
func (l *Ledger) store(w waiting) bool {
	if len(l.waiting) >= MaxWaiting {
		l.full = true
		return false
	}
	l.waiting = append(l.waiting, w)
	return true
}

// settle computes a value from the stored inputs, and reports it if they were
// complete. If not, the value waits further.
func (l *Ledger) settle(w waiting, line int, add func(issue.Finding)) *outcome {
	w.inFile(line)
	out := l.use(&w)
	if len(out.result.Missing) == 0 || !l.store(w) {
		l.report(&w, out, add)
	}
	return out
}

// use adds the stored inputs to a value, which then wants the others only, and
// computes it.
func (l *Ledger) use(w *waiting) *outcome {
	out := &outcome{state: done, known: true, method: methods().byID[w.method], code: w.code, stated: w.stated, hasValue: true}
	out.inputs.list = w.list
	var left []uint64
	for _, name := range w.wants {
		if t, ok := l.find(name); ok {
			out.inputs.use(t, len(w.list))
		} else {
			left = append(left, name)
		}
	}
	out.compute()
	w.list, w.wants = out.inputs.list, left
	return out
}

// Finish computes the waiting values after the last document, in the order of
// the documents.
func (l *Ledger) Finish(add func(issue.Finding)) {
	for i := range l.waiting {
		w := &l.waiting[i]
		out := l.use(w)
		l.full = l.full || l.values.forgot && len(out.result.Missing) > 0
		l.report(w, out, add)
	}
	clear(l.waiting)
	l.waiting = l.waiting[:0]
	l.settleClaims(add)
	l.weeks.finish(add)
}

func (l *Ledger) report(w *waiting, out *outcome, add func(issue.Finding)) {
	v, ok := out.verdict()
	if w.row != nil {
		w.row.Rule = v.rule
		w.row.compare(out)
		l.Values(*w.row)
	}
	if ok {
		f := w.at[v.at].finding(w.file, v.rule, "")
		f.Details, f.Value, f.Expected = v.details, v.value, v.expected
		add(f)
	}
}
