package kinetics

import "math"

// Default two-pool parameters.
const (
	// ExchangePerLitre is the exchange of urea between the two pools in mL/min
	// per litre of urea volume (from memory). It is the least certain
	// parameter of the two-pool model and changes weekly standard Kt/V by
	// several percent: see Decision 14.
	ExchangePerLitre = 16.0
	// PlasmaSideShare is the share of the urea volume in the pool that the
	// dialyser reaches; fluid and generation are shared alike.
	PlasmaSideShare = 1.0 / 3
)

// Pools describes the distribution of urea in the body. The zero value is a
// single pool.
//
// With two pools the dialyser reaches pool 1, of PlasmaShare·V. Urea exchanges
// at Kc = ExchangePerLitre·V. Fluid is lost from and gained by pool 1, and
// flows between the pools with the urea of its source, so that both keep their
// share of the volume.
type Pools struct {
	ExchangePerLitre float64 // Kc per litre of V, mL/min/L; 0 is a single pool
	PlasmaShare      float64 // V1/V, above 0 and below 1
	GenerationShare  float64 // of generation into pool 1, 0 to 1
}

// TwoPools returns the usual two-pool parameters.
func TwoPools() Pools {
	return Pools{ExchangePerLitre: ExchangePerLitre, PlasmaShare: PlasmaSideShare, GenerationShare: PlasmaSideShare}
}

// Single reports whether this is the single-pool model.
func (p Pools) Single() bool { return p.ExchangePerLitre == 0 }

// model is the urea model in mL, mg and minutes.
type model struct {
	generation float64 // mg/min
	residual   float64 // mL/min
	single     bool
	exchange   float64 // Kc, mL/min
	share      float64 // V1/V
	genShare   float64
}

// mass is the urea nitrogen of both pools in mg; a single pool uses the
// first.
type mass [2]float64

// leg is a period of constant rates.
type leg struct {
	minutes   float64
	volume    float64 // at its start, mL
	loss      float64 // volume lost, mL/min; negative while fluid is gained
	clearance float64 // of the dialyser, mL/min
}

func (l leg) endVolume() float64 { return l.volume - l.loss*l.minutes }

// stretched is the leg's length in the time s with ds = dt/V(t). In s the
// equations have constant coefficients although V changes, and V(s) =
// V0·e^(-Q·s): the whole leg has a closed form.
func (l leg) stretched() float64 {
	if l.loss == 0 {
		return l.minutes / l.volume
	}
	return -math.Log1p(-l.loss*l.minutes/l.volume) / l.loss
}

// advance moves the urea through a leg and returns the area under the
// concentration of pool 1, in mg/mL·min.
func (k model) advance(m mass, l leg) (end mass, area float64) {
	s := l.stretched()
	cleared := l.clearance + k.residual
	if k.single {
		end[0], area = mode(-cleared, s, l).apply(m[0], k.generation)
		return end, area
	}
	return k.advanceTwo(m, l, s, cleared)
}

// advanceTwo decomposes the two-pool system dm/ds = A·m + b·V(s) into its two
// modes. Both eigenvalues are real, as in every compartment model; the smaller
// one comes from the determinant, so that it is exactly zero without
// clearance.
func (k model) advanceTwo(m mass, l leg, s, cleared float64) (end mass, area float64) {
	refill := (1 - k.share) * l.loss
	outward := k.exchange + math.Max(-refill, 0) // pool 1 to pool 2
	inward := k.exchange + math.Max(refill, 0)   // pool 2 to pool 1
	a11, a12 := -(cleared+outward)/k.share, inward/(1-k.share)
	a21, a22 := outward/k.share, -inward/(1-k.share)
	difference := a11 - a22
	spread := math.Sqrt(difference*difference + 4*a12*a21)
	fast := (a11 + a22 - spread) / 2
	slow := cleared * inward / (k.share * (1 - k.share)) / fast

	// Projections onto the slow mode; the remainder belongs to the fast one.
	project := func(v mass) (onSlow, onFast mass) {
		onSlow = mass{((a11-fast)*v[0] + a12*v[1]) / spread, (a21*v[0] + (a22-fast)*v[1]) / spread}
		return onSlow, mass{v[0] - onSlow[0], v[1] - onSlow[1]}
	}
	source := mass{k.genShare * k.generation, (1 - k.genShare) * k.generation}
	massSlow, massFast := project(m)
	sourceSlow, sourceFast := project(source)
	modeSlow, modeFast := mode(slow, s, l), mode(fast, s, l)
	for i := range end {
		endSlow, areaSlow := modeSlow.apply(massSlow[i], sourceSlow[i])
		endFast, areaFast := modeFast.apply(massFast[i], sourceFast[i])
		end[i] = endSlow + endFast
		if i == 0 {
			area = (areaSlow + areaFast) / k.share
		}
	}
	return end, area
}

// modal holds the factors of one mode over one leg: the remaining fraction of
// a mass, the mass left by a source of 1 mg/min, and the areas of both.
type modal struct{ keep, gain, keepArea, gainArea float64 }

// mode computes the factors of the eigenvalue x over s. Every quotient has a
// form that stays exact for a zero denominator: no UF, no clearance, no gain
// between sessions, or clearance equal to the UF rate need no separate branch.
func mode(x, s float64, l leg) modal {
	return modal{
		keep:     math.Exp(x * s),
		gain:     l.volume * math.Exp(-l.loss*s) * growth(x+l.loss, s),
		keepArea: growth(x, s),
		gainArea: l.volume * growthDifference(x, -l.loss, s),
	}
}

func (f modal) apply(m, source float64) (end, area float64) {
	return f.keep*m + f.gain*source, f.keepArea*m + f.gainArea*source
}

// growth returns (e^(x·s)-1)/x, which is s at x = 0.
func growth(x, s float64) float64 {
	if x == 0 {
		return s
	}
	return math.Expm1(x*s) / x
}

// growthDifference returns (growth(x,s)-growth(y,s))/(x-y), also for equal x
// and y. Near that it sums the power series Σ s^(n+1)/(n+1)!·h(n-1), h being
// the complete symmetric polynomials of x·s and y·s.
func growthDifference(x, y, s float64) float64 {
	if math.Abs((x-y)*s) > 1e-2 {
		return (growth(x, s) - growth(y, s)) / (x - y)
	}
	u, v := x*s, y*s
	symmetric, power, factor := 1.0, 1.0, 0.5
	sum := 0.0
	for n := 1.0; n < 200; n++ {
		term := factor * symmetric
		sum += term
		if math.Abs(term) <= 1e-18*math.Abs(sum) {
			break
		}
		power *= v
		symmetric = symmetric*u + power
		factor /= n + 2
	}
	return s * s * sum
}
