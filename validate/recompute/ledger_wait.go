package recompute

import (
	"runsheet.example/calc"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// waiting is a computed value that lacks inputs so far.
type waiting struct {
	out   outcome
	wants []uint64
	file  string
	// The positions of the value, of derivedFrom and of the whole.
	value, from, whole spot
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

func (s spot) finding(file, rule, details string) issue.Finding {
	f := issue.At(rule)
	f.File, f.Line, f.Column, f.Expression = file, int(s.line), int(s.column), s.expression
	f.Details = details
	return f
}

// wait stores a computed value until its inputs arrive.
func (c *checker) wait() bool {
	l := c.e.ledger
	if l == nil || len(c.out.inputs.wants) == 0 {
		return false
	}
	d := c.e.d
	w := waiting{
		out: *c.out, wants: c.out.inputs.wants, file: d.File,
		value: spotOf(d, c.res.Value), from: spotOf(d, c.res.DerivedFrom), whole: spotOf(d, c.res.Node),
	}
	if l.share != nil {
		l.share.waiting = append(l.share.waiting, w)
		return true
	}
	w.inFile(c.e.line)
	return l.store(&w)
}

// inFile counts lines from the beginning of the file; line is the line of the
// document in it, or 0.
func (w *waiting) inFile(line int) {
	for _, at := range []*spot{&w.value, &w.from, &w.whole} {
		at.inFile(line)
	}
}

func (s *spot) inFile(line int) { s.line += int32(max(line-1, 0)) }

// settle computes a value from the stored inputs, and reports whether they
// were complete. If not, the value waits further.
func (l *Ledger) settle(w *waiting, line int, add func(issue.Finding)) bool {
	w.wants = w.out.use(l, w.wants)
	w.inFile(line)
	if len(w.out.result.Missing) > 0 && l.store(w) {
		return false
	}
	w.report(add)
	return true
}

// use adds the stored inputs, computes the value from them, and returns the
// names of the missing inputs.
func (out *outcome) use(l *Ledger, wants []uint64) (left []uint64) {
	given := len(out.inputs.list)
	for _, name := range wants {
		if t, ok := l.value(name); ok {
			out.inputs.use(t, given)
		} else {
			left = append(left, name)
		}
	}
	fill(out.method, &out.inputs, 0)
	out.result = out.method.Compute(out.inputs.numbers)
	if out.result.OK() {
		out.compare()
	}
	return left
}

// Finish computes the waiting values after the last document, in the order of
// the documents.
func (l *Ledger) Finish(add func(issue.Finding)) {
	for i := range l.waiting {
		w := l.waiting[i].waiting()
		w.out.use(l, w.wants)
		l.full = l.full || l.forgot && len(w.out.result.Missing) > 0
		w.report(add)
	}
	clear(l.waiting)
	l.waiting = l.waiting[:0]
	l.weeks.finish(add)
}

func (w *waiting) report(add func(issue.Finding)) {
	out := &w.out
	var f issue.Finding
	switch {
	case len(out.inputs.ambiguous) > 0:
		f = w.whole.finding(w.file, "calc-input-ambiguous", ambiguous)
		f.Value = keyList(out.inputs.ambiguous)
	case len(out.result.Missing) > 0:
		f = w.from.finding(w.file, "calc-input-elsewhere", elsewhere)
		f.Expected = keyList(out.result.Missing)
	case !out.result.OK():
		f = w.value.finding(w.file, "calc-not-computable", "the method gives no value for these inputs: "+out.result.WhyNot)
		f.Value, f.Expected = out.written(), "no value; inputs "+inputList(out.inputs.list)
	case !out.unitOK:
		f = w.value.finding(w.file, "calc-unit", "the unit is not one of what the method computes")
		f.Value, f.Expected = string(out.stated.Unit), out.method.Unit
	case out.agrees:
		return
	default:
		f = w.value.finding(w.file, "calc-value-differs", "the value is not what "+out.code+" gives for its inputs")
		f.Value, f.Expected = out.written(), out.again()
	}
	add(f)
}

const ambiguous = "two inputs are the same measurement with different values"

// stored is a waiting value in compact form.
type stored struct {
	method, code       string
	stated             resources.Quantity
	list               []Input
	rounded            []rounded
	wants              []uint64
	file               string
	value, from, whole spot
}

type rounded struct {
	key  string
	half float64
}

// store adds a waiting value if the limit allows it.
func (l *Ledger) store(w *waiting) bool {
	if len(l.waiting) >= MaxWaiting {
		l.full = true
		return false
	}
	in := &w.out.inputs
	s := stored{
		method: w.out.method.ID, code: w.out.code, stated: w.out.stated,
		list: in.list, wants: w.wants, file: w.file, value: w.value, from: w.from, whole: w.whole,
	}
	s.stated.Text = append([]byte(nil), s.stated.Text...)
	s.stated.Unit = append([]byte(nil), s.stated.Unit...)
	for _, input := range in.list {
		if half, is := in.rounded[input.Key]; is {
			s.rounded = append(s.rounded, rounded{input.Key, half})
		}
	}
	l.waiting = append(l.waiting, s)
	return true
}

// waiting restores the value.
func (s *stored) waiting() *waiting {
	in := inputs{numbers: calc.Inputs{}, rounded: calc.Inputs{}, list: s.list}
	for _, input := range s.list {
		in.numbers[input.Key] = input.Number
	}
	for _, r := range s.rounded {
		in.rounded[r.key] = r.half
	}
	return &waiting{
		out:   outcome{state: done, known: true, method: methods().byID[s.method], code: s.code, inputs: in, stated: s.stated, hasValue: true},
		wants: s.wants, file: s.file, value: s.value, from: s.from, whole: s.whole,
	}
}
