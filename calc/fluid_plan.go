package calc

import (
	"fmt"
	"math"
)

// VolumeRateTime is a volume, a rate and a time, any of which may be unknown.
// Two give the third; three must agree.
type VolumeRateTime struct {
	VolumeL   Maybe // litres
	RateLPerH Maybe // litres per hour
	TimeMin   Maybe // minutes
}

// Maybe is a number that may not have been recorded.
type Maybe struct {
	Value float64
	Known bool
}

// Known wraps a number that was recorded.
func Known(v float64) Maybe { return Maybe{v, true} }

// Implied is the values of a [VolumeRateTime] computed from two of its three.
type Implied struct {
	VolumeL   Maybe // rate × time
	RateLPerH Maybe // volume / time
	TimeMin   Maybe // volume / rate
	// Agree is false if all three are known and volume and rate × time differ
	// by more than the tolerance.
	Agree bool
	// Text states the computed values in plain words, one sentence each.
	Text []string
}

// Implies computes each of volume, rate and time from the other two. tolerance
// is the largest relative difference between the volume and rate × time that
// counts as agreement, for instance 0.1.
func (q VolumeRateTime) Implies(tolerance float64) Implied {
	out := Implied{Agree: true}
	volume, rate, minutes := usable(q.VolumeL), usable(q.RateLPerH), usable(q.TimeMin)
	if rate.Known && minutes.Known {
		out.VolumeL = Known(rate.Value * minutes.Value / 60)
		out.Text = append(out.Text, fmt.Sprintf("%s L/h for %s is %s L", roundDecimal(rate.Value, 2), hoursMinutes(minutes.Value), roundDecimal(out.VolumeL.Value, 2)))
	}
	if volume.Known && minutes.Known {
		out.RateLPerH = Known(volume.Value / (minutes.Value / 60))
		out.Text = append(out.Text, fmt.Sprintf("%s L over %s is %s L/h", roundDecimal(volume.Value, 2), hoursMinutes(minutes.Value), roundDecimal(out.RateLPerH.Value, 2)))
	}
	if volume.Known && rate.Known {
		out.TimeMin = Known(60 * volume.Value / rate.Value)
		out.Text = append(out.Text, fmt.Sprintf("%s L at %s L/h takes %s", roundDecimal(volume.Value, 2), roundDecimal(rate.Value, 2), hoursMinutes(out.TimeMin.Value)))
	}
	if volume.Known && rate.Known && minutes.Known {
		out.Agree = math.Abs(out.VolumeL.Value-volume.Value) <= tolerance*volume.Value
	}
	return out
}

// usable removes numbers that cannot be used.
func usable(m Maybe) Maybe {
	if m.Known && (Finite("", m.Value) != "" || m.Value <= 0) {
		return Maybe{}
	}
	return m
}

func hoursMinutes(minutes float64) string {
	whole := math.Round(minutes)
	hours := math.Floor(whole / 60)
	return fmt.Sprintf("%.0f h %02.0f min", hours, whole-60*hours)
}

// FluidPlan is a treatment as set: dialysate and ultrafiltration run over the
// same time, so their volumes, rates and times depend on each other.
type FluidPlan struct {
	DialysateL       Maybe // dialysate volume, litres
	DialysateLPerH   Maybe // dialysate flow, litres per hour
	UFLitres         Maybe // UF volume or goal, litres
	UFLPerH          Maybe // UF rate, litres per hour
	TreatmentTimeMin Maybe // set or treated time, minutes
}

// PlanImplied is the values computed from a [FluidPlan].
type PlanImplied struct {
	Dialysate Implied
	UF        Implied
	// TimeMin is the time used for ultrafiltration: the treatment time if
	// recorded, otherwise the duration of the dialysate.
	TimeMin Maybe
	// UFEndsEarlyMin is the time before the end at which the UF volume is
	// reached at the UF rate; negative if it is not reached in time.
	UFEndsEarlyMin Maybe
	Text           []string
}

// Implies computes the values of the plan; see [VolumeRateTime.Implies].
func (p FluidPlan) Implies(tolerance float64) PlanImplied {
	out := PlanImplied{TimeMin: p.TreatmentTimeMin}
	out.Dialysate = VolumeRateTime{p.DialysateL, p.DialysateLPerH, p.TreatmentTimeMin}.Implies(tolerance)
	if !out.TimeMin.Known {
		out.TimeMin = out.Dialysate.TimeMin
	}
	out.UF = VolumeRateTime{p.UFLitres, p.UFLPerH, out.TimeMin}.Implies(tolerance)
	for _, line := range out.Dialysate.Text {
		out.Text = append(out.Text, "dialysate: "+line)
	}
	for _, line := range out.UF.Text {
		out.Text = append(out.Text, "fluid removal: "+line)
	}
	if out.UF.TimeMin.Known && out.TimeMin.Known {
		out.UFEndsEarlyMin = Known(out.TimeMin.Value - out.UF.TimeMin.Value)
	}
	return out
}
