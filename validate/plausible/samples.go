package plausible

import (
	"math"

	"runsheet.example/calc"
)

// usualKoA stands for a dialyser whose KoA is not known, in mL/min (common
// practice); while the dialysate flow is low it hardly matters.
const usualKoA = 800

// waterShare is body water for body weight where it cannot be computed (common
// practice).
const waterShare = 0.58

// pair are the urea before and after in mmol/L.
func (s *Session) pair() (before, after float64, ok bool) {
	v, ok := s.all("urea_before", "urea_after")
	if !ok || v[0] <= 0 || v[1] <= 0 {
		return 0, 0, false
	}
	return v[0], v[1], true
}

// rises finds a urea after dialysis that is not below the one before: dialysis
// lowers it, so the samples are swapped or mislabelled.
func (s *Session) rises() (Disagreement, bool) {
	before, after, ok := s.pair()
	return Disagreement{UreaRises, []string{"urea_after", "urea_before"}, after, 0, before * (1 - 1e-6), "mmol/L"}, ok
}

// inDialysate is the highest concentration in dialysate of each substance that
// dialysis removes, in the unit of its limits: of potassium if the session has
// none, of phosphate if it was added (memory).
var inDialysate = map[string]float64{"creatinine": 0, "phosphate": 4, "potassium": 4}

// Rising are the substances that dialysis removes whose result after is above that
// before, in no order.
func (s *Session) Rising() (fields []string) {
	const between = 1.05 // of two results of one sample (common practice)
	for field, bath := range inDialysate {
		if set, known := s.Values["dialysate_potassium"]; known && field == "potassium" {
			bath = set
		}
		if v, ok := s.all(field+"_before", field+"_after"); ok && v[1] > between*max(v[0], bath) {
			fields = append(fields, field)
		}
	}
	return fields
}

func (s *Session) ratio() (d Disagreement, ok bool) {
	before, after, ok := s.pair()
	if !ok || after >= before {
		return d, false
	}
	d, ok = s.limited(UreaRatio, "urea_ratio", after/before, "urea_after", "urea_before")
	if factor, known := s.ClearanceFactor(); known && d.Value < d.Low && factor <= coherent {
		return d, false // a small body treated for long
	}
	return d, ok
}

// coherent is by how much more than flows and time lead to expect urea falls at most
// where that explains how far (common practice).
const coherent = 1.3

// clearance compares Kt/V of the samples with what flows, time and body water
// lead to expect.
func (s *Session) clearance() (d Disagreement, ok bool) {
	before, after, ok := s.pair()
	weight, weighed := s.Values["weight_after"]
	minutes, timed := s.MinutesOf()
	blood, bloodKnown := s.Flow("blood_flow")
	dialysate, dialysateKnown := s.Flow("dialysate_flow")
	if litres, known := s.Values["dialysate_volume"]; known && timed {
		dialysate, dialysateKnown = litres*1000/minutes, true
	}
	if !ok || !weighed || !bloodKnown || !dialysateKnown || !timed || after >= before {
		return d, false
	}
	koa, known := s.Values["dialyser_koa"]
	if !known {
		koa = usualKoA
	}
	clearance, err := calc.ClearanceInUse(blood, dialysate, koa)
	if err != nil {
		return d, false
	}
	measured, err := calc.SpKtVDaugirdas2(after/before, minutes/60, s.Values["uf_removed"], weight, s.generationFactor())
	if err != nil {
		measured = math.Log(before / after)
	}
	expected := clearance * minutes / 1000 / s.water(weight)
	return s.limited(UreaClearance, "clearance_factor", measured/expected, "urea_after", "urea_before")
}

// ClearanceFactor is Kt/V of the samples over that which flows, time and body water
// lead to expect.
func (s *Session) ClearanceFactor() (factor float64, ok bool) {
	d, ok := s.clearance()
	return d.Value, ok
}

func (s *Session) generationFactor() float64 {
	if n, known := s.Values["sessions_per_week"]; known && n > 0 {
		if factor, err := calc.GFACForInterval(7 / n); err == nil {
			return factor
		}
	}
	return calc.GFACThriceWeekly
}

func (s *Session) water(weightKg float64) float64 {
	if litres, known := s.Values["total_body_water"]; known && litres > 0 {
		return litres
	}
	return waterShare * weightKg
}

// steadyDays and steadyIntervals bound the days since the last session: after
// more than both, other treatments may have been held elsewhere in between
// (common practice).
const steadyDays, steadyIntervals = 4, 2

// generation compares the protein catabolic rate, from what a week of such
// sessions removes, with its limits.
func (s *Session) generation() (d Disagreement, ok bool) {
	rate, ok := s.CatabolicRate(1)
	intervals := s.Days / 7 * s.Values["sessions_per_week"]
	if !ok || s.Days > steadyDays && (intervals == 0 || intervals > steadyIntervals) {
		return d, false
	}
	return s.limited(UreaGeneration, "npcr", rate, "urea_before", "urea_after")
}

// CatabolicRate is the normalised protein catabolic rate in g/kg/d that the
// pair of samples, both times a factor, and the days since the last session, or
// else the schedule, lead to: what a session removes was generated since then, or in the
// mean interval where that is longer, as the day after another session. A factor shows
// what another unit would make of the pair.
func (s *Session) CatabolicRate(factor float64) (gPerKgPerDay float64, ok bool) {
	before, after, ok := s.pair()
	weight, known := s.Values["weight_after"]
	days := math.Round(s.Days) // less than a day after another treatment is no steady state
	if n := s.Values["sessions_per_week"]; n > 0 {
		days = max(days, 7/n)
	}
	minutes, timed := s.MinutesOf()
	if !ok || !known || !timed || after >= before || days <= 0 {
		return 0, false
	}
	between := days*24*60 - minutes
	volume := s.water(weight)
	c0 := calc.BodyWaterFromPlasma(calc.BUNFromUrea(before * factor)) // mg/dL
	c1 := calc.BodyWaterFromPlasma(calc.BUNFromUrea(after * factor))
	removedMg := 10 * (c0*(volume+s.Values["uf_removed"]) - c1*volume)
	excretedMg := s.Values["residual_urea_clearance"] * (c0 + c1) / 2 / 100 * between
	rate, err := calc.NPCRFromGeneration((removedMg+excretedMg)/between, volume)
	return rate, err == nil && between > 0
}
