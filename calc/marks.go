package calc

// Mark is a figure that the literature attaches a meaning to, printed beside
// a value with its source. It is no limit for a person.
type Mark struct {
	Key        string // the quantity, in the shared vocabulary; "" when there is none
	What       string // the quantity in words
	Comparator string // ">", "≥", "<" or "about"
	Value      float64
	Unit       string // UCUM
	Meaning    string
	Source     string
	Tag        Tag
}

// Marks returns the figures for weight gain, dry weight, access and circuit.
// Those of the UF rate are in [UFRateThresholds].
func Marks() []Mark {
	const percent, access = "interdialytic_weight_gain_percent", "secondary source, KDOQI"
	return []Mark{
		{percent, "weight gain", ">", 3.5, "%", "used as a mark of high gain", "Cabrera et al, BMC Nephrol 2015;16:113", Seen},
		{percent, "weight gain", "≥", 4, "%", "used as a mark of high gain", "Dantas et al 2019", Seen},
		{percent, "weight gain", ">", 5.7, "%", "used as a mark of high gain", "DOPPS", Seen},
		{"target_miss", "weight after against dry weight", ">", 0.3, "kg", "associated with mortality", "Movilli et al, Am J Nephrol 2013;37:370", Seen},
		{"", "fluid overload over extracellular water before dialysis", ">", 15, "%", "mortality hazard ratio 2.10", "bioimpedance cohort", Seen},
		{"", "static venous pressure ratio, graft", ">", 0.5, "1", "surveillance mark", access, Seen},
		{"", "static venous pressure ratio, fistula", ">", 0.35, "1", "surveillance mark", access, Seen},
		{"", "static arterial pressure ratio, graft", "≥", 0.75, "1", "surveillance mark", access, Seen},
		{"", "static arterial pressure ratio, fistula", "≥", 0.43, "1", "surveillance mark", access, Seen},
		{"", "dynamic venous pressure at 200 mL/min, first type of machine", ">", 125, "mm[Hg]", "in three consecutive sessions", access, Seen},
		{"", "dynamic venous pressure at 200 mL/min, second type of machine", ">", 150, "mm[Hg]", "in three consecutive sessions", access, Seen},
		{"access_recirculation", "access recirculation", ">", 10, "%", "taken as abnormal", "common teaching", Memory},
		{"", "pre-pump arterial pressure", "<", -150, "mm[Hg]", "warning, level C", "EBPG 2002; also quoted with Shibata et al 2015", Seen},
		{"", "pre-pump arterial pressure", "<", -250, "mm[Hg]", "conventional limit", "quoted with Shibata et al 2015", Seen},
		{"", "pre-pump arterial pressure", "<", -260, "mm[Hg]", "as studied", "Graves 2001", Seen},
		{"", "fall of venous pressure when the venous needle slips out", "about", 20, "mm[Hg]", "may be no more than this", "Dellanna 1995", Seen},
	}
}
