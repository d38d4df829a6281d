package calc

import (
	"maps"
	"math"
)

// Uncertainty is how far an input of the methods may be off, apart from
// misreading: the spread of the formula it came from or a known bias.
type Uncertainty struct {
	Key       string
	Low, High func(value float64) float64
	Why       string // with source
}

// Uncertainties returns the inputs that are known to be uncertain. For the
// kinetic model see [SensitivityToExchange] and [SensitivityToVolume].
func Uncertainties() []Uncertainty {
	same := func(v float64) float64 { return v }
	return []Uncertainty{
		{
			"total_body_water", func(v float64) float64 { return v - 3.76 }, func(v float64) float64 { return v + 3.76 },
			"body water off by one standard deviation of the formula, 3.76 L (Watson 1980, men; women 3.60 L)",
		},
		{
			"dialyser_koa", func(v float64) float64 { return KoAInUseShare * v }, same,
			"KoA in use 0.8 of the printed one (from memory)",
		},
	}
}

// Firmness is what the least certain input does to a value.
type Firmness struct {
	Key       string // the input
	Why       string // how far it may be off
	Low, High Result // the value at both ends, the lower one first
}

// LeastCertain runs the methods as [Sequence] does and shows what the least
// certain input, given or computed on the way, does to the last value. The
// second value is false when no uncertain input takes part or there is no
// value at both ends.
func LeastCertain(in Inputs, ids ...string) (Firmness, bool) {
	var worst Firmness
	found, spread := false, 0.0
	for _, u := range Uncertainties() {
		low, usedLow := sequenceWith(in, u.Key, u.Low, ids)
		high, usedHigh := sequenceWith(in, u.Key, u.High, ids)
		if !usedLow || !usedHigh || !low.OK() || !high.OK() {
			continue
		}
		if low.Value > high.Value {
			low, high = high, low
		}
		if s := high.Value - low.Value; s > spread {
			worst, spread, found = Firmness{u.Key, u.Why, low, high}, s, true
		}
	}
	return worst, found
}

// sequenceWith is [Sequence] with one input moved, wherever it comes from. It
// returns the last result and whether the input was there to be moved.
func sequenceWith(in Inputs, key string, move func(float64) float64, ids []string) (Result, bool) {
	known := maps.Clone(in)
	value, moved := in[key]
	if moved {
		known[key] = move(value)
	}
	last := Result{Value: math.NaN(), WhyNot: "no method was given"}
	for _, id := range ids {
		m, found := MethodByID(id)
		if !found {
			return Result{Method: Method{ID: id}, Value: math.NaN(), WhyNot: "no method has the id " + id}, false
		}
		last = m.Compute(known)
		if !last.OK() {
			continue
		}
		known[m.Key] = last.Value
		if m.Key == key {
			known[key], moved = move(last.Value), true
		}
	}
	return last, moved
}
