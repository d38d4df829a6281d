package calc

import "math"

// Generation factors for [SpKtVDaugirdas2], per hour of treatment.
const (
	// GFACThriceWeekly is the factor of the original formula, for three
	// sessions a week and the midweek sample (Daugirdas 1993).
	GFACThriceWeekly = 0.008
	// gfacPerDay divided by the preceding interval in days gives the factor
	// of other schedules (Daugirdas 2013; from memory).
	gfacPerDay = 0.0174
)

// GFACForInterval returns the urea generation factor per hour of treatment for
// the interval before the session in days: 0.0174/interval. Compared with an
// exact model the rule gives an spKt/V up to about 5 % high for short daily
// sessions. Prefer the kinetic model; always report which factor was used.
//
// Daugirdas et al, Nephrol Dial Transplant 2013;28:2156 (rule from memory;
// that such a factor is used is confirmed by PubMed 26743181).
func GFACForInterval(intervalDays float64) (float64, error) {
	return given(gfacPerDay/intervalDays, Positive("the interval before the session", intervalDays))
}

// UreaRatio returns R = after/before, both in the same unit. R must be above 0
// and below 1: R of 1 or more means samples swapped or mislabelled.
func UreaRatio(ureaBefore, ureaAfter float64) (float64, error) {
	return given(ureaAfter/ureaBefore,
		Positive("urea before dialysis", ureaBefore),
		Positive("urea after dialysis", ureaAfter),
		When(ureaAfter >= ureaBefore, "urea after dialysis is not below urea before: swapped or mislabelled samples"))
}

// URR returns the urea reduction ratio in percent, 100·(1-R), from urea before
// and after in the same unit. It ignores fluid removal and the urea generated
// during the session.
func URR(ureaBefore, ureaAfter float64) (float64, error) {
	ratio, err := UreaRatio(ureaBefore, ureaAfter)
	return 100 * (1 - ratio), err
}

// SpKtVDaugirdas2 returns single-pool Kt/V by the second-generation
// logarithmic formula
//
//	spKt/V = -ln(R - GFAC·t) + (4 - 3.5·R)·UF/W
//
// from the urea ratio R = after/before (same unit), the session's length in
// hours, the fluid removed in litres, the weight after dialysis in kg and the
// generation factor per hour ([GFACThriceWeekly] or [GFACForInterval]).
//
// Derived for three sessions a week, the midweek session, about 2.5 to 5 h.
// 0.008 gives a value up to 4 % low for short daily and up to 22 % low for
// long nightly sessions. A sample drawn 30 min or more after the end gives
// equilibrated Kt/V, which must not be corrected a second time.
//
// It is undefined unless R is between 0 and 1 and R - GFAC·t is positive.
//
// Daugirdas, J Am Soc Nephrol 1993;4:1205 (formula read in EBPG 2002, Nephrol
// Dial Transplant 17 suppl 7:17).
func SpKtVDaugirdas2(ureaRatio, hours, ufLitres, weightAfterKg, gfacPerHour float64) (float64, error) {
	return given(-math.Log(ureaRatio-gfacPerHour*hours)+(4-3.5*ureaRatio)*ufLitres/weightAfterKg,
		Positive("the urea ratio", ureaRatio),
		When(ureaRatio >= 1, "urea after dialysis is not below urea before: swapped or mislabelled samples"),
		Positive("treated time", hours),
		Finite("fluid removed", ufLitres),
		Positive("weight after dialysis", weightAfterKg),
		NotNegative("the generation factor", gfacPerHour),
		When(ureaRatio-gfacPerHour*hours <= 0, "urea fell so far that the generation term exceeds it: the formula is undefined"))
}

// Rebound returns the rise of urea after dialysis in percent,
// 100·(Ceq - Cpost)/Cpost, from the sample at the end and one drawn 30 min or
// more later, in the same unit.
func Rebound(ureaAfter, ureaEquilibrated float64) (float64, error) {
	return given(100*(ureaEquilibrated-ureaAfter)/ureaAfter,
		Positive("urea after dialysis", ureaAfter), Positive("equilibrated urea", ureaEquilibrated))
}

// SpKtVDaugirdas2Volume is [SpKtVDaugirdas2] with 0.55·UF/V in place of UF/W,
// V being body water in litres (variant from memory).
func SpKtVDaugirdas2Volume(ureaRatio, hours, ufLitres, volumeL, gfacPerHour float64) (float64, error) {
	if err := Guard(Positive("body water", volumeL)); err != nil {
		return math.NaN(), err
	}
	return SpKtVDaugirdas2(ureaRatio, hours, ufLitres, volumeL/0.55, gfacPerHour)
}

const daugirdas1993 = "Daugirdas, J Am Soc Nephrol 1993;4:1205 (formula read in EBPG 2002, Nephrol Dial Transplant 17 suppl 7:17)"

const gfacRule = "; generation factor: Daugirdas et al, Nephrol Dial Transplant 2013;28:2156 (from memory)"

func ureaMethods() []Method {
	return []Method{
		Method{
			ID: "urr", Version: "1", Quantity: "urea reduction ratio", Key: "urea_reduction_ratio", Unit: "%", Decimals: 1,
			Formula: "urea_reduction_ratio = 100*(1 - urea_after/urea_before)", Source: "definition",
			Range:  "knows nothing of fluid removal and urea generation",
			Inputs: need("urea_before", "urea_after"),
		}.of2(URR),
		Method{
			ID: "urr-delayed-sample", Version: "1", Quantity: "urea reduction ratio from a delayed sample", Key: "urea_reduction_ratio", Unit: "%", Decimals: 1,
			Formula: "urea_reduction_ratio = 100*(1 - urea_equilibrated/urea_before)", Source: "definition",
			Range:  "as drawn, 30 min or more after the end: lower than with a sample at the end, by the rebound",
			Inputs: need("urea_before", "urea_equilibrated"),
		}.of2(URR),
		{
			ID: "spktv-daugirdas2", Version: "1", Quantity: "single-pool Kt/V", Key: "sp_kt_v", Unit: "1", Decimals: 2,
			Formula: "sp_kt_v = -ln(R - 0.008*treated_time/60) + (4 - 3.5*R)*uf_removed/weight_after; R = urea_after/urea_before",
			Source:  daugirdas1993, Range: "three sessions a week, midweek session, about 2.5 to 5 h; sample at once after slow flow",
			Inputs: need("urea_before", "urea_after", "treated_time", "uf_removed", "weight_after"),
			eval: func(in Inputs) (float64, error) {
				return daugirdas2(in, "urea_after", GFACThriceWeekly)
			},
			notes: notesThriceWeekly,
		},
		Method{
			ID: "urea-rebound", Version: "1", Quantity: "urea rebound after dialysis", Key: "urea_rebound", Unit: "%", Decimals: 0,
			Formula: "urea_rebound = 100*(urea_equilibrated - urea_after)/urea_after", Source: "definition", Range: "second sample 30 min or more after the end",
			Inputs: need("urea_after", "urea_equilibrated"),
		}.of2(Rebound),
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
				return byInterval(in, func(gfac float64) (float64, error) { return daugirdas2(in, "urea_after", gfac) })
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
						return math.NaN(), err
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
		return math.NaN(), err
	}
	return compute(gfac)
}

// daugirdas2 is the formula with one of the samples after dialysis.
func daugirdas2(in Inputs, after string, gfac float64) (float64, error) {
	ratio, err := UreaRatio(in["urea_before"], in[after])
	if err != nil {
		return math.NaN(), err
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
