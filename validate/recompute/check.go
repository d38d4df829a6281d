package recompute

import (
	"strings"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// Check reports computed values that cannot be computed again or that differ
// when computed again. line is the line of the document in an NDJSON file, 0
// for a single document. With a ledger, inputs may be in other documents;
// Ledger.Finish reports values whose inputs come later.
func Check(rec *resources.Index, line int, ledger *Ledger, add func(issue.Finding)) {
	var e *engine
	if ledger != nil {
		ledger.start()
		e = newEngine(rec)
		e.ledger, e.line = ledger, line
		defer e.keep()
	}
	for i := range rec.Resources {
		res := &rec.Resources[i]
		if res.Type != "Observation" {
			continue
		}
		if _, computed := rec.IsComputed(res); !computed {
			noMethod(rec, res, add)
			continue
		}
		if e == nil {
			e = newEngine(rec)
		}
		c := &checker{e: e, i: i, res: res, out: e.work(i), report: add}
		c.check()
		e.tell(c)
	}
	if e != nil {
		e.weeks(add)
	}
}

// weeks gathers the inputs of the weeks of the record. Without other documents
// it computes them at once.
func (e *engine) weeks(add func(issue.Finding)) {
	l, alone := e.ledger, e.ledger == nil
	if alone {
		l = new(Ledger)
		l.start()
	}
	measure := l.weeks.measure
	if l.share != nil {
		measure = func(name uint64, m measured) { l.share.measured = append(l.share.measured, namedMeasured{name, m}) }
	}
	states, values := e.gatherWeeks(l, measure)
	e.handOn(values)
	if l.share != nil {
		l.share.states, l.share.weekValues = states, values
		return
	}
	l.weeks.take(states, values, e.line)
	if alone {
		l.weeks.finish(add)
	}
}

// onlyComputed reports whether a measurement can only be computed. A
// transmembrane pressure, for instance, can be computed, but machines also
// display it.
func onlyComputed(field string) bool {
	switch field {
	case "uf_rate_per_kg", "uf_expected", "uf_discrepancy",
		"interdialytic_weight_gain", "interdialytic_weight_gain_percent", "target_miss",
		"total_body_water", "dialysate_kt_v", "urea_reduction_ratio",
		"sp_kt_v", "sp_kt_v_interval", "e_kt_v", "std_kt_v_weekly":
		return true
	}
	return false
}

// noMethod reports a value that can only be computed but has no method. A
// value computed by a laboratory or another program has its own method or is a
// laboratory result.
func noMethod(rec *resources.Index, res *resources.Resource, add func(issue.Finding)) {
	if res.Row == nil || res.Method != doc.None || res.Value == doc.None || !onlyComputed(res.Row.Field) {
		return
	}
	f := rec.Doc.Finding(res.Node, "calc-no-method", issue.T("the value can only be computed, and does not say by which method"))
	f.Expected = issue.T("a method for {}", res.Row.Text)
	add(f)
}

type checker struct {
	e      *engine
	i      int
	res    *resources.Resource
	out    *outcome
	report func(issue.Finding)
	rule   string // of the last finding
	waits  bool   // for other documents
}

func (c *checker) add(f issue.Finding) {
	c.rule = f.Rule
	c.report(f)
}

func (c *checker) finding(n doc.Node, rule, details string, args ...any) issue.Finding {
	return c.e.d.Finding(n, rule, issue.T(details, args...))
}

func (c *checker) check() {
	c.status()
	out := c.out
	if !out.known {
		c.add(c.finding(c.res.Method, "calc-method-unknown", "the method, or its version, is not known here").Seen(out.code, issue.Text{}))
		return
	}
	c.quantity()
	if !out.hasValue {
		return
	}
	if c.res.DerivedFrom == doc.None && c.res.Component == doc.None {
		c.add(c.finding(c.res.Node, "calc-no-inputs", "the computed value names no input").Seen("", issue.Literal(inputNames(out.method))))
		return
	}
	if len(out.inputs.ambiguous) == 0 && len(out.result.Missing) > 0 {
		c.missing()
		return
	}
	if v, ok := out.verdict(); ok {
		f := c.finding([...]doc.Node{ofValue: c.res.Value, ofInputs: c.res.DerivedFrom, ofWhole: c.res.Node}[v.at], v.rule, "")
		f.Details, f.Value, f.Expected = v.details, v.value, v.expected
		c.add(f)
	}
}

// verdict is what is wrong with a computed value.
type verdict struct {
	at       part
	rule     string
	details  issue.Text
	value    string
	expected issue.Text
}

// part is the part of a computed Observation that a finding is about.
type part uint8

const (
	ofValue part = iota
	ofInputs
	ofWhole
)

// verdict compares a computed value with its inputs; ok is false if they
// agree.
func (out *outcome) verdict() (v verdict, ok bool) {
	switch {
	case len(out.inputs.ambiguous) > 0:
		return verdict{ofWhole, "calc-input-ambiguous", issue.T("two inputs are the same measurement with different values"), keyList(out.inputs.ambiguous), issue.Text{}}, true
	case len(out.result.Missing) > 0:
		return verdict{ofInputs, "calc-input-elsewhere", issue.T(elsewhere), "", issue.Literal(keyList(out.result.Missing))}, true
	case !out.result.OK():
		return verdict{ofValue, "calc-not-computable", issue.T("the method gives no value for these inputs: {}", out.result.WhyNot), out.written(), issue.T("no value; inputs {}", inputList(out.inputs.list))}, true
	case !out.unitOK:
		return verdict{ofValue, "calc-unit", issue.T("the unit is not one of what the method computes"), string(out.stated.Unit), issue.Literal(out.method.Unit)}, true
	case !out.agrees:
		return verdict{ofValue, "calc-value-differs", issue.T("the value is not what {} gives for its inputs", out.code), out.written(), issue.Literal(out.again())}, true
	}
	return v, false
}

const elsewhere = "an input is in a document that is not at hand, so the value was not computed again"

// missing reports inputs that the method requires and the record lacks.
func (c *checker) missing() {
	rule, details := "calc-input-missing", "the record does not name every input of the method"
	at := c.res.Node
	switch {
	case c.out.inputs.elsewhere > 0:
		if c.waits = c.wait(); c.waits {
			return
		}
		rule, details = "calc-input-elsewhere", elsewhere
		at = c.res.DerivedFrom
	case c.out.inputs.lost != doc.None:
		details = "the record does not give every input of the method; this one could not be read as an input"
		at = c.out.inputs.lost
	}
	c.add(c.finding(at, rule, details).Seen("", issue.Literal(keyList(c.out.result.Missing))))
}

// status checks value, absence and status against each other.
func (c *checker) status() {
	d := c.e.d
	status := d.Str(c.res.Status)
	valued := c.res.Value != doc.None
	switch {
	case string(status) == "entered-in-error":
	case !valued && c.res.Absent == doc.None:
		c.add(c.finding(c.res.Node, "calc-no-reason", "there is no value and no dataAbsentReason"))
	case valued && string(status) == "cancelled", !valued && string(status) != "cancelled" && len(status) > 0:
		c.add(c.finding(c.res.Status, "calc-status", "status and value do not agree").Seen(string(status), issue.Text{}))
	}
}

// quantity checks that the code matches the quantity that the method computes.
// A quantity code on a method with a separate code is one of the misused
// codes.
func (c *checker) quantity() {
	m := c.out.method
	apart := profiles.CodedAs(m.ID, m.Key)
	if c.res.Row == nil || c.res.Row.Field == m.Key || c.res.Row.Field == apart {
		return
	}
	d := c.e.d
	for coding := d.FirstChild(d.Get(c.res.Code, "coding")); coding != doc.None; coding = d.Next(coding) {
		rows := profiles.ByCode(string(d.Str(d.Get(coding, "system"))), string(d.Str(d.Get(coding, "code"))))
		for _, row := range rows {
			if row.Field == m.Key || row.Field == apart {
				return
			}
		}
	}
	f := c.finding(c.res.Code, "calc-method-mismatch", "the code names another quantity than the method computes")
	f.Value, f.Expected = c.res.Row.Text, issue.Literal(c.out.method.Quantity)
	c.add(f)
}

// written returns the value as recorded.
func (out *outcome) written() string {
	return string(out.stated.Text) + " " + string(out.stated.Unit)
}

// again returns the result of the method with its inputs.
func (out *outcome) again() string {
	return out.result.Rounded() + " " + out.method.Unit + " from " + inputList(out.inputs.list)
}

func keyList(keys []string) string { return strings.Join(keys, ", ") }

func inputNames(m calc.Method) string {
	var names []string
	for _, spec := range m.Inputs {
		if !spec.Optional {
			names = append(names, spec.Name)
		}
	}
	return strings.Join(names, ", ")
}

func inputList(list []Input) string {
	parts := make([]string, len(list))
	for i, in := range list {
		parts[i] = in.Key + " " + in.Text
		if in.Unit != "" && in.Unit != "1" {
			parts[i] += " " + in.Unit
		}
	}
	return strings.Join(parts, ", ")
}
