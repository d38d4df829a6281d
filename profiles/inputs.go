package profiles

// A computed Observation names each of its inputs, so that it can be computed
// again from the record alone: an input that is an Observation of the record
// by derivedFrom, any other by a component with the code given here. Age and
// sex, for instance, go into body water, but no birth date leaves the log.
//
// Decision 4. An auditor must recompute a value from its Bundle alone.
// Inputs that are Observations are linked by derivedFrom; others (age,
// height, sessions a week) are components. So no birth date leaves the log.

// Input is one component by which a computed Observation states an input that
// is no Observation of its own.
type Input struct {
	// Key is the input's name in the computing methods.
	Key    string
	Coding Coding
	// Unit is the UCUM code; empty for a coded input.
	Unit   string
	Source string
}

// Inputs returns the table of stated inputs, which belongs to the package.
func Inputs() []Input { return inputs }

var inputs = []Input{
	{"height", loinc("8302-2", "Body height"), "cm", srcR4},
	{"age", local("input-age", "Age at the time of treatment"), "a", srcLocal},
	{"sex", local("input-sex", "Sex used in the formula"), "", srcLocal},
	{"previous_weight_after", local("input-previous-weight-after", "Body weight after the previous dialysis"), "kg", srcLocal},
	{"urea_before", local("input-urea-before", "Urea before the treatment"), "mmol/L", srcLocal},
	{"uf_removed", local("input-uf-removed", "Ultrafiltration volume of the whole treatment"), "L", srcLocal},
	{"sessions_per_week", local("input-sessions-per-week", "Dialysis sessions per week"), "/wk", srcLocal},
	{"preceding_interval", local("input-preceding-interval", "Interval since the previous dialysis"), "d", srcLocal},
	{"weekly_uf", local("input-weekly-uf", "Ultrafiltration volume of the week"), "L", srcLocal},
	{"dialyser_koa", local("input-dialyser-koa", "Dialyser mass transfer-area coefficient for urea"), "mL/min", srcLocal},
	{"residual_urea_clearance", local("residual-urea-clearance", "Residual urea clearance"), "mL/min", srcLocal},
	{"dry_weight", loinc("8340-2", "Dry body weight Estimated"), "kg", "NLM VSAC 2.16.840.1.113762.1.4.1196.1352"},
	{"blood_flow", local("blood-flow-rate", "Blood flow rate"), "mL/min", srcLocal},
	{"dialysate_flow", local("dialysate-flow-rate", "Dialysate flow rate"), "mL/min", srcLocal},
	{"treated_time", local("treatment-time-delivered", "Treatment time delivered"), "min", srcLocal},
	{"sessions_counted", local("input-sessions-counted", "Sessions of the week with a record"), "/wk", srcLocal},
	{"weekly_treated_time", local("input-weekly-treated-time", "Treated time of the week"), "min", srcLocal},
	{"urea_generation", local("model-urea-generation", "Urea nitrogen generation of the urea model"), "mg/min", srcLocal},
	{"total_body_water", local("model-urea-volume", "Urea volume of the urea model after dialysis"), "L", srcLocal},
	{"mean_urea_before", local("model-mean-urea-before", "Mean urea nitrogen in body water before dialysis by the urea model"), "mg/dL", srcLocal},
	{"time_averaged_urea", local("model-time-averaged-urea", "Time-averaged urea nitrogen in body water by the urea model"), "mg/dL", srcLocal},
	{"urea_pool_1", local("model-urea-pool-1", "Urea nitrogen in the pool that the dialyser reaches, at the start of the week"), "mg/dL", srcLocal},
	{"urea_pool_2", local("model-urea-pool-2", "Urea nitrogen in the pool behind it, at the start of the week"), "mg/dL", srcLocal},
	{"body_water", local("model-body-water", "Body water at the start of the week"), "L", srcLocal},
	{"reference_weight", local("model-reference-weight", "Body weight at which body water is the urea volume"), "kg", srcLocal},
	{"clearance_factor", local("model-clearance-factor", "Clearance over the clearance from flows and KoA"), "1", srcLocal},
	{"planned_not_done", local("model-planned-not-done", "Minutes from the start of the week to a session planned and not done"), "min", srcLocal},
	{"fluid_gain_rate", local("model-fluid-gain-rate", "Fluid taken to be gained a day after the last session"), "L/d", srcLocal},
}

// InputOf returns the stated input of a key.
func InputOf(key string) (Input, bool) {
	for _, in := range Inputs() {
		if in.Key == key {
			return in, true
		}
	}
	return Input{}, false
}

// ModelWeek is one local week with the state of the urea model at its start,
// ModelWeeks gathers those of a log.
var (
	ModelWeek  = local("urea-model-week", "Week of dialysis with the urea model at its start")
	ModelWeeks = local("urea-model-weeks", "Weeks of dialysis")
)

// Gathering lists the local codes of what only gathers values.
func Gathering() []Coding { return []Coding{ModelWeek, ModelWeeks} }

// AdequacyPanel gathers the measures of dose of a session (LOINC, NLM VSAC
// 1267.13).
var AdequacyPanel = loinc("70300-9", "ESRD dialysis adequacy panel")
