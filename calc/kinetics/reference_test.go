package kinetics

import (
	"math"
	"testing"

	"runsheet.example/calc"
)

func exactGFAC(s Steady, session int) float64 {
	x := s.Sessions[session]
	return (x.AfterMgPerDL/x.BeforeMgPerDL - math.Exp(-s.KtV(session))) / (s.Cycle.Treatments[session].DurationMin / 60)
}

func TestGenerationFactorOfSchedules(t *testing.T) {
	for _, c := range []struct {
		name    string
		minutes float64
		ktv     float64
		days    []float64
		session int
		low     float64
		high    float64
	}{
		{"3 a week 4 h, after 3 days", 240, 1.3, []float64{0, 2, 4}, 0, 0.0062, 0.0064},
		{"3 a week 4 h, after 2 days", 240, 1.3, []float64{0, 2, 4}, 1, 0.0079, 0.0081},
		{"3 a week 4 h, last", 240, 1.3, []float64{0, 2, 4}, 2, 0.0085, 0.0087},
		{"2 a week 5 h, after 4 days", 300, 1.5, []float64{0, 3}, 0, 0.0042, 0.0047},
		{"2 a week 5 h, after 3 days", 300, 1.5, []float64{0, 3}, 1, 0.0052, 0.0055},
		{"6 a week 2.5 h, after 2 days", 150, 0.55, []float64{0, 1, 2, 3, 4, 5}, 0, 0.0094, 0.0098},
		{"6 a week 8 h, after 2 days", 480, 1.2, []float64{0, 1, 2, 3, 4, 5}, 0, 0.0107, 0.0111},
	} {
		cycle := WeekOf()
		for _, day := range c.days {
			cycle.Treatments = append(cycle.Treatments, Treatment{StartMin: 1440 * day, DurationMin: c.minutes, ClearanceMLPerMin: c.ktv * 35000 / c.minutes})
		}
		s := steady(t, Body{VolumeL: 35, GenerationMgPerMin: 6}, cycle)
		if got := exactGFAC(s, c.session); got < c.low || got > c.high {
			t.Errorf("%s: %.5f, expected %v to %v", c.name, got, c.low, c.high)
		}
	}
}

func TestDaugirdasOnSimulatedSamples(t *testing.T) {
	worst := 0.0
	for _, ktv := range []float64{0.9, 1.1, 1.3, 1.5, 1.7} {
		for _, minutes := range []float64{180, 210, 240, 270} {
			for _, uf := range []float64{0, 1.5, 3} {
				const volume = 35.0
				s := steady(t, Body{VolumeL: volume, GenerationMgPerMin: 6}, mondayWednesdayFriday(minutes, ktv*1000*volume/minutes, uf))
				x := s.Sessions[1]
				got := must(t)(calc.SpKtVDaugirdas2(x.AfterMgPerDL/x.BeforeMgPerDL, minutes/60, uf, x.VolumeAfterL/0.58, calc.GFACThriceWeekly))
				worst = math.Max(worst, math.Abs(got-s.Cycle.Treatments[1].ClearanceMLPerMin*minutes/(1000*x.VolumeAfterL)))
			}
		}
	}
	if worst > 0.01 {
		t.Errorf("off by up to %.4f", worst)
	}
}

func TestExchangeConstantIsTheLeastCertain(t *testing.T) {
	body := Body{VolumeL: 35, GenerationMgPerMin: 6.25, Pools: TwoPools()}
	week := mondayWednesdayFriday(240, 210, 2.9, 2.3, 2.3)
	for _, c := range []struct{ exchange, want float64 }{{300, 2.190}, {560, 2.3212}, {1200, 2.414}} {
		body.Pools.ExchangePerLitre = c.exchange / 35
		near(t, "stdKt/V", steady(t, body, week).StdKtV(), c.want, 0.001)
	}
	body.Pools = TwoPools()
	for _, share := range []float64{0, 1} {
		body.Pools.GenerationShare = share
		near(t, "generation share", steady(t, body, week).StdKtV(), 2.3212, 0.003)
	}
}

func TestEKRAgainstItsLine(t *testing.T) {
	at := func(ktv, residual float64) float64 {
		return steady(t, Body{VolumeL: 40, GenerationMgPerMin: 6, ResidualMLPerMin: residual}, mondayWednesdayFriday(240, ktv*40000/240, 0)).EKRc()
	}
	near(t, "Kt/V 1.4", at(1.4, 0), 14.41, 0.005)
	near(t, "residual clearance", at(1, 1)-at(1, 0), 0.93, 0.02)
}

func TestFHNFormulaFollowsTheModel(t *testing.T) {
	for _, c := range []struct {
		minutes, clearance, uf, residual float64
		n                                int
	}{
		{240, 200, 2.5, 0, 3}, {240, 200, 2.5, 2, 3}, {210, 230, 3, 0, 3}, {150, 160, 1.4, 0, 5}, {150, 160, 1.4, 2, 5}, {150, 180, 1.3, 0, 6}, {300, 180, 2.4, 1, 4},
	} {
		const volume = 35.0
		cycle := WeekOf()
		for i := range c.n {
			cycle.Treatments = append(cycle.Treatments, Treatment{
				StartMin: math.Floor(float64(i)*7/float64(c.n)) * 1440, DurationMin: c.minutes, ClearanceMLPerMin: c.clearance, UFLitres: c.uf,
			})
		}
		s := steady(t, Body{VolumeL: volume, GenerationMgPerMin: 6, ResidualMLPerMin: c.residual, Pools: TwoPools()}, cycle)
		middle := s.Sessions[c.n/2]
		interval := middle.StartMin - s.Sessions[c.n/2-1].StartMin
		in := calc.Inputs{
			"urea_before": middle.BeforeMgPerDL, "urea_after": middle.AfterMgPerDL, "treated_time": c.minutes, "uf_removed": c.uf,
			"weight_after": volume / 0.58, "preceding_interval": interval / 1440, "sessions_per_week": float64(c.n),
			"weekly_uf": c.uf * float64(c.n), "total_body_water": volume, "residual_urea_clearance": c.residual,
		}
		spKtV := "spktv-daugirdas2-gfac"
		if c.n == 3 {
			spKtV = "spktv-daugirdas2"
		}
		results := calc.Sequence(in, spKtV, "ektv-tattersall-refit", "stdktv-fhn-uf-kru")
		if !results[2].OK() {
			t.Fatal(results[2].WhyNot)
		}
		if relative := results[2].Value/s.StdKtV() - 1; math.Abs(relative) > 0.035 {
			t.Errorf("%+v: formula %.3f, model %.3f (%+.1f %%)", c, results[2].Value, s.StdKtV(), 100*relative)
		}
	}
}

func mondayWednesdayFriday(minutes, clearance float64, uf ...float64) Cycle {
	c := WeekOf()
	for i := range 3 {
		c.Treatments = append(c.Treatments, Treatment{
			StartMin: 480 + 2880*float64(i), DurationMin: minutes, ClearanceMLPerMin: clearance, UFLitres: uf[i%len(uf)],
		})
	}
	return c
}

func steady(t *testing.T, body Body, cycle Cycle) Steady {
	t.Helper()
	s, err := SteadyState(body, cycle)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func must(t *testing.T) func(float64, error) float64 {
	return func(v float64, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}
