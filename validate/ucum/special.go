package ucum

import (
	"math"
	"math/big"
)

// special is the function from a proper unit to a special scale (UCUM section
// 21 and the table of special units). The zero value is an ordinary unit.
type special uint8

const (
	ratio special = iota
	celsius
	fahrenheit
	reaumur
	negLog10
	natural
	log10
	log10Twice
	log2
	tangent100
	squareRoot
	potencyX // homeopathic potencies: minus the logarithm to base 10,
	potencyC // 100,
	potencyM // 1000 and
	potencyQ // 50000
)

// offset is the term that converts an affine scale to its proper unit, or nil.
// Celsius: 273.15 K; Fahrenheit: 459.67 of 5/9 K; Réaumur: 218.52 of 5/4 K.
func (s special) offset() *big.Rat {
	switch s {
	case celsius:
		return big.NewRat(27315, 100)
	case fahrenheit:
		return big.NewRat(45967, 100)
	case reaumur:
		return big.NewRat(21852, 100)
	default:
		return nil
	}
}

// apply converts from the proper unit to the scale; it returns false if there
// is no such value.
func (s special) apply(x *big.Rat) (*big.Rat, bool) {
	if s == ratio {
		return new(big.Rat).Set(x), true
	}
	if offset := s.offset(); offset != nil {
		return offset.Sub(x, offset), true
	}
	f, _ := x.Float64()
	return fromFloat(s.applyFloat(f))
}

// inverse converts from the scale to the proper unit.
func (s special) inverse(x *big.Rat) (*big.Rat, bool) {
	if s == ratio {
		return new(big.Rat).Set(x), true
	}
	if offset := s.offset(); offset != nil {
		return offset.Add(x, offset), true
	}
	f, _ := x.Float64()
	return fromFloat(s.inverseFloat(f))
}

func fromFloat(f float64) (*big.Rat, bool) {
	r := new(big.Rat).SetFloat64(f)
	return r, r != nil
}

func (s special) applyFloat(x float64) float64 {
	switch s {
	case natural:
		return math.Log(x)
	case log10:
		return math.Log10(x)
	case log10Twice:
		return 2 * math.Log10(x)
	case log2:
		return math.Log2(x)
	case tangent100:
		return 100 * math.Tan(x)
	case squareRoot:
		return math.Sqrt(x)
	default:
		return -math.Log10(x) / math.Log10(s.potencyBase())
	}
}

func (s special) inverseFloat(x float64) float64 {
	switch s {
	case natural:
		return math.Exp(x)
	case log10:
		return math.Pow(10, x)
	case log10Twice:
		return math.Pow(10, x/2)
	case log2:
		return math.Exp2(x)
	case tangent100:
		return math.Atan(x / 100)
	case squareRoot:
		return x * x
	default:
		return math.Pow(s.potencyBase(), -x)
	}
}

// potencyBase is the base of the negative logarithms.
func (s special) potencyBase() float64 {
	switch s {
	case potencyC:
		return 100
	case potencyM:
		return 1000
	case potencyQ:
		return 50000
	default: // potencyX and negLog10
		return 10
	}
}
