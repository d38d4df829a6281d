package recompute

import (
	"math"
	"slices"
	"strconv"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// inputs are the inputs that a computed Observation names.
type inputs struct {
	list      []Input
	elsewhere int // inputs outside the given documents
	ambiguous []string
	// wants are the names of inputs that a later document may hold.
	wants []uint64
	// lost is the first reference to an Observation that yields no input.
	lost doc.Node
}

// Input is one input as the record states it.
type Input struct {
	Key string `json:"key"`
	// Text and Unit are as written.
	Text string `json:"value"`
	Unit string `json:"unit"`
	// Number is in the unit of calc.Vocabulary.
	Number float64 `json:"-"`
	// half is half a rounding step if the number was computed and rounded
	// before it was recorded, otherwise 0.
	half float64
}

// numbers are the inputs as the methods take them; rounded holds half a
// rounding step of each rounded one. A record has one urea after dialysis, at
// any sampling time.
func (in *inputs) numbers() (numbers, rounded calc.Inputs) {
	numbers, rounded = calc.Inputs{}, calc.Inputs{}
	for _, input := range in.list {
		numbers[input.Key] = input.Number
		if input.half > 0 {
			rounded[input.Key] = input.half
		}
	}
	if after, have := numbers["urea_after"]; have {
		if _, have := numbers["urea_equilibrated"]; !have {
			numbers["urea_equilibrated"] = after
		}
	}
	return numbers, rounded
}

// gather reads the components and the Observations in derivedFrom. A component
// takes precedence over an Observation.
func (e *engine) gather(i int, res *resources.Resource) inputs {
	const usual = 8 // inputs of a method
	in := inputs{list: make([]Input, 0, usual), lost: doc.None}
	d := e.d
	for c := d.FirstChild(res.Component); c != doc.None; c = d.Next(c) {
		e.component(c, &in)
	}
	stated := len(in.list)
	before := slices.IndexFunc(in.list, func(i Input) bool { return i.Key == "previous_weight_after" })
	for ref := d.FirstChild(res.DerivedFrom); ref != doc.None; ref = d.Next(ref) {
		target, found := e.follow(ref, i)
		if before >= 0 && e.ledger != nil {
			e.ledger.claim(claim{e.namesAt(e.ledger, ref, i), in.list[before].Number, d.File, spotOf(d, res.Component)}, e.line)
		}
		if !found {
			e.otherDocument(ref, &in, stated)
			continue
		}
		if !e.observation(target, &in, stated) && in.lost == doc.None {
			in.lost = ref
		}
	}
	return in
}

// otherDocument looks up an input among earlier documents, and records its
// names if it is not found.
func (e *engine) otherDocument(ref doc.Node, in *inputs, stated int) {
	if e.ledger == nil {
		in.elsewhere++
		return
	}
	names := e.ledger.names(e.d, ref)
	if t, ok := e.ledger.find(names...); ok {
		in.use(t, stated)
		return
	}
	in.elsewhere++
	in.wants = append(in.wants, names...)
}

// follow finds the Observation that a reference identifies, by its literal or
// by its identifier.
func (e *engine) follow(ref doc.Node, from int) (int, bool) {
	if target, outcome := e.rec.Resolve(ref, from); outcome == resources.Found {
		return target, true
	}
	identifier := e.d.Get(ref, "identifier")
	if !e.d.Is(e.d.Get(identifier, "system"), profiles.RecordIdentifier) {
		return resources.Nowhere, false
	}
	target := e.rec.ByIdentity(e.d.Str(e.d.Get(identifier, "value")))
	return target, target != resources.Nowhere
}

func (e *engine) component(c doc.Node, in *inputs) {
	spec, ok := e.rec.InputOf(e.d.Get(c, "code"))
	if !ok {
		return
	}
	if spec.Unit == "" {
		e.sex(e.d.Get(c, "valueCodeableConcept"), spec.Key, in)
		return
	}
	q, ok := e.rec.Quantity(e.d.Get(c, "valueQuantity"))
	if !ok {
		return
	}
	if number, _, ok := inUnit(q, calc.Spec(spec.Key).Unit); ok {
		in.put(Input{Key: spec.Key, Text: string(q.Text), Unit: string(q.Unit), Number: number}, 0)
	}
}

func (e *engine) sex(value doc.Node, key string, in *inputs) {
	d := e.d
	for c := d.FirstChild(d.Get(value, "coding")); c != doc.None; c = d.Next(c) {
		if !d.Is(d.Get(c, "system"), profiles.AdministrativeSex) {
			continue
		}
		switch text := string(d.Str(d.Get(c, "code"))); text {
		case "male":
			in.put(Input{Key: key, Text: text, Number: calc.SexMale}, 0)
		case "female":
			in.put(Input{Key: key, Text: text, Number: calc.SexFemale}, 0)
		}
	}
}

// fromNumber is an input of which only the number is known.
func fromNumber(key string, number, half float64) Input {
	return Input{Key: key, Text: strconv.FormatFloat(number, 'f', -1, 64), Unit: calc.Spec(key).Unit, Number: number, half: half}
}

// put adds an input. If two values for one key differ, it trusts neither,
// except that a component's value stays.
func (in *inputs) put(input Input, stated int) {
	for i, have := range in.list {
		if have.Key != input.Key {
			continue
		}
		if i >= stated && have.Number != input.Number && !slices.Contains(in.ambiguous, input.Key) {
			in.ambiguous = append(in.ambiguous, input.Key)
		}
		return
	}
	in.list = append(in.list, input)
}

// observation adds the value of an Observation as input, and reports whether
// it has one.
func (e *engine) observation(target int, in *inputs, stated int) bool {
	values, n := e.given(target)
	for _, v := range values[:n] {
		in.put(Input{v.key, string(v.quantity.Text), string(v.quantity.Unit), v.number, v.half}, stated)
	}
	return n > 0
}

// given is an input that an Observation yields; number is in the unit of the
// vocabulary.
type given struct {
	key          string
	quantity     resources.Quantity // as written
	number, half float64            // half as in Input
}

// given returns the inputs that an Observation yields: one, two for a blood
// pressure, or none.
func (e *engine) given(i int) (values [2]given, n int) {
	res := &e.rec.Resources[i]
	if res.Type != "Observation" {
		return values, 0
	}
	if p, ok := e.rec.Pressure(res); ok {
		return [2]given{
			{"bp_systolic", p.Systolic, p.Systolic.Number, 0}, {"bp_diastolic", p.Diastolic, p.Diastolic.Number, 0},
		}, 2
	}
	if !res.HasQuantity {
		return values, 0
	}
	one, ok := given{quantity: res.Quantity}, false
	if _, computed := e.rec.IsComputed(res); computed {
		ok = e.again(i, &one)
	} else if res.Row != nil && res.Exact {
		one.key, one.number, ok = keyed(res.Row.Field, res.Quantity)
	}
	values[0] = one
	if !ok {
		return values, 0
	}
	return values, 1
}

// again sets a computed value at full precision if it can be computed again
// and agrees; otherwise as written, with the rounding that this implies.
func (e *engine) again(i int, v *given) bool {
	out := e.work(i)
	if out.state == working || !out.known {
		return false // derived from itself, or by an unknown method
	}
	v.key = out.method.Key
	number, step, ok := inUnit(v.quantity, calc.Spec(v.key).Unit)
	v.number, v.half = number, step/2
	if out.agrees {
		v.number, v.half = out.result.Value, 0
	}
	return ok
}

// keyed converts a measurement to an input: its key and its number in the unit
// of the vocabulary. Urea may be given as urea or as urea nitrogen, by mass or
// by substance.
func keyed(field string, q resources.Quantity) (key string, number float64, ok bool) {
	switch field {
	case "urea_before", "urea_after", "bun_before", "bun_after":
		number, ok = ureaMmolPerL(field, q)
		if field[:3] == "bun" {
			field = "urea" + field[3:]
		}
		return field, number, ok
	}
	unit := calc.Spec(field).Unit
	number, _, ok = inUnit(q, unit)
	return field, number, ok && unit != ""
}

func ureaMmolPerL(field string, q resources.Quantity) (float64, bool) {
	if number, _, ok := inUnit(q, "mmol/L"); ok {
		return number, true
	}
	perDL, _, ok := inUnit(q, "mg/dL")
	if !ok {
		return 0, false
	}
	if field[:3] == "bun" {
		return calc.UreaFromBUN(perDL), true
	}
	return calc.UreaFromMgPerDL(perDL), true
}

// inUnit converts a quantity; step is one unit of its last written decimal,
// converted too.
func inUnit(q resources.Quantity, unit string) (number, step float64, ok bool) {
	step = math.Pow10(-decimals(q.Text))
	if string(q.Unit) == unit {
		return q.Number, step, true
	}
	number, ok = q.In(unit)
	if !ok {
		return 0, 0, false
	}
	zero, _ := resources.Quantity{Number: 0, Unit: q.Unit}.In(unit)
	one, _ := resources.Quantity{Number: 1, Unit: q.Unit}.In(unit)
	return number, step * math.Abs(one-zero), true
}

// decimals counts the decimals of a number as written, including the shift by
// an exponent.
func decimals(text []byte) int {
	places, exponent := 0, 0
	point, inExponent, negative := false, false, false
	for _, c := range text {
		switch {
		case c == '.':
			point = true
		case c == 'e' || c == 'E':
			inExponent = true
		case inExponent && c == '-':
			negative = true
		case c < '0' || c > '9':
		case inExponent:
			exponent = min(exponent*10+int(c-'0'), 1000)
		case point:
			places++
		}
	}
	if negative {
		return places + exponent
	}
	return places - exponent
}

// fill computes required inputs that the record does not name but that follow
// from those it names, if only one method yields them. No such method has
// inputs of that kind itself.
func fill(m calc.Method, in *inputs) {
	numbers, _ := in.numbers()
	for _, spec := range m.Inputs {
		ways := methods().byKey[spec.Key]
		if _, have := numbers[spec.Key]; have || spec.Optional || len(ways) != 1 {
			continue
		}
		if r := ways[0].Compute(numbers); r.OK() {
			in.list = append(in.list, Input{Key: spec.Key, Text: r.Rounded(), Unit: r.Unit, Number: r.Value})
		}
	}
}

// compute computes the method from the inputs and compares the value.
func (out *outcome) compute() {
	fill(out.method, &out.inputs)
	numbers, rounded := out.inputs.numbers()
	out.result = out.method.Compute(numbers)
	if !out.hasValue || !out.result.OK() {
		return
	}
	number, step, ok := inUnit(out.stated, out.method.Unit)
	if out.unitOK = ok; !ok {
		return
	}
	const noise = 1e-12 // of binary fractions, below any digit written
	difference := math.Abs(number - out.result.Value)
	allowed := step/2 + noise*(1+math.Abs(number))
	out.agrees = difference <= allowed || len(rounded) > 0 && difference <= out.method.Slack(numbers, rounded)+allowed
}
