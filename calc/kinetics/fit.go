package kinetics

import (
	"math"
	"slices"

	"runsheet.example/calc"
)

// PairedSample is a pair of urea nitrogen samples around one session of a
// steady cycle, in mg/dL of body water (see [BodyWaterFromPlasma] for
// laboratory values).
type PairedSample struct {
	Session       int // 0 for the earliest of the cycle
	BeforeMgPerDL float64
	AfterMgPerDL  float64
	// Equilibrated reports that the second sample was drawn 30 min or more
	// after the end, when both pools had mixed.
	Equilibrated bool
}

func (p PairedSample) ratio(c Cycle) (float64, error) {
	if err := calc.Guard(calc.When(p.Session < 0 || p.Session >= len(c.Treatments), "there is no such session in the cycle")); err != nil {
		return math.NaN(), err
	}
	return calc.UreaRatio(p.BeforeMgPerDL, p.AfterMgPerDL)
}

func (p PairedSample) modelled(s Steady) float64 {
	session := s.Sessions[p.Session]
	if p.Equilibrated {
		return session.EquilibratedMgPerDL / session.BeforeMgPerDL
	}
	return session.AfterMgPerDL / session.BeforeMgPerDL
}

// Bounds of the fits, wider than any person or dialyser, and the resolution of
// the search for a second solution.
const (
	fitVolumeMinL = 0.5
	fitVolumeMaxL = 250.0
	fitScaleMin   = 0.02
	fitScaleMax   = 50.0
	fitGrid       = 80
)

// FitVolume finds the urea volume and the generation rate from a pair of
// samples and known clearances. The ratio after/before depends on V alone, and
// the concentrations are proportional to G. For similar sessions the ratio
// rises with V; if sessions differ so much that two volumes explain the
// samples, there is no value. Body gives residual clearance and pools; its
// volume and generation are not used.
func FitVolume(body Body, cycle Cycle, sample PairedSample) (Steady, error) {
	fluid := 0.0
	for _, t := range cycle.Treatments {
		fluid += math.Abs(t.UFLitres)
	}
	return fit(cycle, sample, math.Max(fitVolumeMinL, fluid*1.01), fitVolumeMaxL, "volume", func(volume float64) (Steady, error) {
		trial := body
		trial.VolumeL, trial.GenerationMgPerMin = volume, 1
		return SteadyState(trial, cycle)
	})
}

// FitClearance finds the clearance and the generation rate from a pair of
// samples and a known urea volume. It scales all clearances of the cycle by
// one factor; the result's cycle has the fitted ones. As with [FitVolume]
// there is no value if two factors explain the samples.
func FitClearance(body Body, cycle Cycle, sample PairedSample) (Steady, error) {
	return fit(cycle, sample, fitScaleMin, fitScaleMax, "clearance", func(scale float64) (Steady, error) {
		scaled := Cycle{LengthMin: cycle.LengthMin, Treatments: slices.Clone(cycle.Treatments)}
		for i := range scaled.Treatments {
			scaled.Treatments[i].ClearanceMLPerMin *= scale
		}
		trial := body
		trial.GenerationMgPerMin = 1
		return SteadyState(trial, scaled)
	})
}

// fit finds the only point between low and high where the modelled ratio
// equals the measured one, by a search on a logarithmic grid and bisection.
func fit(cycle Cycle, sample PairedSample, low, high float64, what string, solve func(float64) (Steady, error)) (Steady, error) {
	want, err := sample.ratio(cycle)
	if err != nil {
		return Steady{}, err
	}
	above := func(at float64) (bool, error) {
		s, err := solve(at)
		if err != nil {
			return false, err
		}
		return sample.modelled(s) > want, nil
	}
	brackets, err := crossings(above, low, high)
	if err != nil {
		return Steady{}, err
	}
	switch len(brackets) {
	case 0:
		return Steady{}, calc.NotComputable("no " + what + " explains these samples")
	case 1:
	default:
		return Steady{}, calc.NotComputable("more than one " + what + " explains these samples")
	}
	at, err := bisect(above, brackets[0])
	if err != nil {
		return Steady{}, err
	}
	s, err := solve(at)
	if err != nil {
		return Steady{}, err
	}
	body := s.Body
	body.GenerationMgPerMin = sample.BeforeMgPerDL / s.Sessions[sample.Session].BeforeMgPerDL
	return SteadyState(body, s.Cycle)
}

type bracket struct {
	low, high float64
	rising    bool
}

func crossings(above func(float64) (bool, error), low, high float64) ([]bracket, error) {
	var found []bracket
	at := low
	was, err := above(at)
	if err != nil {
		return nil, err
	}
	for n := 1; n <= fitGrid; n++ {
		next := low * math.Pow(high/low, float64(n)/fitGrid)
		is, err := above(next)
		if err != nil {
			return nil, err
		}
		if is != was {
			found = append(found, bracket{at, next, is})
		}
		at, was = next, is
	}
	return found, nil
}

func bisect(above func(float64) (bool, error), b bracket) (float64, error) {
	for {
		middle := math.Sqrt(b.low * b.high)
		if middle <= b.low || middle >= b.high {
			return b.high, nil
		}
		is, err := above(middle)
		if err != nil {
			return math.NaN(), err
		}
		if is == b.rising {
			b.high = middle
		} else {
			b.low = middle
		}
	}
}
