package measure

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/calc"
	"runsheet.example/calc/kinetics"
)

// person is a two-pool body followed by small steps: a second scheme, which
// shares nothing with package calc but the equations of the model.
type person struct {
	volume     float64 // mL, now
	plasma     float64 // mg in pool 1
	inner      float64 // mg in pool 2
	exchange   float64 // mL/min
	kidney     float64 // mL/min
	generation float64 // mg/min
	area       float64 // mg/mL·min under pool 1
}

// live follows the body for some minutes with a constant clearance and loss of
// fluid, by Runge and Kutta's fourth-order scheme.
func (p *person) live(minutes, clearance, loss float64) {
	steps := math.Ceil(minutes / 2)
	h := minutes / steps
	slope := func(t float64, y [3]float64) [3]float64 {
		volume := p.volume - loss*t
		c1, c2 := y[0]/(volume/3), y[1]/(2*volume/3)
		refill := 2.0 / 3 * loss * c2
		if loss < 0 {
			refill = 2.0 / 3 * loss * c1
		}
		flow := p.exchange*(c2-c1) + refill
		return [3]float64{p.generation/3 - (clearance+p.kidney)*c1 + flow, 2*p.generation/3 - flow, c1}
	}
	y := [3]float64{p.plasma, p.inner, p.area}
	add := func(y, d [3]float64, f float64) [3]float64 {
		return [3]float64{y[0] + f*d[0], y[1] + f*d[1], y[2] + f*d[2]}
	}
	for n := range int(steps) {
		t := float64(n) * h
		a := slope(t, y)
		b := slope(t+h/2, add(y, a, h/2))
		c := slope(t+h/2, add(y, b, h/2))
		d := slope(t+h, add(y, c, h))
		for i := range y {
			y[i] += h / 6 * (a[i] + 2*b[i] + 2*c[i] + d[i])
		}
	}
	p.plasma, p.inner, p.area = y[0], y[1], y[2]
	p.volume -= loss * minutes
}

func (p *person) urea() float64 { return plasmaUrea(100 * p.plasma / (p.volume / 3)) }

// lived is what the second scheme says of each week.
type lived struct {
	before   [][]float64 // before the sessions of each week, mmol/L in plasma
	averaged []float64   // time-averaged, mmol/L in plasma
}

// live takes a body through sessions whose weights tell the fluid gained, and
// writes the urea before and after one of them into it.
func live(t fataler, p *person, sessions []made, weeks, sampled int) lived {
	var out lived
	out.before = make([][]float64, weeks)
	at, boundary, area, clock := 0.0, 0.0, p.area, 0
	pass := func(until, clearance, loss float64) {
		for at < until {
			step := min(until, boundary+calc.MinutesPerWeek) - at
			p.live(step, clearance, loss)
			if at += step; at >= boundary+calc.MinutesPerWeek {
				out.averaged = append(out.averaged, plasmaUrea(100*(p.area-area)/calc.MinutesPerWeek))
				area, boundary = p.area, at
			}
		}
	}
	weight := sessions[0].before - madeGain*18/24 // at midnight, 18 h before the first session
	for i := range sessions {
		s := &sessions[i]
		if s.skipped { // urea counts at the time of day of the one before
			next, moment := i, float64(s.day*1440+clock)
			for next++; sessions[next].skipped; next++ {
			}
			rate := (sessions[next].before - weight) / (float64(sessions[next].day*1440+sessions[next].minute) - at)
			weight += rate * (moment - at)
			pass(moment, 0, -1000*rate)
			out.before[s.day/7] = append(out.before[s.day/7], p.urea())
			continue
		}
		clock = s.minute
		start := float64(s.day*1440 + s.minute)
		pass(start, 0, -1000*(s.before-weight)/(start-at))
		if week := s.day / 7; week < weeks {
			out.before[week] = append(out.before[week], p.urea())
		}
		before := p.urea()
		pass(start+float64(s.treated), clearanceOf(t, *s), 1000*s.uf/float64(s.treated))
		if i == sampled {
			s.sample = fmt.Sprintf("%.6f %.6f", before, p.urea())
		}
		weight = s.after
	}
	return out
}

// clearanceOf is the clearance in use of the flows of a made log.
func clearanceOf(t fataler, s made) float64 {
	diffusive, err := calc.ClearanceInUse(300, 500, 800)
	if err != nil {
		t.Fatalf("%v", err)
	}
	clearance, err := calc.ClearanceWithUF(diffusive, 300*calc.BloodWaterShare, 1000*s.uf/float64(s.treated))
	if err != nil {
		t.Fatalf("%v", err)
	}
	return clearance
}

// repeat takes a body through the regular week until it repeats, and leaves it
// at Monday midnight.
func repeat(t fataler, p *person) {
	const gain = 1000 * madeGain / 1440 // mL/min
	for range 15 {
		at := 0.0
		for _, s := range thrice(1) {
			start := float64(s.day*1440 + s.minute)
			p.live(start-at, 0, -gain)
			p.live(float64(s.treated), clearanceOf(t, s), 1000*s.uf/float64(s.treated))
			at = start + float64(s.treated)
		}
		p.live(calc.MinutesPerWeek-at, 0, -gain)
	}
}

// Three regular weeks with a sample, then three as life has them: sessions
// missed, shortened and long, more fluid or less. The weeks of the log, read
// from text, fitted and followed in closed form, must be those of the person
// who was followed in small steps.
func TestIrregularWeeksAgainstAnotherScheme(t *testing.T) {
	const sampled = 7
	volume := watsonAt(t, 70)
	rapid.Check(t, func(rt *rapid.T) {
		sessions := thrice(7)
		for i := 9; i < 18; i++ {
			s := &sessions[i]
			s.skipped = i%3 > 0 && rapid.IntRange(0, 5).Draw(rt, "missed") == 0
			s.treated = rapid.SampledFrom([]int{90, 150, 240, 240, 300, 360}).Draw(rt, "treated")
			s.uf += rapid.Float64Range(-0.8, 0.8).Draw(rt, "uf")
			s.minute = rapid.IntRange(700, 1080).Draw(rt, "start")
		}
		weigh(sessions, 70, madeGain)
		// Midnight on Monday is 50 h after the end of the last session.
		p := &person{
			volume: 1000 * (volume + madeGain*50/24), plasma: 5000, inner: 10000,
			exchange: kinetics.ExchangePerLitre * volume, kidney: 1.5, generation: 6,
		}
		repeat(rt, p)
		truth := live(rt, p, sessions, 6, sampled)
		k := FollowKinetics(madeLog(t, madeAbout, sessions))
		for week := range 6 {
			before := 0.0
			for _, c := range truth.before[week] {
				before += c / float64(len(truth.before[week]))
			}
			for key, want := range map[string]float64{"mean_urea_before_plasma": before, "time_averaged_urea_plasma": truth.averaged[week]} {
				if got := mainValue(rt, k.Weeks[week], key); math.Abs(got-want) > 1e-5*want {
					rt.Fatalf("week %d: %s is %.8g, by the other scheme %.8g", week, key, got, want)
				}
			}
		}
	})
}
