package calc

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
	return given(1000*ufLitres/minutes, Positive("fluid removed", ufLitres), Positive("treated time", minutes))
}

// DialysateNeeded returns the dialysate volume in litres for a dialysate-side
// Kt/V, (Kt/V)·V/DS - UF, from urea volume in litres, saturation and UF volume
// in litres. It illustrates a Kt/V and is not a prescription.
func DialysateNeeded(ktV, volumeL, saturation, ufLitres float64) (float64, error) {
	needed := ktV*volumeL/saturation - ufLitres
	return given(needed,
		Positive("Kt/V", ktV), Positive("body water", volumeL), Positive("dialysate saturation", saturation),
		When(saturation > 1, "dialysate saturation is above 1"), NotNegative("fluid removed", ufLitres),
		When(needed <= 0, "the fluid removed alone clears more than this Kt/V"))
}

// TimeFromDialysate returns the treatment time in minutes that a dialysate
// volume in litres lasts at a flow in mL/min.
func TimeFromDialysate(dialysateLitres, dialysateFlow float64) (float64, error) {
	return given(1000*dialysateLitres/dialysateFlow,
		Positive("dialysate volume", dialysateLitres), Positive("dialysate flow", dialysateFlow))
}

// FlowFraction returns dialysate flow over blood flow in percent. Saturation
// is near 1 only while it is small: about 0.98 at 37 to 40 %, 0.93 at 67 %
// and 0.75 at 100 % for KoA of 700 to 1000 mL/min.
func FlowFraction(dialysateFlow, bloodFlow float64) (float64, error) {
	return given(100*dialysateFlow/bloodFlow, Positive("dialysate flow", dialysateFlow), Positive("blood flow", bloodFlow))
}

// NominalKtV returns K·t/V from a nominal clearance in mL/min, the treated
// time in minutes and urea volume in litres. It is an estimate without sample,
// generation and fluid removal.
func NominalKtV(clearance, minutes, volumeL float64) (float64, error) {
	return given(clearance*minutes/(1000*volumeL),
		Positive("clearance", clearance), Positive("treated time", minutes), Positive("body water", volumeL))
}

// UFRate returns the mean ultrafiltration rate in L/h from the UF volume in
// litres and the time in minutes.
func UFRate(ufLitres, minutes float64) (float64, error) {
	return given(ufLitres/(minutes/60), Finite("UF volume", ufLitres), Positive("treated time", minutes))
}

// UFTime returns the minutes that a UF volume in litres takes at a rate in
// L/h.
func UFTime(ufLitres, ufLPerH float64) (float64, error) {
	return given(60*ufLitres/ufLPerH, Positive("UF volume", ufLitres), Positive("UF rate", ufLPerH))
}

// WeeklyHours returns the hours of treatment per week from the mean treated
// time in minutes and the sessions per week.
func WeeklyHours(minutes, sessionsPerWeek float64) (float64, error) {
	return given(minutes/60*sessionsPerWeek,
		Positive("treated time", minutes), Positive("sessions per week", sessionsPerWeek))
}

// HaemodialysisProduct returns hours per session times the square of the
// sessions per week.
//
// Scribner and Oreopoulos 2002 (from memory).
func HaemodialysisProduct(minutes, sessionsPerWeek float64) (float64, error) {
	return given(minutes/60*sessionsPerWeek*sessionsPerWeek,
		Positive("treated time", minutes), Positive("sessions per week", sessionsPerWeek))
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

func planMethods() []Method {
	return []Method{
		Method{
			ID: "time-from-dialysate", Version: "1", Quantity: "time the dialysate lasts", Key: "planned_time", Unit: "min", Decimals: 0,
			Formula: "planned_time = 1000*dialysate_volume/dialysate_flow", Source: "definition", Range: "constant dialysate flow",
			Inputs: need("dialysate_volume", "dialysate_flow"),
		}.of2(TimeFromDialysate),
		Method{
			ID: "flow-fraction", Version: "1", Quantity: "dialysate flow over blood flow", Key: "flow_fraction", Unit: "%", Decimals: 0,
			Formula: "flow_fraction = 100*dialysate_flow/blood_flow", Source: "common practice",
			Range:  "saturation is near 1 only while it is below about 40 %",
			Inputs: need("dialysate_flow", "blood_flow"),
		}.of2(FlowFraction),
		Method{
			ID: "uf-rate-mean", Version: "1", Quantity: "mean UF rate", Key: "uf_rate_mean", Unit: "L/h", Decimals: 2,
			Formula: "uf_rate_mean = uf_removed/(treated_time/60)", Source: "definition", Range: "mean over the session",
			Inputs: need("uf_removed", "treated_time"),
			notes:  negativeUF,
		}.of2(UFRate),
		Method{
			ID: "uf-time", Version: "1", Quantity: "time the UF goal takes at the set rate", Key: "uf_time", Unit: "min", Decimals: 0,
			Formula: "uf_time = 60*uf_goal/uf_rate", Source: "definition", Range: "constant UF rate",
			Inputs: need("uf_goal", "uf_rate"),
		}.of2(UFTime),
		Method{
			ID: "dialysate-needed", Version: "1", Quantity: "dialysate volume a dialysate-side Kt/V takes", Key: "dialysate_needed", Unit: "L", Decimals: 1,
			Formula: "dialysate_needed = dialysate_kt_v*total_body_water/dialysate_saturation - uf_removed", Source: "mass balance over the drained fluid",
			Range:  "shows what a Kt/V stands for; no prescription",
			Inputs: need("dialysate_kt_v", "total_body_water", "dialysate_saturation", "uf_removed"),
		}.of4(DialysateNeeded),
		Method{
			ID: "weekly-hours", Version: "1", Quantity: "hours of treatment per week", Key: "weekly_hours", Unit: "h", Decimals: 1,
			Formula: "weekly_hours = treated_time/60*sessions_per_week", Source: "definition", Range: "mean length and rolling count of sessions",
			Inputs: need("treated_time", "sessions_per_week"),
		}.of2(WeeklyHours),
		Method{
			ID: "haemodialysis-product", Version: "1", Quantity: "haemodialysis product", Key: "haemodialysis_product", Unit: "1", Decimals: 0,
			Formula: "haemodialysis_product = treated_time/60*sessions_per_week^2", Source: "Scribner and Oreopoulos 2002 (from memory)", Range: "compares schedules only",
			Inputs: need("treated_time", "sessions_per_week"),
		}.of2(HaemodialysisProduct),
	}
}
