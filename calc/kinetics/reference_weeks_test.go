package kinetics

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// referenceWeek is one entry of testdata/kinetic_weeks.json (kind derived:
// computed independently by closed form and by RK4).
type referenceWeek struct {
	Inputs struct {
		Cycle    float64   `json:"cycle_min"`
		Start    []float64 `json:"start_min"`
		Duration []float64 `json:"t_min"`
		K        []float64 `json:"K_ml_min"`
		UF       []float64 `json:"uf_ml"`
		V        float64   `json:"V_post_mean_L"`
		G        float64   `json:"G_mg_min"`
		Kr       float64   `json:"Kr_ml_min"`
		TwoPool  struct {
			Kc float64 `json:"Kc_ml_min"`
		} `json:"two_pool"`
	} `json:"inputs"`
	Single referenceResult `json:"single_pool"`
	Two    referenceResult `json:"two_pool"`
	NPCR   float64         `json:"nPCR_g_kg_d"`
}

type referenceResult struct {
	Pre     []float64 `json:"pre_mg_dl"`
	Post    []float64 `json:"post_mg_dl"`
	Eq      []float64 `json:"equilibrated_post_mg_dl"`
	VPre    []float64 `json:"Vpre_L"`
	VPost   []float64 `json:"Vpost_L"`
	MeanPre float64   `json:"mean_pre_mg_dl"`
	TAC     float64   `json:"tac_mg_dl"`
	Std     float64   `json:"stdktv"`
	EKR     float64   `json:"ekr_ml_min"`
	EKRc    float64   `json:"ekrc_ml_min_40L"`
}

func (w referenceWeek) cycle() Cycle {
	c := Cycle{LengthMin: w.Inputs.Cycle}
	for i := range w.Inputs.Start {
		c.Treatments = append(c.Treatments, Treatment{
			StartMin: w.Inputs.Start[i], DurationMin: w.Inputs.Duration[i],
			ClearanceMLPerMin: w.Inputs.K[i], UFLitres: w.Inputs.UF[i] / 1000,
		})
	}
	return c
}

func (w referenceWeek) body(pools Pools) Body {
	return Body{VolumeL: w.Inputs.V, GenerationMgPerMin: w.Inputs.G, ResidualMLPerMin: w.Inputs.Kr, Pools: pools}
}

func TestReferenceWeeks(t *testing.T) {
	content, err := os.ReadFile("../../testdata/kinetic_weeks.json")
	if err != nil {
		t.Fatal(err)
	}
	var weeks map[string]referenceWeek
	if err := json.Unmarshal(content, &weeks); err != nil {
		t.Fatal(err)
	}
	if len(weeks) < 5 {
		t.Fatalf("%d reference weeks", len(weeks))
	}
	for name, week := range weeks {
		t.Run(name, func(t *testing.T) {
			single, err := SteadyState(week.body(Pools{}), week.cycle())
			if err != nil {
				t.Fatal(err)
			}
			// The file prints four decimals.
			compareWeek(t, "single pool", single, week.Single, 6e-5)
			pools := TwoPools()
			pools.ExchangePerLitre = week.Inputs.TwoPool.Kc / week.Inputs.V
			two, err := SteadyState(week.body(pools), week.cycle())
			if err != nil {
				t.Fatal(err)
			}
			compareWeek(t, "two pool", two, week.Two, 6e-5)
			near(t, "nPCR", two.NPCR(), week.NPCR, 6e-5)
		})
	}
}

func compareWeek(t *testing.T, model string, got Steady, want referenceResult, tolerance float64) {
	t.Helper()
	if len(got.Sessions) != len(want.Pre) {
		t.Fatalf("%d sessions", len(got.Sessions))
	}
	for i, s := range got.Sessions {
		near(t, model+" pre", s.BeforeMgPerDL, want.Pre[i], tolerance)
		near(t, model+" post", s.AfterMgPerDL, want.Post[i], tolerance)
		if want.Eq != nil {
			near(t, model+" equilibrated", s.EquilibratedMgPerDL, want.Eq[i], tolerance)
		}
		near(t, model+" volume before", s.VolumeBeforeL, want.VPre[i], tolerance)
		near(t, model+" volume after", s.VolumeAfterL, want.VPost[i], tolerance)
	}
	near(t, model+" mean pre", got.MeanBeforeMgPerDL, want.MeanPre, tolerance)
	near(t, model+" TAC", got.TimeAveragedMgPerDL, want.TAC, tolerance)
	near(t, model+" stdKt/V", got.StdKtV(), want.Std, 1e-5)
	near(t, model+" EKR", got.EKR(), want.EKR, tolerance)
	near(t, model+" EKRc", got.EKRc(), want.EKRc, tolerance)
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tolerance)
	}
}
