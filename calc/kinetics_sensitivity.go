package calc

// Sensitivity shows how firm a kinetic result is: the weekly standard Kt/V
// and EKR when one uncertain input takes other values.
type Sensitivity struct {
	Input  string // what was changed, in words
	Unit   string // UCUM
	Cases  []SensitivityCase
	Spread float64 // largest less smallest standard Kt/V, 0 when fewer than two cases came out
}

// SensitivityCase is the result for one value of the uncertain input.
type SensitivityCase struct {
	Label  string
	Value  float64
	StdKtV float64
	EKR    float64
	WhyNot string // "" when computed
}

// SensitivityToExchange varies the exchange constant of the two-pool model:
// half the usual value, the usual value, double, and the single pool, which
// stands for exchange without limit. The range is our own choice; published
// values are from memory.
func SensitivityToExchange(body Body, cycle Cycle) Sensitivity {
	out := Sensitivity{Input: "urea exchange between the pools, per litre of body water", Unit: "mL/min/L"}
	pools := body.Pools
	if pools.Single() {
		pools = TwoPools()
	}
	usual := pools.ExchangePerLitre
	for _, c := range []struct {
		label  string
		factor float64
	}{{"half", 0.5}, {"as used", 1}, {"double", 2}} {
		pools.ExchangePerLitre = usual * c.factor
		body.Pools = pools
		out.add(c.label, pools.ExchangePerLitre, body, cycle)
	}
	body.Pools = Pools{}
	out.add("single pool", 0, body, cycle)
	out.spread()
	return out
}

// SensitivityToVolume varies the urea volume over named values in litres, for
// instance one per body-water formula and one standard deviation either way.
func SensitivityToVolume(body Body, cycle Cycle, volumes []NamedVolume) Sensitivity {
	out := Sensitivity{Input: "urea volume", Unit: "L"}
	for _, v := range volumes {
		body.VolumeL = v.Litres
		out.add(v.Name, v.Litres, body, cycle)
	}
	out.spread()
	return out
}

// NamedVolume is a urea volume and where it is from.
type NamedVolume struct {
	Name   string
	Litres float64
}

func (s *Sensitivity) add(label string, value float64, body Body, cycle Cycle) {
	c := SensitivityCase{Label: label, Value: value}
	if steady, err := SteadyState(body, cycle); err != nil {
		c.WhyNot = err.Error()
	} else {
		c.StdKtV, c.EKR = steady.StdKtV(), steady.EKR()
	}
	s.Cases = append(s.Cases, c)
}

func (s *Sensitivity) spread() {
	first := true
	var low, high float64
	for _, c := range s.Cases {
		if c.WhyNot != "" {
			continue
		}
		if first {
			low, high, first = c.StdKtV, c.StdKtV, false
		}
		low, high = min(low, c.StdKtV), max(high, c.StdKtV)
	}
	s.Spread = high - low
}
