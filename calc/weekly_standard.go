package calc

import "math"

// MinutesPerWeek is the length of a week.
const MinutesPerWeek = 10080.0

// StdKtVFixedVolume returns the weekly standard Kt/V of identical sessions at
// constant body water without residual clearance, from eKt/V, the session's
// length in minutes and the sessions per week (3.5 for alternate days):
//
//	S = (10080·(1-e^-k)/t) / ((1-e^-k)/k + 10080/(N·t) - 1),  k = eKt/V
//
// Under these assumptions it is exact at any spacing of the sessions: the
// recursion of concentrations is linear, so their mean before dialysis does
// not depend on the intervals. As k grows it approaches 10080·N/(10080-N·t).
// Gotch's own form has spKt/V in the inner term ([StdKtVGotch]); do not mix
// the two.
//
// Leypoldt, Semin Dial 2004;17:142 (from memory); Leypoldt et al, Hemodial Int
// 2004;8:193.
func StdKtVFixedVolume(eKtV, minutes, sessionsPerWeek float64) (float64, error) {
	return weeklyForm(eKtV, eKtV, minutes, sessionsPerWeek)
}

// weeklyForm is the form shared by Gotch and Leypoldt: outer is the Kt/V in
// 1-e^-k, inner the one that divides it.
func weeklyForm(outer, inner, minutes, sessionsPerWeek float64) (float64, error) {
	removed := -math.Expm1(-outer)
	return given(MinutesPerWeek*removed/minutes/(removed/inner+MinutesPerWeek/(sessionsPerWeek*minutes)-1),
		Positive("Kt/V", outer), Positive("Kt/V", inner),
		Positive("treated time", minutes), Positive("sessions per week", sessionsPerWeek),
		When(sessionsPerWeek*minutes >= MinutesPerWeek, "the sessions fill the whole week"))
}

// StdKtVFHN returns the weekly standard Kt/V with fluid removal and residual
// function:
//
//	S/(1 - 0.74/N·UFw/V) + Kru·(0.974/(sp + 1.62) + 0.4)·10080/V
//
// S is [StdKtVFixedVolume] of eKt/V; UFw is the UF volume of the whole week
// in litres, not of a session (the other reading is off by up to 5 %); V is
// the urea volume in litres, Kru in mL/min. Fitted on a two-pool model, which
// it follows within about 3 %.
//
// Daugirdas, Depner, Greene et al, Kidney Int 2010;77:637 (coefficients from
// memory).
func StdKtVFHN(spKtV, eKtV, minutes, sessionsPerWeek, weeklyUFLitres, volumeLitres, kruMLPerMin float64) (float64, error) {
	fixed, err := StdKtVFixedVolume(eKtV, minutes, sessionsPerWeek)
	shrink := 1 - 0.74/sessionsPerWeek*weeklyUFLitres/volumeLitres
	residual := kruMLPerMin * (0.974/(spKtV+1.62) + 0.4) * MinutesPerWeek / (1000 * volumeLitres)
	return given(fixed/shrink+residual,
		why(err), Positive("spKt/V", spKtV), Positive("body water", volumeLitres),
		NotNegative("fluid removed per week", weeklyUFLitres), NotNegative("residual urea clearance", kruMLPerMin),
		When(shrink <= 0, "the weekly UF volume is too large for this body water"))
}

// StdKtVGotch returns the weekly standard Kt/V in Gotch's own form, with eKt/V
// in 1-e^-k and spKt/V in the inner term. Do not compare its values with those
// of [StdKtVFixedVolume].
//
// Gotch, Nephrol Dial Transplant 1998 (from memory).
func StdKtVGotch(spKtV, eKtV, minutes, sessionsPerWeek float64) (float64, error) {
	return weeklyForm(eKtV, spKtV, minutes, sessionsPerWeek)
}

func weeklyMethods() []Method {
	const perWeek = "; sessions counted over whole weeks; the value is per week"
	const fixed = "(10080*(1 - exp(-e_kt_v))/treated_time)/((1 - exp(-e_kt_v))/e_kt_v + 10080/(sessions_per_week*treated_time) - 1)"
	return []Method{
		Method{
			ID: "stdktv-leypoldt-fixed", Version: "2", Quantity: "weekly standard Kt/V, constant volume", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
			Formula: "std_kt_v_weekly = " + fixed,
			Source:  "Leypoldt, Semin Dial 2004;17:142 (from memory); Leypoldt et al, Hemodial Int 2004;8:193",
			Range:   "identical sessions at any spacing, constant volume, no residual clearance" + perWeek,
			Inputs:  need("e_kt_v", "treated_time", "sessions_per_week"),
		}.of3(StdKtVFixedVolume),
		Method{
			ID: "stdktv-gotch", Version: "2", Quantity: "weekly standard Kt/V, Gotch's form", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
			Formula: "std_kt_v_weekly = (10080*(1 - exp(-e_kt_v))/treated_time)/((1 - exp(-e_kt_v))/sp_kt_v + 10080/(sessions_per_week*treated_time) - 1)",
			Source:  "Gotch, Nephrol Dial Transplant 1998 (from memory)", Range: "spKt/V in the inner term: not comparable with the other weekly forms" + perWeek,
			Inputs: need("sp_kt_v", "e_kt_v", "treated_time", "sessions_per_week"),
		}.of4(StdKtVGotch),
		{
			ID: "stdktv-fhn-uf-kru", Version: "2", Quantity: "weekly standard Kt/V with UF and residual clearance", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
			Formula: "std_kt_v_weekly = S/(1 - 0.74/sessions_per_week*weekly_uf/total_body_water) + residual_urea_clearance*(0.974/(sp_kt_v + 1.62) + 0.4)*10080/(1000*total_body_water); S = " + fixed,
			Source:  "Daugirdas, Depner, Greene et al, Kidney Int 2010;77:637 (coefficients from memory)",
			Range:   "identical sessions; within about 3 % of a two-pool model" + perWeek,
			Inputs:  need("sp_kt_v", "e_kt_v", "treated_time", "sessions_per_week", "weekly_uf", "total_body_water", "?residual_urea_clearance"),
			eval: func(in Inputs) (float64, error) {
				return StdKtVFHN(in["sp_kt_v"], in["e_kt_v"], in["treated_time"], in["sessions_per_week"],
					in["weekly_uf"], in["total_body_water"], in["residual_urea_clearance"])
			},
		},
	}
}
