package profiles

// bounds are the limits of a field for those in scope: low and high of what is
// possible, low and high of what is usual, and their source. Of several bounds
// the first that fits the circumstances holds, so narrower ones are before
// wider ones.
type bounds struct {
	hardLow, hardHigh, softLow, softHigh float64
	source                               string
	scope                                scope
}

// limits are all bounds of a field, in one unit.
type limits struct {
	unit string
	all  []bounds
}

func within(unit string, all ...bounds) limits { return limits{unit, all} }

var (
	anyone = scope{}
	perKg  = scope{perKg: true}
	// childPerKg is perKg below 18 years.
	childPerKg = scope{age: band{0, 18}, perKg: true}
)

// aged is from an age in years until below another; 0 is without end.
func aged(from, below float64) scope { return scope{age: band{from, below}} }

// lasting is for sessions from a length in minutes until below another.
func lasting(from, below float64) scope { return scope{minutes: band{from, below}} }

const (
	mimicExtract   = "hard: MIMIC-Extract valid range (Wang 2020); soft: common practice"
	mimicHigh      = "hard high: MIMIC-Extract valid high (Wang 2020); rest common practice"
	commonLimits   = "common practice"
	ureaPerBUN     = 0.357 // mmol/L urea for each mg/dL urea nitrogen
	forChildren    = "common practice, wide: children on dialysis are often small for their age"
	computedLimits = "common practice; a computed value is judged by its inputs"
	afterRemoval   = "hard and upper: as before dialysis; lower: what a long or daily session leaves (common practice, memory)"
	ureaAfter      = "hard: MIMIC-Extract valid range (Wang 2020), as urea; soft: common practice, by length"
	ureaRatioOf    = "common practice, by length; short daily sessions reach 0.65"
	gains          = "soft high: DOPPS, as cited by Dantas 2019, and 1 % for each day beyond two; rest common practice"
	ureaFromBUNOf  = "from urea nitrogen x 0.357; " + mimicExtract
)

var (
	weightLimits = within("kg",
		bounds{3, 60, 5, 18, forChildren, aged(0, 2)},
		bounds{3, 100, 7, 40, forChildren, aged(2, 6)},
		bounds{5, 200, 11, 90, forChildren, aged(6, 12)},
		bounds{8, 300, 18, 150, forChildren, aged(12, 18)},
		bounds{8, 340.2, 35, 180, "hard high: Chan & Raffa 2017; rest common practice", aged(18, 0)},
	)
	systolicLimits = within("mm[Hg]",
		bounds{30, 300, 60, 180, forChildren, aged(0, 13)},
		bounds{30, 300, 90, 200, "common practice, for cuff devices", anyone},
	)
	diastolicLimits = within("mm[Hg]",
		bounds{10, 200, 25, 120, forChildren, aged(0, 13)},
		bounds{10, 200, 40, 120, "common practice, for cuff devices", anyone},
	)
	temperatureLimits = within("Cel", bounds{26, 45, 35, 38, mimicExtract, anyone})
	durationLimits    = within("min", bounds{1, 960, 90, 600, commonLimits, anyone})
	ufLimits          = within("L",
		bounds{0, 0.25, 0, 0.1, forChildren, childPerKg},
		bounds{0, 0.14, 0, 0.06, "common practice: 60 mL/kg, near the mark of 5.7 % for gains (DOPPS, as cited by Dantas 2019)", perKg},
		bounds{0, 10, 0, 4, commonLimits, anyone},
	)
	conductivityLimits = within("mS/cm", bounds{10, 18, 12.8, 15.7, commonLimits, anyone})
	bufferLimits       = within("mmol/L", bounds{15, 50, 25, 45, commonLimits, anyone})
	doseLimits         = within("1", bounds{0, 5, 0, 5, computedLimits, anyone})
	fluidLimits        = within("L", bounds{0, 10, 0, 2.5, commonLimits, anyone})
)
