package calc

import "math"

// BloodWaterShare is the ratio of blood water flow for urea to blood flow, and
// KoAInUseShare the ratio of KoA in use to the printed KoA; both from memory.
const (
	BloodWaterShare = 0.89
	KoAInUseShare   = 0.8
)

// ClearanceInUse is [DiffusiveClearance] with blood water flow and KoA in
// use: a lower, more realistic estimate than the printed figures give. Both
// corrections are from memory.
func ClearanceInUse(bloodFlow, dialysateFlow, koa float64) (float64, error) {
	return DiffusiveClearance(BloodWaterShare*bloodFlow, dialysateFlow, KoAInUseShare*koa)
}

// ClearanceOfUF returns the urea clearance in mL/min of ultrafiltration
// without dialysate, from the fluid removed in L and the time in minutes: the
// fluid has the urea concentration of blood water, so clearance equals the
// rate of removal.
func ClearanceOfUF(ufLitres, minutes float64) (float64, error) {
	if err := guard(positive("fluid removed", ufLitres), positive("treated time", minutes)); err != nil {
		return math.NaN(), err
	}
	return 1000 * ufLitres / minutes, nil
}

// DialysateNeeded returns the dialysate volume in litres for a dialysate-side
// Kt/V, (Kt/V)·V/DS - UF, from urea volume in litres, saturation and UF volume
// in litres. It illustrates a Kt/V and is not a prescription.
func DialysateNeeded(ktV, volumeL, saturation, ufLitres float64) (float64, error) {
	if err := guard(
		positive("Kt/V", ktV), positive("body water", volumeL), positive("dialysate saturation", saturation),
		when(saturation > 1, "dialysate saturation is above 1"), notNegative("fluid removed", ufLitres),
	); err != nil {
		return math.NaN(), err
	}
	needed := ktV*volumeL/saturation - ufLitres
	if needed <= 0 {
		return undefined("the fluid removed alone clears more than this Kt/V")
	}
	return needed, nil
}

// TimeFromDialysate returns the treatment time in minutes that a dialysate
// volume in litres lasts at a flow in mL/min.
func TimeFromDialysate(dialysateLitres, dialysateFlow float64) (float64, error) {
	if err := guard(positive("dialysate volume", dialysateLitres), positive("dialysate flow", dialysateFlow)); err != nil {
		return math.NaN(), err
	}
	return 1000 * dialysateLitres / dialysateFlow, nil
}

// FlowFraction returns dialysate flow over blood flow in percent. Saturation
// is near 1 only while it is small: about 0.98 at 37 to 40 %, 0.93 at 67 %
// and 0.75 at 100 % for KoA of 700 to 1000 mL/min.
func FlowFraction(dialysateFlow, bloodFlow float64) (float64, error) {
	if err := guard(positive("dialysate flow", dialysateFlow), positive("blood flow", bloodFlow)); err != nil {
		return math.NaN(), err
	}
	return 100 * dialysateFlow / bloodFlow, nil
}

// NominalKtV returns K·t/V from a nominal clearance in mL/min, the treated
// time in minutes and urea volume in litres. It is an estimate without sample,
// generation and fluid removal.
func NominalKtV(clearance, minutes, volumeL float64) (float64, error) {
	if err := guard(positive("clearance", clearance), positive("treated time", minutes), positive("body water", volumeL)); err != nil {
		return math.NaN(), err
	}
	return clearance * minutes / (1000 * volumeL), nil
}

// UFRate returns the mean ultrafiltration rate in L/h from the UF volume in
// litres and the time in minutes.
func UFRate(ufLitres, minutes float64) (float64, error) {
	if err := guard(finite("UF volume", ufLitres), positive("treated time", minutes)); err != nil {
		return math.NaN(), err
	}
	return ufLitres / (minutes / 60), nil
}

// UFTime returns the minutes that a UF volume in litres takes at a rate in
// L/h.
func UFTime(ufLitres, ufLPerH float64) (float64, error) {
	if err := guard(positive("UF volume", ufLitres), positive("UF rate", ufLPerH)); err != nil {
		return math.NaN(), err
	}
	return 60 * ufLitres / ufLPerH, nil
}

// WeeklyHours returns the hours of treatment per week from the mean treated
// time in minutes and the sessions per week.
func WeeklyHours(minutes, sessionsPerWeek float64) (float64, error) {
	if err := guard(positive("treated time", minutes), positive("sessions per week", sessionsPerWeek)); err != nil {
		return math.NaN(), err
	}
	return minutes / 60 * sessionsPerWeek, nil
}

// HaemodialysisProduct returns hours per session times the square of the
// sessions per week.
//
// Scribner and Oreopoulos 2002 (from memory).
func HaemodialysisProduct(minutes, sessionsPerWeek float64) (float64, error) {
	if err := guard(positive("treated time", minutes), positive("sessions per week", sessionsPerWeek)); err != nil {
		return math.NaN(), err
	}
	return minutes / 60 * sessionsPerWeek * sessionsPerWeek, nil
}

// ScheduleKind returns the name of an intensive schedule by the definitions of
// the Canadian Society of Nephrology 2013, from sessions per week and hours
// per session: short daily (5 or more, under 3 h), long (3 or 4, 5.5 h or
// more), long-frequent (5 or more, 5.5 h or more); "" for all others.
func ScheduleKind(sessionsPerWeek, hours float64) string {
	switch {
	case sessionsPerWeek >= 5 && hours > 0 && hours < 3:
		return "short daily"
	case sessionsPerWeek >= 3 && sessionsPerWeek < 5 && hours >= 5.5:
		return "long"
	case sessionsPerWeek >= 5 && hours >= 5.5:
		return "long-frequent"
	}
	return ""
}
