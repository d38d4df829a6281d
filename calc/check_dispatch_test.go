package calc_test

import (
	"slices"
	"testing"

	. "runsheet.example/calc"
)

// computation computes all that a check row of one quantity expects, by the
// names used there.
type computation func(t *testing.T, r checkRow) map[string]any

func only(v any) map[string]any { return map[string]any{"value": v} }

// byMethod computes one method; rename maps the row's input names to
// vocabulary keys, scaling hours to minutes and millilitres to litres by the
// unit the row states.
func byMethod(id string, rename map[string]string) computation {
	return func(t *testing.T, r checkRow) map[string]any {
		in := Inputs{}
		for name, number := range r.Inputs {
			key, known := rename[name]
			if !known {
				t.Fatalf("input %s has no key", name)
			}
			in[key] = inVocabularyUnit(t, r, name, key, number.Unit)
		}
		return only(value(t, id, in))
	}
}

func inVocabularyUnit(t *testing.T, r checkRow, name, key, unit string) float64 {
	v := r.in(t, name)
	spec := Vocabulary()[slices.IndexFunc(Vocabulary(), func(s InputSpec) bool { return s.Key == key })]
	want := spec.Unit
	switch {
	case unit == "h" && want == "min":
		return v * 60
	case unit == "mL" && want == "L":
		return v / 1000
	case unit == want, unit == "1/wk" && want == "/wk", unit == "L/wk" && want == "L", unit == "mg/dL" && want == "mmol/L":
		return v // of urea only the ratio counts
	}
	t.Fatalf("input %s is in %s, the method wants %s", name, unit, want)
	return 0
}

var (
	ureaPair = map[string]string{
		"pre": "urea_before", "post": "urea_after", "pre_bun": "urea_before", "post_bun": "urea_after",
		"t": "treated_time", "uf": "uf_removed", "post_weight": "weight_after", "pidi": "preceding_interval",
	}
	dose = map[string]string{
		"spktv": "sp_kt_v", "ektv": "e_kt_v", "t": "treated_time", "sessions_per_week": "sessions_per_week",
		"weekly_uf": "weekly_uf", "V": "total_body_water", "kru": "residual_urea_clearance",
	}
	body = map[string]string{"height": "height", "weight": "weight_after", "age": "age"}
	flow = map[string]string{"Qb": "blood_flow", "Qd": "dialysate_flow", "KoA": "dialyser_koa", "DS": "dialysate_saturation", "dialysate": "dialysate_volume", "uf": "uf_removed", "V": "total_body_water"}
	mmHg = map[string]string{"sbp": "bp_systolic", "dbp": "bp_diastolic"}
)

func checkComputations() map[string]computation {
	all := map[string]computation{
		"URR":                                byMethod("urr", ureaPair),
		"spKt/V Daugirdas second generation": byMethod("spktv-daugirdas2", ureaPair),
		"spKt/V with GFAC":                   byMethod("spktv-daugirdas2-gfac", ureaPair),
		"spKt/V vs URR pairing": func(t *testing.T, r checkRow) map[string]any {
			ratio := 1 - r.in(t, "URR")/100
			return only(must(t)(SpKtVDaugirdas2(ratio, r.in(t, "t"), r.in(t, "uf_over_w"), 1, GFACThriceWeekly)))
		},
		"GFAC = 0.0174/PIDI": func(t *testing.T, r checkRow) map[string]any {
			return only(must(t)(GFACForInterval(r.in(t, "pidi"))))
		},
		"eKt/V rate equation, arteriovenous access": byMethod("ektv-rate-av", dose),
		"eKt/V paired with spKt/V":                  byMethod("ektv-rate-av", dose),
		"eKt/V Tattersall AV, tp=35 min":            byMethod("ektv-tattersall-av", dose),
		"eKt/V modified Tattersall, tp=30.7 min":    byMethod("ektv-tattersall-refit", dose),
		"eKt/V Leypoldt/HEMO regression":            byMethod("ektv-leypoldt", dose),

		"stdKt/V fixed volume (Leypoldt)":              byMethod("stdktv-leypoldt-fixed", dose),
		"stdKt/V with UF and residual clearance (FHN)": byMethod("stdktv-fhn-uf-kru", dose),
		"stdKt/V from spKt/V, HEMO, V=25 L men":        weeklyFromSession("ektv-rate-av"),
		"stdKt/V from spKt/V, HEMO, V=25 L women":      weeklyFromSession("ektv-rate-av"),
		"stdKt/V from per-treatment dose, 6/wk":        weeklyFromSession("ektv-tattersall-refit"),
		"stdKt/V from per-treatment dose, 5/wk":        weeklyFromSession("ektv-tattersall-refit"),

		"V Watson female": byMethod("watson-female", body),
		"V Watson male (guards against the 0.09156 transposition)": byMethod("watson-male", body),
		"BSA dubois":    byMethod("bsa-dubois", body),
		"BSA haycock":   byMethod("bsa-haycock", body),
		"BSA mosteller": byMethod("bsa-mosteller", body),
		"BSA gehan":     byMethod("bsa-gehan", body),
		"BMI":           byMethod("bmi", body),

		"Kt/V from drained volume and saturation": byMethod("dialysate-kt-v", flow),
		"pulse pressure":           byMethod("pulse-pressure", mmHg),
		"UF rate":                  byMethod("uf-rate-per-kg", ureaPair),
		"target weight attainment": byMethod("target-miss", map[string]string{"post": "weight_after", "target": "dry_weight"}),
	}
	for _, add := range []func(map[string]computation){
		addUreaComputations, addFlowComputations, addFluidComputations, addPressureComputations,
		addVolumeComputations, addProteinComputations, addWeeklyComputations, addKineticComputations,
	} {
		add(all)
	}
	return all
}

// weeklyFromSession goes from spKt/V through one eKt/V form to the weekly
// value. The published pairs do not name the form; see the notes in the rows.
func weeklyFromSession(equilibrate string) computation {
	return func(t *testing.T, r checkRow) map[string]any {
		in := Inputs{"sp_kt_v": r.in(t, "spktv"), "treated_time": r.in(t, "t"), "sessions_per_week": r.in(t, "sessions_per_week")}
		results := Sequence(in, equilibrate, "stdktv-leypoldt-fixed")
		if last := results[1]; !last.OK() {
			t.Fatal(last.WhyNot)
		}
		return only(results[1].Value)
	}
}

func addFlowComputations(all map[string]computation) {
	all["diffusive clearance (Michaels)"] = func(t *testing.T, r checkRow) map[string]any {
		return only(must(t)(DiffusiveClearance(r.in(t, "Qb"), r.in(t, "Qd"), r.in(t, "KoA"))))
	}
	all["total clearance with UF"] = func(t *testing.T, r checkRow) map[string]any {
		minutes := 1000 * r.in(t, "dialysate") / r.in(t, "Qd")
		in := Inputs{
			"blood_flow": r.in(t, "Qb"), "dialysate_flow": r.in(t, "Qd"), "dialyser_koa": r.in(t, "KoA"),
			"dialysate_volume": r.in(t, "dialysate"), "uf_removed": r.in(t, "uf"), "treated_time": minutes,
		}
		saturation := value(t, "dialysate-saturation-michaels", in)
		return map[string]any{
			"t": minutes, "Quf": 1000 * r.in(t, "uf") / minutes, "K": value(t, "clearance-michaels", in), "DS": saturation,
			"Kt": must(t)(DialysateKt(saturation, r.in(t, "dialysate"), r.in(t, "uf"))),
		}
	}
}

func addFluidComputations(all map[string]computation) {
	all["IDWG and IDWG %"] = func(t *testing.T, r checkRow) map[string]any {
		in := Inputs{"weight_before": r.in(t, "pre"), "previous_weight_after": r.in(t, "previous_post")}
		return map[string]any{"IDWG": value(t, "idwg", in), "IDWG_pct": value(t, "idwg-percent", in)}
	}
	all["UF reconciliation"] = func(t *testing.T, r checkRow) map[string]any {
		in := Inputs{
			"weight_before": r.in(t, "pre"), "weight_after": r.in(t, "post"), "uf_removed": r.in(t, "uf"),
			"drinks": r.in(t, "oral"), "saline": r.in(t, "saline"), "rinseback": r.in(t, "rinseback"),
		}
		results := Sequence(in, "uf-expected", "uf-discrepancy")
		return map[string]any{"expected_uf": results[0].Value, "discrepancy": results[1].Value}
	}
}
