package kinetics

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"runsheet.example/calc"
)

// Body is the data of a person for the kinetic model.
type Body struct {
	VolumeL            float64 // urea volume after dialysis (mean over the cycle), L
	GenerationMgPerMin float64 // urea nitrogen generated, mg/min
	// GenerationAssumed reports that the generation rate has no blood sample.
	// Standard Kt/V and EKR do not depend on it; concentrations and nPCR do
	// and then have no meaning.
	GenerationAssumed bool
	ResidualMLPerMin  float64 // residual urea clearance, mL/min
	Pools             Pools   // zero value: single pool
}

// Treatment is one session in the kinetic model.
type Treatment struct {
	StartMin          float64 // minutes from the start of the cycle or course
	DurationMin       float64
	ClearanceMLPerMin float64 // of the dialyser in body water, convection included
	UFLitres          float64 // fluid removed
}

// Cycle is a repeating schedule: a week, or 14 days for alternate days.
// Between sessions the body gains fluid at the constant rate that closes the
// cycle.
type Cycle struct {
	LengthMin  float64
	Treatments []Treatment // in any order
}

// sorted returns the treatments in time order, or why they are not a cycle.
func (c Cycle) sorted() ([]Treatment, error) {
	if err := calc.Guard(calc.Positive("the length of the cycle", c.LengthMin)); err != nil {
		return nil, err
	}
	treatments, err := inOrder(c.Treatments)
	if err != nil {
		return nil, err
	}
	first, last := treatments[0], treatments[len(treatments)-1]
	if last.StartMin+last.DurationMin >= first.StartMin+c.LengthMin {
		return nil, calc.NotComputable("the sessions do not fit into the cycle")
	}
	return treatments, nil
}

func inOrder(given []Treatment) ([]Treatment, error) {
	if len(given) == 0 {
		return nil, calc.NotComputable("there is no session")
	}
	treatments := slices.Clone(given)
	slices.SortStableFunc(treatments, func(a, b Treatment) int { return cmp.Compare(a.StartMin, b.StartMin) })
	for i, t := range treatments {
		if err := calc.Guard(
			calc.Finite("the start of a session", t.StartMin), calc.Positive("the duration of a session", t.DurationMin),
			calc.NotNegative("clearance", t.ClearanceMLPerMin), calc.Finite("fluid removed", t.UFLitres),
		); err != nil {
			return nil, err
		}
		if i > 0 && treatments[i-1].StartMin+treatments[i-1].DurationMin > t.StartMin {
			return nil, calc.NotComputable(fmt.Sprintf("sessions %d and %d overlap", i, i+1))
		}
	}
	return treatments, nil
}

func (b Body) model() (model, error) {
	p := b.Pools
	if err := calc.Guard(
		calc.Positive("urea volume", b.VolumeL), calc.NotNegative("urea generation", b.GenerationMgPerMin),
		calc.NotNegative("residual urea clearance", b.ResidualMLPerMin), calc.NotNegative("exchange between the pools", p.ExchangePerLitre),
		calc.When(!p.Single() && !(p.PlasmaShare > 0 && p.PlasmaShare < 1), "the share of pool 1 must be between 0 and 1"),
		calc.When(!p.Single() && !(p.GenerationShare >= 0 && p.GenerationShare <= 1), "the share of generation must be from 0 to 1"),
	); err != nil {
		return model{}, err
	}
	return model{
		generation: b.GenerationMgPerMin, residual: b.ResidualMLPerMin, single: p.Single(),
		exchange: p.ExchangePerLitre * b.VolumeL, share: p.PlasmaShare, genShare: p.GenerationShare,
	}, nil
}

// legs returns the legs of the cycle from the start of its first treatment:
// on, off, on, off, ... with volumes whose mean after dialysis is the body's
// volume.
func (c Cycle) legs(treatments []Treatment, volumeL float64) ([]leg, error) {
	totalUF, timeOn := 0.0, 0.0
	for _, t := range treatments {
		totalUF += 1000 * t.UFLitres
		timeOn += t.DurationMin
	}
	gain := totalUF / (c.LengthMin - timeOn)
	var legs []leg
	offset, meanAfter := 0.0, 0.0
	for i, t := range treatments {
		next := treatments[0].StartMin + c.LengthMin
		if i+1 < len(treatments) {
			next = treatments[i+1].StartMin
		}
		on := leg{minutes: t.DurationMin, volume: offset, loss: 1000 * t.UFLitres / t.DurationMin, clearance: t.ClearanceMLPerMin}
		off := leg{minutes: next - t.StartMin - t.DurationMin, volume: on.endVolume(), loss: -gain}
		meanAfter += off.volume / float64(len(treatments))
		offset = off.endVolume()
		legs = append(legs, on, off)
	}
	for i := range legs {
		legs[i].volume += 1000*volumeL - meanAfter
		if math.Min(legs[i].volume, legs[i].endVolume()) <= 0 {
			return nil, calc.NotComputable("more fluid is removed than the body holds")
		}
	}
	return legs, nil
}
