package calc

import "fmt"

// Tag says how well a figure is known.
type Tag string

const (
	Seen           Tag = "read"                          // abstract, guideline text or a secondary source was read
	Memory         Tag = "from memory"                   // not verified
	CommonPractice Tag = "common practice, no source"    // a fact of the trade
	SeenNotGrade   Tag = "value read, grade from memory" // the number was read, its grade was not
)

// Target is one guideline recommendation. It is printed beside a value with
// its source and grade; whether a treatment does is for the care team.
type Target struct {
	ID          string
	Guideline   string // issuer, year, number
	Key         string // the quantity it speaks of, in the shared vocabulary; "" for advice without a value
	Kind        string // "minimum", "target" or "advice"
	Value       float64
	Unit        string // UCUM; "" when there is no value
	Grade       string // as the guideline prints it; "not graded"
	Tag         Tag
	Schedule    string  // schedule and modality it applies to, in words
	Condition   string  // further condition, in words
	Text        string  // the recommendation, in our words
	MinSessions float64 // applies from this many sessions a week, 0 for no lower bound
	MaxSessions float64 // up to this many, 0 for no upper bound
	Except      float64 // not for exactly this many sessions a week, 0 for none
	MaxHours    float64 // for sessions shorter than this, 0 for no bound
	KruBelow    float64 // applies when residual urea clearance is below, mL/min; 0 for no bound
	KruFrom     float64 // applies when residual urea clearance is at or above, mL/min; 0 for no bound
}

// HasValue reports whether the recommendation carries a number.
func (t Target) HasValue() bool { return t.Unit != "" }

// Week is what is known of a schedule when targets are looked up.
type Week struct {
	// SessionsPerWeek is as prescribed (3.5 for alternate days) and not the
	// mean of what was done, which is hardly ever exactly three.
	SessionsPerWeek float64
	HoursPerSession float64 // 0 when not known
	// ResidualClearance is the residual urea clearance in mL/min, KruKnown
	// whether it was measured.
	ResidualClearance float64
	KruKnown          bool
}

// Fits reports whether the recommendation speaks about this week. Where
// residual clearance is not known, recommendations that depend on it fit, and
// Condition says on what.
func (t Target) Fits(w Week) bool {
	if t.MinSessions > 0 && w.SessionsPerWeek < t.MinSessions || t.MaxSessions > 0 && w.SessionsPerWeek > t.MaxSessions {
		return false
	}
	if t.MaxHours > 0 && w.HoursPerSession >= t.MaxHours {
		return false
	}
	if t.Except > 0 && w.SessionsPerWeek == t.Except {
		return false
	}
	if !w.KruKnown {
		return true
	}
	return !(t.KruBelow > 0 && w.ResidualClearance >= t.KruBelow) && !(t.KruFrom > 0 && w.ResidualClearance < t.KruFrom)
}

// TargetsFor returns the recommendations on the quantity with this key that
// fit the week, in the order of [Targets].
func TargetsFor(key string, w Week) []Target {
	var found []Target
	for _, t := range Targets() {
		if t.Key == key && t.Fits(w) {
			found = append(found, t)
		}
	}
	return found
}

const (
	lowKru  = "residual urea clearance below 2 mL/min (per 1.73 m2 in KDOQI 2006)"
	highKru = "residual urea clearance of 2 mL/min or more (per 1.73 m2 in KDOQI 2006)"
)

// Targets returns the guideline recommendations. No United Kingdom, European
// or Canadian target for weekly standard Kt/V was found.
func Targets() []Target {
	thrice := Target{Schedule: "three sessions a week", MinSessions: 3, MaxSessions: 3}
	other := Target{Schedule: "schedules other than three a week", Except: 3}
	any := Target{Schedule: "any schedule"}
	return []Target{
		thrice.with("kdoqi2006-spktv-min", "KDOQI 2006 CPG 4.1", "A", Seen).kru(2, 0).value("sp_kt_v", "minimum", 1.2, "1"),
		thrice.with("kdoqi2006-urr-min", "KDOQI 2006 CPG 4.1", "A", Seen).kru(2, 0).under(5).value("urea_reduction_ratio", "minimum", 65, "%"),
		thrice.with("kdoqi2006-spktv-target", "KDOQI 2006 CPG 4.2", "A", Seen).kru(2, 0).value("sp_kt_v", "target", 1.4, "1"),
		thrice.with("kdoqi2006-urr-target", "KDOQI 2006 CPG 4.2", "A", Seen).kru(2, 0).value("urea_reduction_ratio", "target", 70, "%"),
		thrice.with("kdoqi2006-above-min", "KDOQI 2006 CPG 4.3", "B", Seen).kru(0, 2).advice("sp_kt_v", "aim at least 15 % above the minimum dose"),
		any.with("kdoqi2006-missed", "KDOQI 2006 CPG 4.4", "B", Seen).advice("", "keep missed and shortened treatments few and keep count of them"),
		thrice.with("kdoqi2006-time-min", "KDOQI 2006 CPR 4.9", "clinical practice recommendation", Seen).kru(2, 0).value("treated_time", "minimum", 180, "min"),
		thrice.with("kdoqi2015-spktv-target", "KDOQI 2015 3.1", "1B", Memory).value("sp_kt_v", "target", 1.4, "1"),
		thrice.with("kdoqi2015-spktv-min", "KDOQI 2015 3.1", "1B", Memory).value("sp_kt_v", "minimum", 1.2, "1"),
		other.with("kdoqi2015-std-target", "KDOQI 2015 3.3", "not graded", SeenNotGrade).cond("includes UF and residual clearance").value("std_kt_v_weekly", "target", 2.3, "1"),
		other.with("kdoqi2015-std-min", "KDOQI 2015 3.3", "not graded", SeenNotGrade).cond("includes UF and residual clearance").value("std_kt_v_weekly", "minimum", 2.1, "1"),
		Target{Schedule: "home long haemodialysis, 3 to 6 nights a week", MinSessions: 3, MaxSessions: 6}.with("kdoqi2015-home-long", "KDOQI 2015 2.3", "not graded", Memory).advice("treated_time", "consider 6 to 8 h a night by preference and circumstance"),
		any.with("kdoqi2015-time-min", "KDOQI 2015 4.1", "1D", Memory).kru(2, 0).value("treated_time", "minimum", 180, "min"),
		thrice.with("uk2019-ektv", "UK Kidney Association 2019", "1B", Seen).value("e_kt_v", "minimum", 1.2, "1"),
		any.with("uk2019-hours", "UK Kidney Association 2019", "1B", Seen).value("weekly_hours", "minimum", 12, "h"),
		any.with("uk2019-augmented", "UK Kidney Association 2019", "2B", Seen).advice("", "consider an augmented schedule when dose or fluid targets are not met"),
		any.with("uk2019-contraindications", "UK Kidney Association 2019", "2C", Seen).advice("", "weigh contraindications to an augmented schedule"),
		any.with("uk2019-incremental", "UK Kidney Association 2019", "2D", Seen).advice("", "incremental dialysis may be considered with residual function"),
		any.with("uk2019-residual", "UK Kidney Association 2019", "1D", Seen).advice("residual_urea_clearance", "quantify residual function"),
		any.with("uk2019-ufr", "UK Kidney Association 2019", "1B", Memory).advice("uf_rate_per_kg", "avoid excessive ultrafiltration rates"),
		thrice.with("ebpg2002-ektv", "EBPG 2002 II.1.3", "B", Seen).value("e_kt_v", "minimum", 1.2, "1"),
		thrice.with("ebpg2002-spktv", "EBPG 2002 II.1.3", "B", Seen).cond("taken as equal to eKt/V 1.2").value("sp_kt_v", "minimum", 1.4, "1"),
		Target{Schedule: "two sessions a week", MaxSessions: 2}.with("ebpg2002-twice", "EBPG 2002", "B", Seen).advice("sessions_per_week", "two sessions a week are not recommended"),
		any.with("ebpg2007-sessions", "EBPG 2007", "III", Memory).value("sessions_per_week", "minimum", 3, "/wk"),
		any.with("ebpg2007-hours", "EBPG 2007", "III", Memory).value("weekly_hours", "minimum", 12, "h"),
		thrice.with("ebpg2007-ektv", "EBPG 2007", "III", Memory).cond("up to 1.4").value("e_kt_v", "minimum", 1.2, "1"),
		any.with("csn2013", "Canadian Society of Nephrology 2013", "conditional", Seen).advice("", "six conditional recommendations on intensive haemodialysis; no dose is given"),
	}
}

func (t Target) with(id, guideline, grade string, tag Tag) Target {
	t.ID, t.Guideline, t.Grade, t.Tag = id, guideline, grade, tag
	return t
}

func (t Target) kru(below, from float64) Target {
	t.KruBelow, t.KruFrom = below, from
	t.Condition = lowKru
	if from > 0 {
		t.Condition = highKru
	}
	return t
}

func (t Target) under(hours float64) Target {
	t.MaxHours = hours
	t.Condition += fmt.Sprintf("; sessions under %g h", hours)
	return t
}

func (t Target) cond(words string) Target {
	t.Condition = words
	return t
}

func (t Target) value(key, kind string, value float64, unit string) Target {
	t.Key, t.Kind, t.Value, t.Unit = key, kind, value, unit
	return t
}

func (t Target) advice(key, text string) Target {
	t.Key, t.Kind, t.Text = key, "advice", text
	return t
}
