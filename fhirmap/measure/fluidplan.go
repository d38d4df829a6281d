package measure

import (
	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// planTolerance is the largest relative difference between volume and rate
// times time that counts as agreement (common practice, one part in ten).
const planTolerance = 0.1

// FluidPlan is dialysate and ultrafiltration as set, with the values computed
// from volume, rate and time: two of the three give the third, and three must
// agree.
type FluidPlan struct {
	Set     calc.FluidPlan
	Implied calc.PlanImplied
	// RateChanged reports that the readings have more than one UF rate. Set
	// then has the first; Lowest and Highest are the range, L/h.
	RateChanged     bool
	Lowest, Highest float64
}

// FluidPlans returns the plan of each session as it was set: dialysate volume
// and flow, the UF goal, the UF rate of the first reading, and the treated
// time. The result is parallel to log.Sessions; broken and skipped sessions
// have an empty one.
func FluidPlans(log *session.Log) []FluidPlan {
	plans := make([]FluidPlan, len(log.Sessions))
	for i, s := range log.Sessions {
		if s.Broken || s.Status == session.SkippedStatus {
			continue
		}
		plans[i] = sessionPlan(s)
	}
	return plans
}

func sessionPlan(s *session.Session) FluidPlan {
	p := FluidPlan{Set: calc.FluidPlan{
		DialysateL: maybe(s.Value("dialysate_volume"), "L"), DialysateLPerH: maybe(s.Value("dialysate_flow"), "L/h"),
		UFLitres: maybe(s.Value("uf_goal"), "L"),
	}}
	if in, _ := treatedTime(s); in.Key != "" {
		p.Set.TreatmentTimeMin = calc.Known(in.Number)
	}
	for _, r := range s.Readings {
		rate := maybe(r.Value("uf_rate"), "L/h")
		switch {
		case !rate.Known:
		case !p.Set.UFLPerH.Known:
			p.Set.UFLPerH, p.Lowest, p.Highest = rate, rate.Value, rate.Value
		default:
			p.RateChanged = p.RateChanged || rate != p.Set.UFLPerH
			p.Lowest, p.Highest = min(p.Lowest, rate.Value), max(p.Highest, rate.Value)
		}
	}
	p.Implied = p.Set.Implies(planTolerance)
	return p
}

// PrescribedPlan is the plan of a prescription: dialysate volume, dialysate
// flow and length.
func PrescribedPlan(p session.Prescription) FluidPlan {
	plan := FluidPlan{Set: calc.FluidPlan{
		DialysateL: maybe(p.Values["dialysate_volume"], "L"), DialysateLPerH: maybe(p.Values["dialysate_flow"], "L/h"),
		TreatmentTimeMin: maybe(p.DurationMin, "min"),
	}}
	plan.Implied = plan.Set.Implies(planTolerance)
	return plan
}

// maybe is an entered number in a unit, if it is a plain number.
func maybe(v session.Value, unit string) calc.Maybe {
	if !v.OK() || v.Comparator != "" {
		return calc.Maybe{}
	}
	number, _, ok := convert(v, unit)
	return calc.Maybe{Value: number, Known: ok}
}
