package ucum

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strconv"
)

// ErrNotCommensurable is returned when two units have different dimensions.
var ErrNotCommensurable = errors.New("units are not commensurable")

// ErrOutOfRange is returned when a value or a factor is too large to handle.
var ErrOutOfRange = errors.New("value out of range")

// maxFactorBits limits the arithmetic that a hostile code can cause.
const maxFactorBits = 1 << 16

// Convert converts a value between two commensurable units. Between units that
// differ by a factor, and between temperatures, the arithmetic is exact and
// only the result is rounded, so 300 mL/min is 18 L/h, not 18.000000000000004.
//
// The error is a [*SyntaxError], [ErrNotCommensurable] or [ErrOutOfRange].
func Convert(value float64, from, to string) (float64, error) {
	x, ok := new(big.Rat).SetString(strconv.FormatFloat(value, 'g', -1, 64))
	if !ok {
		return 0, fmt.Errorf("convert %v from %s to %s: %w", value, from, to, ErrOutOfRange)
	}
	y, err := ConvertExact(x, from, to)
	if err != nil {
		return 0, err
	}
	result, _ := y.Float64()
	if math.IsInf(result, 0) || result == 0 && y.Sign() != 0 {
		return 0, fmt.Errorf("convert %v from %s to %s: %w", value, from, to, ErrOutOfRange)
	}
	return result, nil
}

// ConvertExact is [Convert] for a rational number. Units on a logarithmic or
// trigonometric scale are computed in float64; all others exactly.
func ConvertExact(value *big.Rat, from, to string) (*big.Rat, error) {
	source, err := measure(from)
	if err != nil {
		return nil, err
	}
	target, err := measure(to)
	if err != nil {
		return nil, err
	}
	if source.unit.dim != target.unit.dim {
		return nil, fmt.Errorf("convert from %s to %s: %w", from, to, ErrNotCommensurable)
	}
	base, ok := source.toBase(value)
	if !ok {
		return nil, fmt.Errorf("convert from %s to %s: %w", from, to, ErrOutOfRange)
	}
	result, ok := target.fromBase(base)
	if !ok {
		return nil, fmt.Errorf("convert from %s to %s: %w", from, to, ErrOutOfRange)
	}
	return result, nil
}

// scale is a unit with its conversion to base units: base value = size ×
// special⁻¹(multiple × value).
type scale struct {
	unit     Unit
	multiple *big.Rat
	size     *big.Rat
}

// measure parses a code and computes its size in base units.
func measure(code string) (scale, error) {
	p := parser{code: code, factor: newFactor()}
	if err := p.parse(); err != nil {
		return scale{}, err
	}
	if p.factor.tooLarge {
		return scale{}, fmt.Errorf("unit %s: %w", code, ErrOutOfRange)
	}
	s := scale{
		unit:     Unit{code: code, dim: p.dim, special: p.special},
		multiple: p.factor.product, size: big.NewRat(1, 1),
	}
	if p.special != ratio {
		s.size = p.onScale.size().product
	}
	return s, nil
}

func (s scale) toBase(value *big.Rat) (*big.Rat, bool) {
	proper, ok := s.unit.special.inverse(new(big.Rat).Mul(value, s.multiple))
	if !ok {
		return nil, false
	}
	return proper.Mul(proper, s.size), true
}

func (s scale) fromBase(base *big.Rat) (*big.Rat, bool) {
	onScale, ok := s.unit.special.apply(new(big.Rat).Quo(base, s.size))
	if !ok {
		return nil, false
	}
	return onScale.Quo(onScale, s.multiple), true
}

// factor is a product that stops growing beyond a usable size.
type factor struct {
	product  *big.Rat
	tooLarge bool
}

func newFactor() *factor { return &factor{product: big.NewRat(1, 1)} }

// multiply multiplies the product by r to the given power.
func (f *factor) multiply(r *big.Rat, exponent int) {
	if exponent < 0 {
		r, exponent = new(big.Rat).Inv(r), -exponent
	}
	if f.tooLarge || (bits(r)+1)*exponent+bits(f.product) > maxFactorBits {
		f.tooLarge = true
		return
	}
	power := big.NewInt(int64(exponent))
	num := new(big.Int).Exp(r.Num(), power, nil)
	den := new(big.Int).Exp(r.Denom(), power, nil)
	f.product.Mul(f.product, new(big.Rat).SetFrac(num, den))
}

func (f *factor) multiplyUnit(pre *prefix, unit *atom, exponent int) {
	if pre != nil {
		f.multiply(pre.rat(), exponent)
	}
	size := unit.size()
	f.tooLarge = f.tooLarge || size.tooLarge
	f.multiply(size.product, exponent)
}

// size is the atom's size in base units; for a special unit, the size of the
// unit that its function applies to. The table has no cycles, so the recursion
// ends.
func (a *atom) size() *factor {
	if a.unit == "" {
		return newFactor()
	}
	p := parser{code: a.unit, factor: newFactor()}
	if err := p.parse(); err != nil {
		panic("ucum: table holds a bad unit: " + err.Error())
	}
	p.factor.multiply(mustRat(a.value), 1)
	return p.factor
}

func bits(r *big.Rat) int { return max(r.Num().BitLen(), r.Denom().BitLen()) }
