package kinetics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
	"runsheet.example/calc"
)

// rk4 integrates the model by classical Runge-Kutta in plain time, as a
// second scheme that shares nothing with the closed form but the equations.
// Unlike the closed form it takes a share of fluid that differs from the
// share of volume.
type rk4 struct {
	k          model
	fluidShare float64
}

// follow returns the masses and the area under C1 after a leg.
func (r rk4) follow(m mass, l leg, stepMin float64) (mass, float64) {
	v1, v2 := r.k.share*l.volume, (1-r.k.share)*l.volume
	steps := math.Ceil(l.minutes / stepMin)
	h := l.minutes / steps
	y := [3]float64{m[0], m[1], 0}
	derivative := func(t float64, y [3]float64) [3]float64 {
		c1 := y[0] / (v1 - r.fluidShare*l.loss*t)
		c2 := y[1] / (v2 - (1-r.fluidShare)*l.loss*t)
		carried := (1 - r.fluidShare) * l.loss * c2
		if l.loss < 0 {
			carried = (1 - r.fluidShare) * l.loss * c1
		}
		flow := r.k.exchange*(c2-c1) + carried
		return [3]float64{
			r.k.genShare*r.k.generation - (l.clearance+r.k.residual)*c1 + flow,
			(1-r.k.genShare)*r.k.generation - flow,
			c1,
		}
	}
	at := func(y, d [3]float64, f float64) (z [3]float64) {
		for i := range y {
			z[i] = y[i] + f*d[i]
		}
		return z
	}
	for n := range int(steps) {
		t := float64(n) * h
		a := derivative(t, y)
		b := derivative(t+h/2, at(y, a, h/2))
		c := derivative(t+h/2, at(y, b, h/2))
		d := derivative(t+h, at(y, c, h))
		for i := range y {
			y[i] += h / 6 * (a[i] + 2*b[i] + 2*c[i] + d[i])
		}
	}
	return mass{y[0], y[1]}, y[2]
}

func drawBody(t *rapid.T, pools Pools) Body {
	return Body{
		VolumeL:            rapid.Float64Range(18, 65).Draw(t, "V"),
		GenerationMgPerMin: rapid.Float64Range(1, 12).Draw(t, "G"),
		ResidualMLPerMin:   rapid.SampledFrom([]float64{0, 0, 0.5, 2, 6}).Draw(t, "Kr"),
		Pools:              pools,
	}
}

// drawCycle draws a week of 1 to 7 sessions that start at any whole minute.
func drawCycle(t *rapid.T) Cycle {
	n := rapid.IntRange(1, 7).Draw(t, "N")
	slot := calc.MinutesPerWeek / float64(n)
	var c Cycle
	c.LengthMin = calc.MinutesPerWeek
	for i := range n {
		duration := rapid.Float64Range(60, 500).Draw(t, "t")
		c.Treatments = append(c.Treatments, Treatment{
			StartMin:          math.Floor(slot*float64(i)) + float64(rapid.IntRange(0, int(slot-duration)-1).Draw(t, "start")),
			DurationMin:       duration,
			ClearanceMLPerMin: rapid.Float64Range(60, 350).Draw(t, "K"),
			UFLitres:          rapid.SampledFrom([]float64{0, 0.5, 1.7, 3.2}).Draw(t, "UF"),
		})
	}
	return c
}

// The closed form of a leg against RK4 with a step of 0.25 min, on and off
// dialysis, at any fluid rate.
func TestLegAgainstRungeKutta(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, err := drawBody(t, TwoPools()).model()
		if err != nil {
			t.Fatal(err)
		}
		l := leg{
			minutes:   rapid.Float64Range(30, 600).Draw(t, "minutes"),
			volume:    rapid.Float64Range(18000, 60000).Draw(t, "volume"),
			loss:      rapid.SampledFrom([]float64{0, 1e-9, -0.8, 5, 15, -20}).Draw(t, "loss"),
			clearance: rapid.SampledFrom([]float64{0, 5, 150, 300}).Draw(t, "K"),
		}
		m := mass{rapid.Float64Range(0, 15000).Draw(t, "m1"), rapid.Float64Range(0, 30000).Draw(t, "m2")}
		end, area := k.advance(m, l)
		want, wantArea := rk4{k, k.share}.follow(m, l, 0.25)
		for i := range end {
			if math.Abs(end[i]-want[i]) > 1e-7*(m[0]+m[1]+1) {
				t.Fatalf("pool %d: closed form %v, RK4 %v", i+1, end[i], want[i])
			}
		}
		if math.Abs(area-wantArea) > 1e-7*(wantArea+1) {
			t.Fatalf("area: closed form %v, RK4 %v", area, wantArea)
		}
	})
}

// A whole random week, two pools, from its periodic state: RK4 must come back
// to where it began and see the same time-averaged concentration.
func TestSteadyStateAgainstRungeKutta(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		body, cycle := drawBody(t, TwoPools()), drawCycle(t)
		s, err := SteadyState(body, cycle)
		if err != nil {
			t.Skip(err)
		}
		k, _ := body.model()
		legs, _ := s.Cycle.legs(s.Cycle.Treatments, body.VolumeL)
		m := k.massOf(s.Start)
		begin, total := m, 0.0
		for i, l := range legs {
			step := 0.5
			if i%2 == 1 {
				step = 2
			}
			area := 0.0
			m, area = rk4{k, k.share}.follow(m, l, step)
			total += area
		}
		if math.Abs(m[0]-begin[0])+math.Abs(m[1]-begin[1]) > 1e-6*(begin[0]+begin[1]) {
			t.Fatalf("not periodic by RK4: %v became %v", begin, m)
		}
		if tac := 100 * total / cycle.LengthMin; math.Abs(tac-s.TimeAveragedMgPerDL) > 1e-6*tac {
			t.Fatalf("time-averaged: closed form %v, RK4 %v", s.TimeAveragedMgPerDL, tac)
		}
	})
}

// At constant volume the system is m' = A·m + b. The exponential of the
// augmented matrix, by gonum's Padé approximation, is an analytic solution
// that knows nothing of modes or stretched time.
func TestConstantVolumeAgainstMatrixExponential(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, err := drawBody(t, TwoPools()).model()
		if err != nil {
			t.Fatal(err)
		}
		l := leg{
			minutes:   rapid.Float64Range(10, 4000).Draw(t, "minutes"),
			volume:    rapid.Float64Range(18000, 60000).Draw(t, "volume"),
			clearance: rapid.SampledFrom([]float64{0, 0, 150, 300}).Draw(t, "K"),
		}
		m := mass{rapid.Float64Range(0, 15000).Draw(t, "m1"), rapid.Float64Range(0, 30000).Draw(t, "m2")}
		v1, v2 := k.share*l.volume, (1-k.share)*l.volume
		cleared := l.clearance + k.residual
		// Rows: m1, m2, area under C1, and the constant 1.
		system := mat.NewDense(4, 4, []float64{
			-(cleared + k.exchange) / v1, k.exchange / v2, 0, k.genShare * k.generation,
			k.exchange / v1, -k.exchange / v2, 0, (1 - k.genShare) * k.generation,
			1 / v1, 0, 0, 0,
			0, 0, 0, 0,
		})
		system.Scale(l.minutes, system)
		var exponential mat.Dense
		exponential.Exp(system)
		var want mat.VecDense
		want.MulVec(&exponential, mat.NewVecDense(4, []float64{m[0], m[1], 0, 1}))
		end, area := k.advance(m, l)
		scale := m[0] + m[1] + k.generation*l.minutes
		for i, got := range []float64{end[0], end[1]} {
			if math.Abs(got-want.AtVec(i)) > 1e-10*scale {
				t.Fatalf("pool %d: %v, matrix exponential %v", i+1, got, want.AtVec(i))
			}
		}
		if math.Abs(area-want.AtVec(2)) > 1e-10*(want.AtVec(2)+1) {
			t.Fatalf("area: %v, matrix exponential %v", area, want.AtVec(2))
		}
	})
}

// How much the share of fluid matters: the closed form needs it to equal the
// share of volume; over a session of 3 L another share changes the
// concentration after dialysis by about 1 %.
func TestFluidShareHardlyMatters(t *testing.T) {
	k, _ := Body{VolumeL: 35, GenerationMgPerMin: 6.25, Pools: TwoPools()}.model()
	l := leg{minutes: 240, volume: 38000, loss: 12.5, clearance: 210}
	m := mass{10000, 20000}
	for _, fluidShare := range []float64{0.2, 0.6} {
		end, _ := rk4{k, fluidShare}.follow(m, l, 0.25)
		other := end[0] / (k.share*l.volume - fluidShare*3000)
		want, _ := k.advance(m, l)
		if ratio := other / (want[0] / (k.share * l.endVolume())); math.Abs(ratio-1) > 0.03 {
			t.Errorf("fluid share %v changes the end by %.1f %%", fluidShare, 100*(ratio-1))
		}
	}
}

// The forms with a vanishing denominator against their neighbours.
func TestGrowthDifferenceIsContinuous(t *testing.T) {
	for _, x := range []float64{0, -1e-9, -0.08, -0.9, -3, 0.4} {
		for _, gap := range []float64{0, 1e-12, 1e-6, 0.0099, 0.0101, 0.3} {
			const s = 1.3
			// Simpson on ∫ u·e^(x·u)·φ(gap·u) du, φ(z) = (e^z-1)/z.
			const panels = 2000
			h := s / panels
			sum := 0.0
			for i := 0; i <= panels; i++ {
				u := float64(i) * h
				weight := []float64{2, 4}[i%2]
				if i == 0 || i == panels {
					weight = 1
				}
				sum += weight * math.Exp(x*u) * growth(gap, u)
			}
			want := sum * h / 3
			if got := growthDifference(x+gap, x, s); math.Abs(got-want) > 1e-10*want {
				t.Errorf("x=%v gap=%v: got %.15g, want %.15g", x, gap, got, want)
			}
		}
	}
}
