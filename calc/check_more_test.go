package calc_test

import (
	"testing"

	. "runsheet.example/calc"
)

func addUreaComputations(all map[string]computation) {
	all["BUN to urea mmol/L"] = func(t *testing.T, r checkRow) map[string]any {
		return only(UreaFromBUN(r.in(t, "bun")))
	}
	all["BUN to urea mg/dL"] = func(t *testing.T, r checkRow) map[string]any {
		return only(UreaFromBUN(r.in(t, "bun")) / UreaFromMgPerDL(1))
	}
}

func addVolumeComputations(all map[string]computation) {
	all["V Hume-Weyers male"] = byMethod("hume-male", body)
	all["V Hume-Weyers female"] = byMethod("hume-female", body)
	all["V Chertow female, diabetic"] = func(t *testing.T, r checkRow) map[string]any {
		return only(value(t, "chertow", Inputs{
			"age": r.in(t, "age"), "sex": SexFemale, "diabetes": r.in(t, "diabetes"), "height": r.in(t, "height"), "weight_after": r.in(t, "weight"),
		}))
	}
	all["V Mellits-Cheek boy <=132.7 cm"] = byMethod("mellits-boy-small", body)
	all["V Mellits-Cheek boy >132.7 cm"] = byMethod("mellits-boy-tall", body)
	all["V Mellits-Cheek girl <=110.8 cm"] = byMethod("mellits-girl-small", body)
	all["V Morgenstern 2002, boy 8 y"] = byMethod("morgenstern-boy", body)
	all["V Morgenstern 2002, girl 15 y"] = byMethod("morgenstern-girl-teen", body)
	all["weight corrected for below-knee amputation"] = byMethod("weight-before-amputation", map[string]string{"weight": "weight_after", "missing_fraction": "missing_share"})
}

func addProteinComputations(all map[string]computation) {
	twoPoint := func(id string) computation {
		return func(t *testing.T, r checkRow) map[string]any {
			in := Inputs{"urea_before": UreaFromBUN(r.in(t, "pre_bun")), "e_kt_v": r.in(t, "ektv")}
			if _, residual := r.Inputs["kr"]; residual {
				in["residual_urea_clearance"], in["total_body_water"] = r.in(t, "kr"), r.in(t, "V")
			}
			return only(value(t, id, in))
		}
	}
	all["nPCR two-point 3/wk first session"] = twoPoint("npcr-3-first")
	all["nPCR two-point 3/wk midweek"] = twoPoint("npcr-3-midweek")
	all["nPCR two-point 3/wk last session"] = twoPoint("npcr-3-last")
	all["nPCR two-point 2/wk second session"] = twoPoint("npcr-2-second")
	all["nPCR with residual clearance, 3/wk midweek"] = twoPoint("npcr-3-midweek-kru")
	all["nPCR from G"] = byMethod("npcr-generation", map[string]string{"G": "urea_generation", "V": "total_body_water"})
}

func addWeeklyComputations(all map[string]computation) {
	all["continuous clearance equal to a stdKt/V"] = func(t *testing.T, r checkRow) map[string]any {
		return only(value(t, "continuous-clearance", Inputs{"std_kt_v_weekly": r.in(t, "stdktv"), "total_body_water": r.in(t, "V")}))
	}
	all["SAN stdKt/V"] = func(t *testing.T, r checkRow) map[string]any {
		return only(must(t)(SANStdKtV(r.in(t, "stdktv"), r.in(t, "V_watson"), r.in(t, "bsa_dubois"), r.in(t, "M"))))
	}
	all["stdKt per BSA target equals stdKt/V 2.0"] = func(t *testing.T, r checkRow) map[string]any {
		return only(must(t)(StdKtPerSurface(r.in(t, "stdktv"), r.in(t, "V_over_S"), 1)))
	}
	all["haemodialysis product"] = byMethod("haemodialysis-product", map[string]string{"hours": "treated_time", "sessions_per_week": "sessions_per_week"})
	all["fully saturated dialysate needed"] = func(t *testing.T, r checkRow) map[string]any {
		return only(must(t)(DialysateNeeded(r.in(t, "target_spktv"), r.in(t, "V"), 1, 0)))
	}
	all["treatment time"] = byMethod("time-from-dialysate", flow)
	all["flow fraction"] = byMethod("flow-fraction", flow)
	all["Kt/V from nominal clearance"] = byMethod("ktv-nominal", map[string]string{"K": "dialyser_clearance", "t": "treated_time", "V": "total_body_water"})
}

func addPressureComputations(all map[string]computation) {
	all["IDH nadir definition"] = func(t *testing.T, r checkRow) map[string]any {
		return only(HypotensionNadir(Known(r.in(t, "pre_sbp")), []float64{r.in(t, "nadir_sbp")}).Answer == Yes)
	}
	all["IDH EBPG definition"] = func(t *testing.T, r checkRow) map[string]any {
		before, lowest := r.list(t, "pre"), r.list(t, "lowest")
		answer := func(yes bool) Answer {
			if yes {
				return Yes
			}
			return No
		}
		assessment := HypotensionEBPG(&Pressure{before[0], before[1]}, []Pressure{{lowest[0], lowest[1]}},
			answer(r.truth(t, "symptom")), answer(r.truth(t, "intervention")))
		return only(assessment.Answer == Yes)
	}
	all["access recirculation, two-needle urea method"] = func(t *testing.T, r checkRow) map[string]any {
		return only(must(t)(Recirculation(r.in(t, "S"), r.in(t, "A"), r.in(t, "V"))))
	}
	all["TMP average of four pressures"] = func(t *testing.T, r checkRow) map[string]any {
		return only(must(t)(TMPFourPressures(r.in(t, "PBi"), r.in(t, "PBo"), r.in(t, "PDi"), r.in(t, "PDo"))))
	}
	all["time-averaged weight excess over a week (target 70 kg)"] = func(t *testing.T, r checkRow) map[string]any {
		return only(must(t)(TimeAveragedExcess(r.list(t, "pre"), r.list(t, "post"), r.list(t, "interval"), r.in(t, "target"))))
	}
}
