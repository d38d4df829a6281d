package calc

const daugirdas1993 = "Daugirdas, J Am Soc Nephrol 1993;4:1205 (formula read in EBPG 2002, Nephrol Dial Transplant 17 suppl 7:17)"

const gfacRule = "; generation factor: Daugirdas et al, Nephrol Dial Transplant 2013;28:2156 (from memory)"

func ureaMethods() []Method {
	return []Method{
		{
			ID: "urr", Version: "1", Quantity: "urea reduction ratio", Key: "urea_reduction_ratio", Unit: "%", Decimals: 1,
			Formula: "urea_reduction_ratio = 100*(1 - urea_after/urea_before)", Source: "definition",
			Range:  "knows nothing of fluid removal and urea generation",
			Inputs: need("urea_before", "urea_after"),
			eval:   func(in Inputs) (float64, error) { return URR(in["urea_before"], in["urea_after"]) },
		},
		{
			ID: "urr-delayed-sample", Version: "1", Quantity: "urea reduction ratio from a delayed sample", Key: "urea_reduction_ratio", Unit: "%", Decimals: 1,
			Formula: "urea_reduction_ratio = 100*(1 - urea_equilibrated/urea_before)", Source: "definition",
			Range:  "as drawn, 30 min or more after the end: lower than with a sample at the end, by the rebound",
			Inputs: need("urea_before", "urea_equilibrated"),
			eval:   func(in Inputs) (float64, error) { return URR(in["urea_before"], in["urea_equilibrated"]) },
		},
		{
			ID: "spktv-daugirdas2", Version: "1", Quantity: "single-pool Kt/V", Key: "sp_kt_v", Unit: "1", Decimals: 2,
			Formula: "sp_kt_v = -ln(R - 0.008*treated_time/60) + (4 - 3.5*R)*uf_removed/weight_after; R = urea_after/urea_before",
			Source:  daugirdas1993, Range: "three sessions a week, midweek session, about 2.5 to 5 h; sample at once after slow flow",
			Inputs: need("urea_before", "urea_after", "treated_time", "uf_removed", "weight_after"),
			eval: func(in Inputs) (float64, error) {
				return spKtVFrom(in, GFACThriceWeekly)
			},
			notes: notesThriceWeekly,
		},
		{
			ID: "urea-rebound", Version: "1", Quantity: "urea rebound after dialysis", Key: "urea_rebound", Unit: "%", Decimals: 0,
			Formula: "urea_rebound = 100*(urea_equilibrated - urea_after)/urea_after", Source: "definition", Range: "second sample 30 min or more after the end",
			Inputs: need("urea_after", "urea_equilibrated"),
			eval:   func(in Inputs) (float64, error) { return Rebound(in["urea_after"], in["urea_equilibrated"]) },
		},
	}
}

// gfacMethods use the generation factor of the preceding interval.
func gfacMethods() []Method {
	const validity = "any schedule; reads up to about 5 % high for short daily sessions"
	return []Method{
		{
			ID: "spktv-daugirdas2-gfac", Version: "1", Quantity: "single-pool Kt/V", Key: "sp_kt_v", Unit: "1", Decimals: 2,
			Formula: "sp_kt_v = -ln(R - GFAC*treated_time/60) + (4 - 3.5*R)*uf_removed/weight_after; R = urea_after/urea_before; GFAC = 0.0174/preceding_interval",
			Source:  daugirdas1993 + gfacRule, Range: validity,
			Inputs: need("urea_before", "urea_after", "treated_time", "uf_removed", "weight_after", "preceding_interval"),
			eval: func(in Inputs) (float64, error) {
				return byInterval(in, func(gfac float64) (float64, error) { return spKtVFrom(in, gfac) })
			},
			notes: negativeUF,
		},
		{
			ID: "spktv-daugirdas2-gfac-volume", Version: "1", Quantity: "single-pool Kt/V", Key: "sp_kt_v", Unit: "1", Decimals: 2,
			Formula: "sp_kt_v = -ln(R - GFAC*treated_time/60) + (4 - 3.5*R)*0.55*uf_removed/total_body_water; R = urea_after/urea_before; GFAC = 0.0174/preceding_interval",
			Source:  daugirdas1993 + gfacRule + "; body water in place of weight: from memory", Range: validity,
			Inputs: need("urea_before", "urea_after", "treated_time", "uf_removed", "total_body_water", "preceding_interval"),
			eval: func(in Inputs) (float64, error) {
				return byInterval(in, func(gfac float64) (float64, error) {
					ratio, err := UreaRatio(in["urea_before"], in["urea_after"])
					if err != nil {
						return undefined(err.Error())
					}
					return SpKtVDaugirdas2Volume(ratio, in["treated_time"]/60, in["uf_removed"], in["total_body_water"], gfac)
				})
			},
			notes: negativeUF,
		},
	}
}

func byInterval(in Inputs, compute func(gfac float64) (float64, error)) (float64, error) {
	gfac, err := GFACForInterval(in["preceding_interval"])
	if err != nil {
		return undefined(err.Error())
	}
	return compute(gfac)
}

func spKtVFrom(in Inputs, gfac float64) (float64, error) {
	ratio, err := UreaRatio(in["urea_before"], in["urea_after"])
	if err != nil {
		return undefined(err.Error())
	}
	return SpKtVDaugirdas2(ratio, in["treated_time"]/60, in["uf_removed"], in["weight_after"], gfac)
}

// notesThriceWeekly notes a use of the factor 0.008 outside its schedule and
// length, as far as the inputs show.
func notesThriceWeekly(in Inputs, value float64) []string {
	notes := negativeUF(in, value)
	if n, known := in["sessions_per_week"]; known && n != 3 {
		notes = append(notes, "the generation factor 0.008 is for three sessions a week")
	}
	if days, known := in["preceding_interval"]; known && (days < 1.5 || days > 3.5) {
		notes = append(notes, "the generation factor 0.008 is for an interval of 2 to 3 days")
	}
	if minutes := in["treated_time"]; minutes < 150 || minutes > 300 {
		notes = append(notes, "the formula was derived for sessions of about 2.5 to 5 h")
	}
	return notes
}

func equilibratedMethods() []Method {
	const (
		rate       = "Daugirdas and Schneditz, ASAIO J 1995;41:M719 (read in EBPG 2002, Nephrol Dial Transplant 17 suppl 7:17)"
		tattersall = "Tattersall et al, Kidney Int 1996;50:2094 (from memory)"
		rateRange  = "2.5 to 5 h; not for short sessions at low dose"
	)
	form := func(id, formula, source, validity string, notes func(Inputs, float64) []string, eval func(sp, minutes float64) (float64, error)) Method {
		return Method{
			ID: id, Version: "1", Quantity: "equilibrated Kt/V", Key: "e_kt_v", Unit: "1", Decimals: 2,
			Formula: "e_kt_v = " + formula, Source: source, Range: validity, Inputs: need("sp_kt_v", "treated_time"),
			eval:  func(in Inputs) (float64, error) { return eval(in["sp_kt_v"], in["treated_time"]) },
			notes: notes,
		}
	}
	multiplicative := func(constant float64) func(sp, minutes float64) (float64, error) {
		return func(sp, minutes float64) (float64, error) { return EKtVTattersall(sp, minutes, constant) }
	}
	return append([]Method{
		form("ektv-rate-av", "sp_kt_v - 0.6*sp_kt_v/(treated_time/60) + 0.03", rate, "arteriovenous access; "+rateRange,
			notesRateRange, func(sp, minutes float64) (float64, error) { return EKtVRateAV(sp, minutes/60) }),
		form("ektv-rate-cvc", "sp_kt_v - 0.47*sp_kt_v/(treated_time/60) + 0.02", rate, "venous catheter; "+rateRange,
			notesRateRange, func(sp, minutes float64) (float64, error) { return EKtVRateCVC(sp, minutes/60) }),
		form("ektv-tattersall-av", "sp_kt_v*treated_time/(treated_time + 35)", tattersall, "arteriovenous access; also short sessions",
			nil, multiplicative(TattersallAVMin)),
		form("ektv-tattersall-cvc", "sp_kt_v*treated_time/(treated_time + 22)", tattersall, "venous catheter; also short sessions",
			nil, multiplicative(TattersallCVCMin)),
		form("ektv-tattersall-refit", "sp_kt_v*treated_time/(treated_time + 30.7)",
			"refit of the Tattersall form on HEMO and FHN data (from memory; constant also seen in public code)",
			"arteriovenous access; also short sessions", nil, multiplicative(TattersallRefitMin)),
		form("ektv-leypoldt", "0.924*sp_kt_v - 0.395*sp_kt_v/(treated_time/60) + 0.056",
			"Leypoldt et al, regression on the HEMO study (from memory)", rateRange,
			notesRateRange, func(sp, minutes float64) (float64, error) { return EKtVLeypoldt(sp, minutes/60) }),
		{
			ID: "ektv-tattersall-by-access", Version: "1", Quantity: "equilibrated Kt/V", Key: "e_kt_v", Unit: "1", Decimals: 2,
			Formula: "e_kt_v = sp_kt_v*treated_time/(treated_time + 35 - 13*catheter)",
			Source:  tattersall, Range: "any access, which must be known; also short sessions",
			Inputs: need("sp_kt_v", "treated_time", "catheter"),
			eval: func(in Inputs) (float64, error) {
				return EKtVTattersall(in["sp_kt_v"], in["treated_time"], TattersallAVMin-(TattersallAVMin-TattersallCVCMin)*in["catheter"])
			},
		},
	}, delayedSampleMethods()...)
}

// delayedSampleMethods compute eKt/V directly: a sample drawn 30 min or more
// after the end is already equilibrated.
func delayedSampleMethods() []Method {
	const validity = "sample 30 min or more after the end; never corrected for rebound again"
	const terms = "*treated_time/60) + (4 - 3.5*R)*uf_removed/weight_after; R = urea_equilibrated/urea_before"
	eval := func(in Inputs, gfac float64) (float64, error) {
		ratio, err := UreaRatio(in["urea_before"], in["urea_equilibrated"])
		if err != nil {
			return undefined(err.Error())
		}
		return SpKtVDaugirdas2(ratio, in["treated_time"]/60, in["uf_removed"], in["weight_after"], gfac)
	}
	return []Method{
		{
			ID: "ektv-delayed-sample", Version: "1", Quantity: "equilibrated Kt/V", Key: "e_kt_v", Unit: "1", Decimals: 2,
			Formula: "e_kt_v = -ln(R - 0.008" + terms,
			Source:  daugirdas1993, Range: "three sessions a week; " + validity,
			Inputs: need("urea_before", "urea_equilibrated", "treated_time", "uf_removed", "weight_after"),
			eval:   func(in Inputs) (float64, error) { return eval(in, GFACThriceWeekly) },
			notes:  notesThriceWeekly,
		},
		{
			ID: "ektv-delayed-sample-gfac", Version: "1", Quantity: "equilibrated Kt/V", Key: "e_kt_v", Unit: "1", Decimals: 2,
			Formula: "e_kt_v = -ln(R - GFAC" + terms + "; GFAC = 0.0174/preceding_interval",
			Source:  daugirdas1993 + gfacRule, Range: "any schedule; " + validity,
			Inputs: need("urea_before", "urea_equilibrated", "treated_time", "uf_removed", "weight_after", "preceding_interval"),
			eval: func(in Inputs) (float64, error) {
				return byInterval(in, func(gfac float64) (float64, error) { return eval(in, gfac) })
			},
			notes: negativeUF,
		},
	}
}

func notesRateRange(in Inputs, _ float64) []string {
	if minutes := in["treated_time"]; minutes < 150 || minutes > 300 {
		return []string{"the equation is for sessions of 2.5 to 5 h"}
	}
	return nil
}
