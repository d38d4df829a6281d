package kinetics

import (
	"fmt"

	"runsheet.example/calc"
)

// Dose is what a period did to the urea of a body: one cycle of a steady
// state or a [Window] of a run.
type Dose struct {
	Body                Body
	MeanBeforeMgPerDL   float64 // mean concentration before dialysis; NaN without a session, done or planned
	TimeAveragedMgPerDL float64 // mean concentration of pool 1
	GeneratedMg         float64
	DialyserRemovedMg   float64
	KidneyRemovedMg     float64
}

// StdKtV returns 10080·G/V over the mean concentration before dialysis: the
// definition of the weekly standard Kt/V, applied in a [Window] to weeks that
// are not in steady state. There a session planned and not done counts with
// the concentration at its time; without it, a missed session after the long
// interval of the week would raise the value. Shortened and missed sessions
// raise the concentrations before later ones, so their effect lasts beyond
// their week. It is NaN without a session or generation.
func (d Dose) StdKtV() float64 {
	v, _ := calc.StdKtVByDefinition(d.Body.GenerationMgPerMin, d.Body.VolumeL, d.MeanBeforeMgPerDL)
	return v
}

// EKR returns generation over the time-averaged concentration, mL/min; NaN
// without generation.
func (d Dose) EKR() float64 {
	v, _ := calc.EKR(d.Body.GenerationMgPerMin, d.TimeAveragedMgPerDL)
	return v
}

// Inputs are the model's values for the methods of a week: generation, urea
// volume and the mean concentrations. Without a session, done or planned,
// there is no mean before dialysis.
func (w Window) Inputs() calc.Inputs {
	in := calc.Inputs{
		"urea_generation": w.Body.GenerationMgPerMin, "total_body_water": w.Body.VolumeL,
		"time_averaged_urea": w.TimeAveragedMgPerDL,
	}
	if w.Sessions+w.NotDone > 0 {
		in["mean_urea_before"] = w.MeanBeforeMgPerDL
	}
	return in
}

// Results returns the doses of the window as results with method and inputs.
// Without a session in the window there is no standard Kt/V.
func (w Window) Results() []calc.Result {
	suffix := calc.KineticSuffix(w.Body.Pools.Single())
	results := doses(w.Body, w.MeanBeforeMgPerDL, w.TimeAveragedMgPerDL, suffix)
	if w.Sessions+w.NotDone == 0 {
		results[0].WhyNot = noSession
		results[0].Missing = nil
	}
	for i := range results {
		results[i].Notes = append(results[i].Notes, modelNotes(w.Body)...)
		results[i].Notes = append(results[i].Notes, w.counted())
	}
	return results
}

func (w Window) counted() string {
	text := fmt.Sprintf("%d sessions in %s days as they were done", w.Sessions, calc.ShortDecimal((w.ToMin-w.FromMin)/1440))
	if w.NotDone > 0 {
		text += fmt.Sprintf("; %d planned and not done: urea at the time of day of the session before counts in the mean before dialysis", w.NotDone)
	}
	return text
}

// Concentrations returns mean urea before dialysis and time-averaged urea in
// laboratory units. They have no meaning if generation was assumed.
func (w Window) Concentrations() []calc.Result {
	suffix := calc.KineticSuffix(w.Body.Pools.Single())
	results := calc.Sequence(w.Inputs(), "mean-urea-before-"+suffix, "time-averaged-urea-"+suffix)
	if w.Sessions+w.NotDone == 0 {
		results[0].WhyNot, results[0].Missing = noSession, nil
	}
	return results
}

const noSession = "no session starts in this stretch, and none was planned in it"

func doses(b Body, meanBefore, timeAveraged float64, suffix string) []calc.Result {
	in := calc.Inputs{
		"urea_generation": b.GenerationMgPerMin, "total_body_water": b.VolumeL,
		"mean_urea_before": meanBefore, "time_averaged_urea": timeAveraged,
	}
	ids := []string{"stdktv-" + suffix, "ekr-" + suffix, "ekr-corrected", "std-ekr"}
	if !b.GenerationAssumed {
		ids = append(ids, "npcr-generation")
	}
	return calc.Sequence(in, ids...)
}

func modelNotes(b Body) []string {
	var notes []string
	if !b.Pools.Single() {
		notes = append(notes, fmt.Sprintf("urea exchange %s mL/min per litre of body water (from memory)", calc.ShortDecimal(b.Pools.ExchangePerLitre)))
	}
	if b.GenerationAssumed {
		notes = append(notes, "urea generation was assumed and not measured; this dose does not depend on it")
	}
	return append(notes, fmt.Sprintf("residual urea clearance %s mL/min", calc.ShortDecimal(b.ResidualMLPerMin)))
}
