package measure

import (
	"math"
	"strconv"

	"runsheet.example/calc"
	"runsheet.example/calc/kinetics"
)

// fitBy is the quantity fitted to the samples.
type fitBy uint8

const (
	byNothing   fitBy = iota // no samples: clearance from flows
	byClearance              // one factor on all clearances
	byVolume                 // the volume, clearances from flows
)

// variant is one configuration of the model.
type variant struct {
	name    string
	pools   kinetics.Pools
	volume  bodyWater // not used when fitted
	by      fitBy
	printed bool // clearance from printed KoA and total blood flow
}

// models are the printed configurations of the model, the main one first.
func (r *kineticRun) models() []variant {
	var water bodyWater
	if volumes := r.volumes(); len(volumes) > 0 {
		water = volumes[0]
	}
	author := formulaName(water.method)
	if r.sample == nil {
		return []variant{
			{name: "two pools, body water by " + author + ", clearance from flows", pools: kinetics.TwoPools(), volume: water},
			{name: "one pool, body water by " + author + ", clearance from flows", volume: water},
		}
	}
	return []variant{
		{name: "two pools, body water by " + author + ", clearance fitted", pools: kinetics.TwoPools(), volume: water, by: byClearance},
		{name: "one pool, body water by " + author + ", clearance fitted", volume: water, by: byClearance},
		{name: "two pools, body water fitted, clearance from flows", pools: kinetics.TwoPools(), by: byVolume},
	}
}

// volumes are the body-water formulas at the latest weight of the span.
func (r *kineticRun) volumes() []bodyWater {
	for i := r.last; i >= r.open; i-- {
		if v := r.part.steps[i].volumes; len(v) > 0 {
			return v
		}
	}
	return nil
}

// cycle is the span as a repeating schedule. The first session only marks its
// beginning, as in the count of the week.
func (r *kineticRun) cycle(printed bool) kinetics.Cycle {
	steps := r.part.steps
	c := kinetics.Cycle{LengthMin: r.minute(r.last)}
	for i := r.open + 1; i <= r.last; i++ {
		clearance := steps[i].clearance
		if printed {
			clearance = steps[i].printed
		}
		c.Treatments = append(c.Treatments, kinetics.Treatment{
			StartMin: r.minute(i), DurationMin: steps[i].minutes, ClearanceMLPerMin: clearance, UFLitres: steps[i].ufL,
		})
	}
	return c
}

// minute is the start of a step on the clock of the run.
func (r *kineticRun) minute(i int) float64 {
	return r.part.steps[i].start.Sub(r.part.steps[r.open].start).Minutes()
}

// steady fits one variant to the span.
func (r *kineticRun) steady(v variant) (kinetics.Steady, error) {
	body := kinetics.Body{VolumeL: v.volume.litres, GenerationMgPerMin: 1, GenerationAssumed: v.by == byNothing,
		ResidualMLPerMin: r.part.steps[r.last].kru, Pools: v.pools}
	cycle := r.cycle(v.printed)
	if v.by != byVolume && v.volume.litres == 0 {
		return kinetics.Steady{}, calc.NotComputable("body water cannot be computed: sex, height or weight after is not recorded")
	}
	if v.by == byNothing {
		return kinetics.SteadyState(body, cycle)
	}
	sample := kinetics.PairedSample{
		Session: len(cycle.Treatments) - 1, BeforeMgPerDL: waterUrea(r.sample.before), AfterMgPerDL: waterUrea(r.sample.after),
		Equilibrated: r.sample.equilibrated,
	}
	if v.by == byVolume {
		return kinetics.FitVolume(body, cycle, sample)
	}
	return kinetics.FitClearance(body, cycle, sample)
}

// fitted describes a successful fit.
func (r *kineticRun) fitted(v variant, steady kinetics.Steady) FittedModel {
	m := FittedModel{Name: v.name, Body: steady.Body, VolumeFrom: v.volume.method, Factor: 1}
	if v.by == byVolume {
		m.VolumeFrom = "fitted"
	}
	last := len(steady.Cycle.Treatments) - 1
	if v.by == byClearance {
		m.Factor = steady.Cycle.Treatments[last].ClearanceMLPerMin / r.part.steps[r.last].clearance
	}
	method, _ := calc.MethodByID("npcr-generation")
	inputs := calc.Inputs{"total_body_water": steady.Body.VolumeL}
	if r.sample != nil {
		inputs["urea_generation"] = steady.Body.GenerationMgPerMin
	}
	m.NPCR = method.Compute(inputs)
	return m
}

// shortNumber formats a number for a note.
func shortNumber(v float64, decimals int) string {
	if math.IsNaN(v) {
		return "-"
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
