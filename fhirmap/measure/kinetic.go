package measure

import (
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Kinetics is what urea kinetics say of a log as it was: no planned week but
// every session done, at its hour, with its length, flows and fluid, and no
// session where none was done.
type Kinetics struct {
	// Fits are the starting points in time order: one for each session with
	// samples before and after, and one from flows only for each stretch of
	// the log that no sample covers. One that failed says why.
	Fits []*KineticFit
	// Weeks are the local weeks of the log, Monday to Sunday, with values or
	// the reason why there are none.
	Weeks []KineticWeek
	// Notes hold for all weeks.
	Notes []string
}

// KineticFit is where the model starts from: a span of the log of one to four
// weeks that is taken to have repeated before, and the sample at its end.
type KineticFit struct {
	// Session is the session of the samples; without samples, the last of
	// the span.
	Session *session.Session
	// Sampled means that generation, and clearance or volume, are fitted to
	// the samples. Without them only doses have values, which do not depend
	// on generation, and they are estimates from flows.
	Sampled bool
	// From is the start of the session that opens the span, Days the length
	// of the span and Sessions their number, the opening one not counted.
	From     time.Time
	Days     float64
	Sessions int
	// Before and After are the sampled plasma urea, mmol/L; Equilibrated
	// means that the second was drawn 30 minutes or more after the end.
	Before, After float64
	Equilibrated  bool
	// Cells are where the two were written, in that order.
	Cells []issue.Cell
	// Forecast is what the model, started from the fit before this one, said
	// of this sample; nil for the first.
	Forecast *Forecast
	// Models are the fitted models, the main one first.
	Models []FittedModel
	Notes  []string
	WhyNot string
}

// Start says what the model starts from.
func (f *KineticFit) Start() string {
	if f.Sampled {
		return "the samples of " + day(f.Session.Date.Time)
	}
	return "flows and body size"
}

// Forecast is urea before and after a session by the model, plasma, mmol/L.
type Forecast struct{ Before, After float64 }

// FittedModel is one model of a fit.
type FittedModel struct {
	// Name says in words which pools, volume and clearance.
	Name string
	// Body is the person as fitted. VolumeFrom names the formula of the
	// volume, or says that it is fitted.
	Body       calc.Body
	VolumeFrom string
	// Factor is the clearance used over the one from flows and KoA.
	Factor float64
	// NPCR is the protein catabolic rate by generation; without sample it
	// says why there is none.
	NPCR   calc.Result
	WhyNot string
}

// KineticWeek is one local week as the model sees it.
type KineticWeek struct {
	Monday time.Time
	// Fit is where the model started; nil when there is no value.
	Fit *KineticFit
	// Models are parallel to Fit.Models.
	Models []WeekModel
	// Sensitivity shows for the main model how weekly standard Kt/V and EKR
	// of this week move when its least certain inputs take other values and
	// the samples are fitted again.
	Sensitivity []calc.Sensitivity
	WhyNot      string
}

// WeekModel holds the values of one week by one model.
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

// Main is the week by its main model, the first that came out.
func (w KineticWeek) Main() (WeekModel, bool) {
	for _, m := range w.Models {
		if m.WhyNot == "" {
			return m, true
		}
	}
	return WeekModel{}, false
}

// kinetic works out one log.
type kinetic struct {
	log       *session.Log
	stretches []stretch
	runs      []*kineticRun
}

// FollowKinetics computes the urea kinetics of a log as it was.
//
// Clearance in each session comes from blood flow, dialysate flow, KoA and
// ultrafiltration (Michaels, with blood water and KoA in use), body water from
// Watson's formula, residual clearance from the prescription. Where a session
// has urea before and after, the span of one to four weeks up to it is taken
// as a cycle that repeats; the samples give generation and one factor on all
// clearances, or, as the alternative named so, the volume with the clearances
// as they are. From there the model is followed through every session done.
// Body volume follows the scales, one litre for one kilogram.
//
// A session that is held back, an input that is missing, days of which nothing
// is written or a change of residual clearance stop the model; it starts again
// behind, and the weeks between say why they have no value.
func FollowKinetics(log *session.Log) Kinetics {
	k, out := startKinetics(log)
	out.Weeks = k.weeks()
	out.Notes = unplaced(log)
	return out
}

// startKinetics fits the model wherever it can start and follows it from there.
func startKinetics(log *session.Log) (*kinetic, Kinetics) {
	k := &kinetic{log: log}
	k.stretches = k.split()
	var out Kinetics
	for i := range k.stretches {
		k.start(&k.stretches[i], &out)
	}
	return k, out
}

// unplaced says which sessions may be missing from weeks without a trace.
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
		notes = append(notes, countOf(undated, "session has", "sessions have")+" no readable date and cannot be placed: the weeks are without them")
	}
	if held > 0 {
		notes = append(notes, countOf(held, "session is", "sessions are")+" held back because of mistakes; one with a wrong date is missing from the week it belongs to")
	}
	return notes
}
