package calc

// Time constants of [EKtVTattersall] in minutes, all from memory.
const (
	// TattersallAVMin is for an arteriovenous access (some texts print 36).
	TattersallAVMin = 35.0
	// TattersallCVCMin is for a central venous catheter.
	TattersallCVCMin = 22.0
	// TattersallRefitMin is the constant refitted on the HEMO and FHN data.
	TattersallRefitMin = 30.7
)

// EKtVRateAV returns equilibrated Kt/V for an arteriovenous access by the
// rate equation sp - 0.6·sp/t + 0.03, from spKt/V and the length in hours.
// For 2.5 to 5 h; the constant does not vanish at low dose, so short sessions
// need a multiplicative form.
//
// Daugirdas and Schneditz, ASAIO J 1995;41:M719 (formula read in EBPG 2002,
// Nephrol Dial Transplant 17 suppl 7:17).
func EKtVRateAV(spKtV, hours float64) (float64, error) {
	return rateEquation(spKtV, hours, 1, 0.6, 0.03)
}

// EKtVRateCVC returns equilibrated Kt/V for a venous catheter by the rate
// equation sp - 0.47·sp/t + 0.02; see [EKtVRateAV].
func EKtVRateCVC(spKtV, hours float64) (float64, error) {
	return rateEquation(spKtV, hours, 1, 0.47, 0.02)
}

// EKtVLeypoldt returns equilibrated Kt/V by the regression on the HEMO data,
// 0.924·sp - 0.395·sp/t + 0.056, from spKt/V and the length in hours.
//
// Leypoldt et al, on the HEMO study (coefficients from memory).
func EKtVLeypoldt(spKtV, hours float64) (float64, error) {
	return rateEquation(spKtV, hours, 0.924, 0.395, 0.056)
}

func rateEquation(spKtV, hours, slope, rate, constant float64) (float64, error) {
	value := slope*spKtV - rate*spKtV/hours + constant
	return given(value, Positive("spKt/V", spKtV), Positive("treated time", hours), When(value <= 0, "the session is too short for this equation"))
}

// EKtVTattersall returns equilibrated Kt/V as sp·t/(t + tp), with the length
// and the time constant in minutes ([TattersallAVMin], [TattersallCVCMin] or
// [TattersallRefitMin]). The form is multiplicative and so fits short
// sessions.
//
// Tattersall et al, Kidney Int 1996;50:2094 (from memory).
func EKtVTattersall(spKtV, minutes, constantMin float64) (float64, error) {
	return given(spKtV*minutes/(minutes+constantMin),
		Positive("spKt/V", spKtV), Positive("treated time", minutes), Positive("the time constant", constantMin))
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
			notes: notes,
		}.of2(eval)
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
	return []Method{
		{
			ID: "ektv-delayed-sample", Version: "1", Quantity: "equilibrated Kt/V", Key: "e_kt_v", Unit: "1", Decimals: 2,
			Formula: "e_kt_v = -ln(R - 0.008" + terms,
			Source:  daugirdas1993, Range: "three sessions a week; " + validity,
			Inputs: need("urea_before", "urea_equilibrated", "treated_time", "uf_removed", "weight_after"),
			eval:   func(in Inputs) (float64, error) { return daugirdas2(in, "urea_equilibrated", GFACThriceWeekly) },
			notes:  notesThriceWeekly,
		},
		{
			ID: "ektv-delayed-sample-gfac", Version: "1", Quantity: "equilibrated Kt/V", Key: "e_kt_v", Unit: "1", Decimals: 2,
			Formula: "e_kt_v = -ln(R - GFAC" + terms + "; GFAC = 0.0174/preceding_interval",
			Source:  daugirdas1993 + gfacRule, Range: "any schedule; " + validity,
			Inputs: need("urea_before", "urea_equilibrated", "treated_time", "uf_removed", "weight_after", "preceding_interval"),
			eval: func(in Inputs) (float64, error) {
				return byInterval(in, func(gfac float64) (float64, error) { return daugirdas2(in, "urea_equilibrated", gfac) })
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
