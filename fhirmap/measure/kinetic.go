package measure

import (
	"time"

	"runsheet.example/calc"
	"runsheet.example/calc/kinetics"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Kinetics is the urea kinetics of a log as treated: not a planned week but
// every session done, at its time, with its length, flows and fluid, and no
// session where none was done.
type Kinetics struct {
	// Fits are the starting points in time order: one for each session with
	// samples before and after, and one from flows only for each stretch of
	// the log without a sample. A failed one has its reason.
	Fits []*KineticFit
	// Weeks are the local weeks of the log, Monday to Sunday, with values or
	// the reason of their absence.
	Weeks []KineticWeek
	// Notes apply to all weeks.
	Notes []string
}

// KineticFit is a starting point of the model: a span of the log of one to
// four weeks, assumed to have repeated before, and the sample at its end.
type KineticFit struct {
	// Session is the session of the samples; without samples, the last of
	// the span.
	Session *session.Session
	// Sampled reports that generation, and clearance or volume, are fitted to
	// the samples. Without samples only doses have values, which do not depend
	// on generation and are estimates from flows.
	Sampled bool
	// From is the start of the first session of the span, Days the length of
	// the span and Sessions its number of sessions, without the first.
	From     time.Time
	Days     float64
	Sessions int
	// Before and After are the sampled plasma urea, mmol/L; Equilibrated
	// reports that the second sample was drawn 30 minutes or more after the
	// end.
	Before, After float64
	Equilibrated  bool
	// Cells are the log cells of the two, in that order.
	Cells []issue.Cell
	// Forecast is the prediction of this sample by the model from the fit
	// before; nil for the first.
	Forecast *Forecast
	// Models are the fitted models, the main one first.
	Models []FittedModel
	Notes  []string
	WhyNot string
}

// Start describes the starting point of the model.
func (f *KineticFit) Start() string {
	if f.Sampled {
		return "the samples of " + day(f.Session.Date.Time)
	}
	return "flows and body size"
}

// Forecast is urea before and after a session as predicted by the model,
// plasma, mmol/L.
type Forecast struct{ Before, After float64 }

// FittedModel is one model of a fit.
type FittedModel struct {
	// Name describes pools, volume and clearance in words.
	Name string
	// Body is the person as fitted. VolumeFrom is the formula of the volume,
	// or states that it is fitted.
	Body       kinetics.Body
	VolumeFrom string
	// Factor is the ratio of the clearance used to the one from flows and KoA.
	Factor float64
	// NPCR is the protein catabolic rate from generation; without a sample it
	// has the reason of its absence.
	NPCR   calc.Result
	WhyNot string
}

// KineticWeek is one local week in the model.
type KineticWeek struct {
	Monday time.Time
	// Fit is the starting point of the model; nil without a value.
	Fit *KineticFit
	// Models are parallel to Fit.Models.
	Models []WeekModel
	// Sensitivity is, for the main model, the change of this week's weekly
	// standard Kt/V and EKR when its least certain inputs have other values
	// and the samples are fitted again.
	Sensitivity []Sensitivity
	WhyNot      string
}

// WeekModel is the values of one week by one model.
type WeekModel struct {
	Name string
	// Values are weekly standard Kt/V by definition, EKR, EKR at 40 L and EKR
	// as weekly Kt/V; with samples also mean urea before dialysis and
	// time-averaged urea.
	Values []calc.Result
	WhyNot string
}

// Value returns the value with a key.
func (m WeekModel) Value(key string) (calc.Result, bool) {
	for _, r := range m.Values {
		if r.Method.Key == key && r.OK() {
			return r, true
		}
	}
	return calc.Result{}, false
}

// Main is the week by its main model, the first one with values.
func (w KineticWeek) Main() (WeekModel, bool) {
	for _, m := range w.Models {
		if m.WhyNot == "" {
			return m, true
		}
	}
	return WeekModel{}, false
}

// kinetic is the computation for one log.
type kinetic struct {
	log       *session.Log
	stretches []stretch
	runs      []*kineticRun
}

// FollowKinetics computes the urea kinetics of a log as treated.
//
// Clearance in each session comes from blood flow, dialysate flow, KoA and
// ultrafiltration (Michaels, with blood water and KoA in use), body water from
// Watson's formula, residual clearance from the prescription. If a session has
// urea before and after, the model assumes that the span of one to four weeks
// up to it is a repeating cycle. The samples determine generation and one
// factor on all clearances or, in the named alternative, the volume with
// unchanged clearances. From there the model runs through every session done.
// Body volume follows the scales, one litre for one kilogram.
//
// A held-back session, a missing input, days without rows or a change of
// residual clearance stop the model. It starts again afterwards, and the weeks
// between have the reason of the absence.
func FollowKinetics(log *session.Log) Kinetics {
	k, out := startKinetics(log)
	out.Weeks = k.weeks()
	out.Notes = unplaced(log)
	return out
}

// startKinetics fits the model wherever it can start and runs it from there.
func startKinetics(log *session.Log) (*kinetic, Kinetics) {
	k := &kinetic{log: log}
	k.stretches = k.split()
	var out Kinetics
	for i := range k.stretches {
		k.start(&k.stretches[i], &out)
	}
	return k, out
}

// unplaced lists the sessions that weeks may lack without any row.
func unplaced(log *session.Log) []string {
	undated, held := 0, 0
	for _, s := range log.Sessions {
		switch {
		case !s.Date.OK():
			undated++
		case s.Broken:
			held++
		}
	}
	var notes []string
	if undated > 0 {
		notes = append(notes, issue.Plural(undated, "session has", "sessions have")+" no readable date and cannot be placed: the weeks are without them")
	}
	if held > 0 {
		notes = append(notes, issue.Plural(held, "session is", "sessions are")+" held back because of mistakes; one with a wrong date is missing from the week it belongs to")
	}
	return notes
}
