package kinetics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The textbook forms of the single pool (Sargent and Gotch) with a branch for
// each limit, against the one form without branches.
func TestSinglePoolAgainstTextbook(t *testing.T) {
	textbook := func(c0, v0, cleared, loss, g, minutes float64) float64 {
		vt := v0 - loss*minutes
		switch {
		case loss == 0 && cleared == 0:
			return c0 + g*minutes/v0
		case loss == 0:
			r := math.Exp(-cleared * minutes / v0)
			return c0*r + g/cleared*(1-r)
		case cleared == loss:
			return c0 + g/loss*math.Log(v0/vt)
		default:
			r := math.Pow(vt/v0, (cleared-loss)/loss)
			return c0*r + g/(cleared-loss)*(1-r)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		loss := rapid.SampledFrom([]float64{0, 12, 5, -0.8, -0.3}).Draw(t, "loss")
		k := model{single: true, generation: rapid.Float64Range(0, 12).Draw(t, "G"), residual: rapid.SampledFrom([]float64{0, 3}).Draw(t, "Kr")}
		l := leg{minutes: rapid.Float64Range(1, 900).Draw(t, "t"), volume: rapid.Float64Range(15000, 60000).Draw(t, "V"), loss: loss, clearance: rapid.SampledFrom([]float64{0, 5, 9, 12, 210}).Draw(t, "K")}
		c0 := rapid.Float64Range(0, 1.5).Draw(t, "C0")
		end, _ := k.advance(mass{c0 * l.volume}, l)
		want := textbook(c0, l.volume, l.clearance+k.residual, loss, k.generation, l.minutes)
		if got := end[0] / l.endVolume(); math.Abs(got-want) > 1e-11*(c0+1) {
			t.Fatalf("got %.15g, textbook %.15g", got, want)
		}
	})
}
