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
	if err := guard(
		positive("Kt/V", outer), positive("Kt/V", inner),
		positive("treated time", minutes), positive("sessions per week", sessionsPerWeek),
		when(sessionsPerWeek*minutes >= MinutesPerWeek, "the sessions fill the whole week"),
	); err != nil {
		return math.NaN(), err
	}
	removed := -math.Expm1(-outer)
	return MinutesPerWeek * removed / minutes / (removed/inner + MinutesPerWeek/(sessionsPerWeek*minutes) - 1), nil
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
	if err != nil {
		return math.NaN(), err
	}
	if err := guard(
		positive("spKt/V", spKtV), positive("body water", volumeLitres),
		notNegative("fluid removed per week", weeklyUFLitres),
		notNegative("residual urea clearance", kruMLPerMin),
	); err != nil {
		return math.NaN(), err
	}
	shrink := 1 - 0.74/sessionsPerWeek*weeklyUFLitres/volumeLitres
	if shrink <= 0 {
		return undefined("the weekly UF volume is too large for this body water")
	}
	residual := kruMLPerMin * (0.974/(spKtV+1.62) + 0.4) * MinutesPerWeek / (1000 * volumeLitres)
	return fixed/shrink + residual, nil
}
