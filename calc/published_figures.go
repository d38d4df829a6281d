package calc

// Tag is how well a definition is verified.
type Tag string

const (
	Seen   Tag = "read"        // abstract, guideline text or a secondary source was read
	Memory Tag = "from memory" // not verified
)

// Figure is a number that a guideline or paper states for certain patients. It
// is printed only if the patient is among them ([Scope.Includes]), with the
// scope in the source's words; whether a treatment reaches it is for the care
// team. The table has no statement whose own text was not read.
type Figure struct {
	ID     string
	Key    string // the quantity, in the shared vocabulary
	Kind   string // "minimum" or "target", as the source says
	Value  float64
	Unit   string // UCUM
	Source string // issuer or authors, year, number of the statement
	Grade  string // as the source prints it, "" for a paper
	Read   string // where its text was read
	Scope  Scope
}

// Scope describes the patients that a [Figure] applies to. A bound of 0 means
// none.
type Scope struct {
	Quote       string  // the scope in the source's words
	MinSessions float64 // a week
	MaxSessions float64 // a week
	BelowHours  float64 // sessions shorter than this
	BelowKru    float64 // residual urea clearance below this, mL/min
	Per173      bool    // BelowKru is per 1.73 m² of body surface
	NoKru       bool    // without residual function: none measured, or measured as 0
	MaxFlow     float64 // of dialysate, mL/min
}

// AdultYears is the minimum age for figures for adults. None of the sources
// states figures for children in the sections quoted.
const AdultYears = 18

// Patient is the known data of a patient and the prescription. Unknown data
// excludes the figures whose scope depends on it.
type Patient struct {
	AgeYears        Maybe
	SessionsPerWeek Maybe // as prescribed: 3.5 for alternate days
	HoursPerSession Maybe
	KruMLPerMin     Maybe // residual urea clearance
	SurfaceM2       Maybe // body surface area
	DialysateMLMin  Maybe // dialysate flow as prescribed
}

// Includes reports whether the patient is known to be in the scope.
func (s Scope) Includes(c Patient) bool {
	kru := c.KruMLPerMin
	if s.Per173 {
		kru = Maybe{Value: kru.Value / c.SurfaceM2.Value * 1.73, Known: kru.Known && c.SurfaceM2.Known}
	}
	switch {
	case s.MaxFlow > 0 && (!c.DialysateMLMin.Known || c.DialysateMLMin.Value > s.MaxFlow),
		!c.AgeYears.Known || c.AgeYears.Value < AdultYears,
		s.MinSessions > 0 && (!c.SessionsPerWeek.Known || c.SessionsPerWeek.Value < s.MinSessions),
		s.MaxSessions > 0 && (!c.SessionsPerWeek.Known || c.SessionsPerWeek.Value > s.MaxSessions),
		s.BelowHours > 0 && (!c.HoursPerSession.Known || c.HoursPerSession.Value >= s.BelowHours),
		s.BelowKru > 0 && (!kru.Known || kru.Value >= s.BelowKru),
		s.NoKru && c.KruMLPerMin.Known && c.KruMLPerMin.Value > 0:
		return false
	}
	return true
}

// Figures returns the published figures on dose and time whose statements were
// read.
//
// KDOQI 2006 is the 2006 update of the Clinical Practice Guidelines for
// Hemodialysis Adequacy; UK 2019 is the Renal Association guideline in BMC
// Nephrology 2019;20:379. The statement on weekly standard Kt/V of KDOQI 2015
// was not read; the paper that quotes it was (abstract).
func Figures() []Figure {
	const kdoqiRead = "statement read on the issuer's page"
	const ukRead = "statement read in a news summary of the guideline"
	minimum := Scope{Quote: "3 times per week to patients with Kr less than 2 mL/min/1.73 m2", MinSessions: 3, MaxSessions: 3, BelowKru: 2, Per173: true}
	short := minimum
	short.Quote, short.BelowHours = minimum.Quote+"; treatment times less than 5 hours", 5
	length := Scope{Quote: "thrice-weekly dialysis in patients with Kr less than 2 mL/min", MinSessions: 3, MaxSessions: 3, BelowKru: 2}
	thrice := Scope{Quote: "thrice weekly patients, in the absence of a measured contribution from residual function", MinSessions: 3, MaxSessions: 3, NoKru: true}
	hours := Scope{Quote: "the majority of thrice weekly patients with minimal residual function", MinSessions: 3, MaxSessions: 3, NoKru: true}
	// The abstract names no flow: 200 mL/min is the most that such devices give
	// (memory). Its schedules of home patients do not include two a week
	// (memory).
	home := Scope{Quote: "home haemodialysis performed with low-flow dialysate devices and variable treatment schedules", MinSessions: 3, MaxFlow: 200}
	return []Figure{
		{"kdoqi2006-urr-min", "urea_reduction_ratio", "minimum", 65, "%", "KDOQI 2006 CPG 4.1", "A", kdoqiRead, short},
		{"kdoqi2006-urr-target", "urea_reduction_ratio", "target", 70, "%", "KDOQI 2006 CPG 4.2", "A", kdoqiRead, minimum},
		{"kdoqi2006-spktv-min", "sp_kt_v", "minimum", 1.2, "1", "KDOQI 2006 CPG 4.1", "A", kdoqiRead, minimum},
		{"kdoqi2006-spktv-target", "sp_kt_v", "target", 1.4, "1", "KDOQI 2006 CPG 4.2", "A", kdoqiRead, minimum},
		{"uk2019-ektv", "e_kt_v", "minimum", 1.2, "1", "UK 2019 guideline 1.2", "1B", ukRead, thrice},
		{"casino2023-std", "std_kt_v_weekly", "target", 2.3, "1", "Casino et al, Nephrol Dial Transplant 2024;39:445, citing KDOQI 2015", "", "abstract read, the guideline's own statement not", home},
		{"kdoqi2006-time-min", "treated_time", "minimum", 180, "min", "KDOQI 2006 CPR 4.9", "clinical practice recommendation", kdoqiRead, length},
		{"uk2019-hours", "weekly_hours", "minimum", 12, "h", "UK 2019 guideline 1.3", "1B", ukRead, hours},
	}
}
