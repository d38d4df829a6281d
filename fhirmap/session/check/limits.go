package check

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// perUnit is one of a unit in the unit of the field's limits. A unit that is
// not here does not fit the field.
var perUnit = map[session.Field]map[string]float64{
	"dialysate_flow":      {"L/h": 1000.0 / 60},
	"uf_rate":             {"mL/h": 1.0 / 1000},
	"urea":                {"mg/dL": 10 / 60.056},                    // urea 60.056 g/mol
	"bun":                 {"mmol/L": 28.014 / 10},                   // two nitrogen atoms, 28.014 g/mol
	"creatinine":          {"mg/dL": 10000 / 113.12, "mmol/L": 1000}, // creatinine 113.12 g/mol
	"potassium":           {"meq/L": 1},                              // one charge
	"sodium":              {"meq/L": 1},                              // one charge
	"bicarbonate":         {"meq/L": 1},                              // one charge
	"haemoglobin":         {"g/L": 1.0 / 10, "mmol/L": 16.114 / 10},  // 16.114 g/mmol of the monomer
	"phosphate":           {"mmol/L": 30.974 / 10},                   // phosphorus 30.974 g/mol
	"calcium":             {"mg/dL": 10 / 40.078, "meq/L": 0.5},      // 40.078 g/mol, two charges
	"magnesium":           {"mg/dL": 10 / 24.305, "meq/L": 0.5},      // 24.305 g/mol, two charges
	"albumin":             {"g/dL": 10},
	"pth":                 {"ng/L": 1, "pmol/L": 9.43}, // 9.43 kg/mol (memory)
	"ferritin":            {"ng/mL": 1},
	"crp":                 {"mg/dL": 10},
	"beta2-microglobulin": {"ug/mL": 1},
	"check_chlorine":      {"[ppm]": 1}, // a litre of water is a kilogram
	// Calcium carbonate 100.09 g/mol; a grain is 64.79891 mg, a gallon 3.785411784 L.
	"check_hardness": {"[ppm]": 1, "mmol/L": 100.09, "[gr]/[gal_us]": 64.79891 / 3.785411784},
}

// fitting are the units a field may be in, that of its limits first.
func fitting(field session.Field, l profiles.Limit) []string {
	return append([]string{l.Unit}, slices.Sorted(maps.Keys(perUnit[field]))...)
}

// factor turns a number in the unit written into the unit of the limits. ok
// is false for a unit that does not fit the field.
func factor(field session.Field, unit string, l profiles.Limit) (float64, bool) {
	if unit == l.Unit {
		return 1, true
	}
	f, ok := perUnit[field][unit]
	return f, ok
}

// limit compares a value with what is possible and what is usual.
func (c *checker) limit(s *session.Session, field session.Field, v session.Value) {
	c.compare(s, field, field, v, nil)
}

// compare is limit for a value with the limits of another field, that of its
// phase. could, if not nil, reports whether another number could be meant.
func (c *checker) compare(s *session.Session, field, limited session.Field, v session.Value, could func(float64) bool) {
	known := c.known(s)
	l, ok := known.LimitOf(string(limited))
	number, good := c.good(v)
	if !ok || !good {
		return
	}
	scale, fits := factor(field, v.Unit, l)
	if !fits {
		c.unitMisfit(s, field, v, l)
		return
	}
	scaled := number * scale
	l, verdict := known.Judge(string(limited), scaled)
	if verdict == plausible.Usual && !litresAsMillilitres(v, number) || skippedNothing(s, scaled, field) ||
		verdict == plausible.NearlyUsual && c.nearOthers(s, v) {
		return
	}
	f := atValue("clin-unusual", "the {} is unusual", v, name(field))
	if verdict == plausible.Impossible {
		f = atValue("clin-impossible", "the {} cannot be right", v, name(field))
	}
	f.Expected = issue.T("usually {} to {}", bare(short(l.SoftLow/scale), v.Unit), quantity(short(l.SoftHigh/scale), v.Unit))
	own := 0.0
	if slices.Contains(setOnce, field) {
		own = c.ownFlow(s, field, v)
	} else if field == "uf_so_far" && inMillilitres(s) {
		own = number / 1000
	}
	lost := digitLost(s, v, number)
	rule, meant := likely(field, v.Unit, number, scale, own, l, could)
	if celsius := number/fahrenheitOne + 32; v.Unit == "Cel" && foreignUnit(v) && !l.Unusual(celsius) {
		rule, meant = "clin-unit", quantity(short(roundFor(celsius)), v.Unit)
	}
	if lost {
		f.Details = f.Details.And(issue.T("a digit may be missing"))
		f.Expected = c.withDigit(field, v, number)
	} else if text := c.digitsLikeOwn(s, v); text != "" && verdict != plausible.Usual {
		f.Details = f.Details.And(issue.T("two digits may be exchanged"))
		f.Expected = issue.T("perhaps {}", quantity(text, v.Unit))
	} else if !meant.IsZero() && (!nearlyUsual(scaled, l) || litresAsMillilitres(v, number) || s != nil && alone(s, v, meant)) {
		f = slipped(f, v, rule, meant)
	} else if text, few := c.withoutDigit(field, v, l); few && verdict == plausible.Impossible && number > l.SoftHigh {
		f.Details = f.Details.And(issue.T("a digit may be too many"))
		f.Expected = text
	}
	if f.Severity == issue.Error || f.Rule != "clin-unusual" {
		c.doubt(f, s)
		return
	}
	f.Details = issue.T("the {} is unusual: {}", name(field), side(scaled > l.SoftHigh))
	if verdict == plausible.NearlyUsual || explained(s, field, scaled > l.SoftHigh) {
		f.Severity = issue.Information
	}
	c.unusual = append(c.unusual, oddity{f, s, field, scaled > l.SoftHigh})
}

// unitMisfit reports a unit that a field cannot have.
func (c *checker) unitMisfit(s *session.Session, field session.Field, v session.Value, l profiles.Limit) {
	f := atValue("clin-unit", "the unit does not fit {}", v, name(field))
	f.Value = writtenUnit(v)
	f.Expected = issue.Or(fitting(field, l))
	f.Cells = append(f.Cells, unitCells(v)...)
	c.doubt(f, s)
}

// slipped is a finding that the rule of a known slip explains.
func slipped(f issue.Finding, v session.Value, rule string, meant issue.Text) issue.Finding {
	f.Rule = rule
	if r, ok := issue.Lookup(rule); ok {
		f.Mend = issue.T(r.Mend)
	}
	f.Details = f.Details.And(issue.T(slipWords[rule]))
	f.Expected = issue.T("perhaps {}", meant)
	if unit := unitCells(v); rule == "clin-unit" && unit != nil {
		f.Cells, f.Mend = append(f.Cells, unit...), issue.T("look at the number and its unit again")
	}
	return f
}

// withDigit is what a number may be that has lost its last digit: the person's own one
// where those with any last digit lie outside the person's others.
func (c *checker) withDigit(field session.Field, v session.Value, number float64) issue.Text {
	const near = 20 // mmHg (common practice)
	own := c.ownRanges()[field]
	if len(own) > fewest && (10*number > own[len(own)-1] || 10*number+9 < own[1]) { // own[0] may be this one
		low, high := own[1], own[len(own)-1]
		if text := cmp.Or(slipNear(v, median(own), near), slipNear(v, (low+high)/2, near)); text != "" {
			return issue.T("perhaps {}", quantity(text, v.Unit))
		}
	}
	return issue.T("perhaps {} to {}", bare(v.Text+"0", v.Unit), quantity(v.Text+"9", v.Unit))
}

// inMillilitres reports readings of a session that cannot be in litres.
func inMillilitres(s *session.Session) bool {
	const most, several = 100, 2
	n := 0
	for _, r := range s.Readings {
		if v := r.Value("uf_so_far"); v.OK() && v.Decimal.Float64() > most {
			n++
		}
	}
	return n >= several
}

// oddity is an unusual value that is no known slip. Oddities are reported when
// all are known: those that are usual for this person once.
type oddity struct {
	finding issue.Finding
	session *session.Session
	field   session.Field
	high    bool
}

func side(high bool) issue.Text {
	if high {
		return issue.T("higher than most people's")
	}
	return issue.T("lower than most people's")
}

// reportUnusual reports the unusual values, those of a field on one side
// together when there are many.
func (c *checker) reportUnusual() {
	const many = 4
	type kind struct {
		field    session.Field
		high     bool
		severity issue.Severity
	}
	count := map[kind]int{}
	for _, o := range c.unusual {
		count[kind{o.field, o.high, o.finding.Severity}]++
	}
	first := map[kind]int{}
	for _, o := range c.unusual {
		k := kind{o.field, o.high, o.finding.Severity}
		at, begun := first[k]
		switch {
		case count[k] < many:
			c.add(o.finding, o.session)
		case !begun:
			first[k] = len(c.findings)
			o.finding.Value = ""
			o.finding.Details = issue.T("the {} is unusual {} times in this log: {}", name(o.field), count[k], side(o.high))
			c.add(o.finding, nil)
		default:
			c.findings[at].Cells = append(c.findings[at].Cells, o.finding.Cells...)
		}
	}
}

// notUnusual takes back that a value is unusual, for a finding that says more.
func (c *checker) notUnusual(cell issue.Cell) {
	c.findings = slices.DeleteFunc(c.findings, func(f issue.Finding) bool {
		return f.Rule == "clin-unusual" && len(f.Cells) == 1 && f.Cells[0] == cell
	})
}

// skippedNothing reports an amount of treatment that is none because the
// session was not done.
func skippedNothing(s *session.Session, amount float64, field session.Field) bool {
	return s != nil && s.Status == session.SkippedStatus && amount == 0 && slices.Contains(onlyTreated, field)
}

// nearlyUsual keeps from suggesting a slip for a value just outside the usual.
func nearlyUsual(value float64, l profiles.Limit) bool {
	room := 0.5 * max(math.Abs(l.SoftHigh), math.Abs(l.SoftLow))
	if l.SoftLow > 0 {
		return value <= l.SoftHigh+room && value >= l.SoftLow/1.5
	}
	return value <= l.SoftHigh+room && value >= l.SoftLow-room
}

// litresAsMillilitres is a rate in litres in the column for millilitres, too
// small to be anything else but within every limit.
func litresAsMillilitres(v session.Value, number float64) bool {
	return v.Unit == "mL/h" && number > 0 && number < 5
}

// writtenUnit is the unit of a number as it stands in the row, or as people write it.
func writtenUnit(v session.Value) string {
	if v.UnitText.OK() {
		return v.UnitText.Text
	}
	return spoken(v.Unit)
}

// asWritten is a number with the unit of another one.
func asWritten(number string, like session.Value) issue.Text {
	return issue.T("{} {}", number, issue.Literal(writtenUnit(like)))
}

// unitCells is the cell of the unit of a number, none where that stands in the heading.
func unitCells(v session.Value) []issue.Cell {
	if !v.UnitText.OK() {
		return nil
	}
	return []issue.Cell{v.UnitText.Cell}
}

// spoken is a unit as people write it.
func spoken(ucum string) string { return profiles.UnitOf(ucum).Said }

// sessionLimits compares all numbers of a session with their limits. Weights
// and arterial pressures were looked at before, by slips of their own.
func (c *checker) sessionLimits(s *session.Session) {
	const near = 0.3 // of the fluid removed, that a goal may be meant to be (common practice)
	removed, ok := c.good(s.Value("uf_removed"))
	eachNumber(s, func(field session.Field, v session.Value, l *session.Lab) {
		if l != nil {
			if !c.ownResult(s, l) && !c.exchangedInResult(s, l) {
				c.compare(s, field, field.At(l.When.Text), v, c.couldBe(s, l))
			}
		} else if field == "uf_goal" && ok && removed > 0 {
			c.compare(s, field, field, v, func(litres float64) bool { return within(litres, removed, near) })
		} else {
			c.limit(s, field, v)
		}
	})
}

// eachNumber calls f with each number of a session: of its row, its readings, and
// its results, with these.
func eachNumber(s *session.Session, f func(field session.Field, v session.Value, l *session.Lab)) {
	for _, column := range session.Columns {
		of := func(v session.Value) {
			if column.Kind == session.KindNumber && v.Unit == column.Unit {
				f(column.Field, v, nil)
			}
		}
		switch column.Sheet {
		case session.SheetSessions:
			of(s.Value(column.Field))
		case session.SheetReadings:
			for _, r := range s.Readings {
				of(r.Value(column.Field))
			}
		}
	}
	for _, l := range s.Labs {
		if field, ok := session.TestField(l.Test.Text); ok && l.Test.OK() {
			f(field, l.Value, l)
		}
	}
}

// height compares the height with the limits, and with the weight: nobody is so thin.
func (c *checker) height(v session.Value) {
	const thinnest, thin, stout = 10, 13, 35 // kg/m² (memory: infants from 10, most people 13 to 35)
	cm, ok := c.good(v)
	weights := c.valuesOf(c.log.Sessions, "weight_after", nil)
	if !ok || len(weights) < fewest || median(weights)*1e4 >= thinnest*cm*cm {
		c.limit(nil, "height", v)
		return
	}
	f := atValue("clin-unusual", "the height does not fit the weights of the sessions", v)
	if text, slip := exchangedDigits(v, func(cm float64) bool {
		index := median(weights) * 1e4 / (cm * cm)
		return index >= thin && index <= stout
	}); slip {
		f.Expected = issue.T("perhaps {}", quantity(text, v.Unit))
	}
	c.doubt(f, nil)
}

// prescribed compares the values of log.toml with the limits. An error concerns
// every session.
func (c *checker) prescribed() {
	before := len(c.findings)
	about := &c.log.About
	c.height(about.HeightCm)
	own := c.ownRanges()
	for _, p := range about.Prescriptions {
		prescribed := func(field session.Field) session.Value { return p.Values[field] }
		c.exchangedIn(nil, c.placesOf(nil, session.SheetSessions, prescribed, nil), own, nil)
		c.limit(nil, "sessions_per_week", p.SessionsPerWeek)
		c.limit(nil, "session_duration", p.DurationMin)
		c.limit(nil, "residual_urea_clearance", p.ResidualUreaClearance)
		for _, field := range []session.Field{"dialysate_volume", "dialysate_flow", "blood_flow", "dialyser_koa", "uf_limit"} {
			c.limit(nil, field, p.Values[field])
		}
		c.dryWeight(p)
		c.dryWeightOfRows(p)
		c.residual(p)
	}
	if issue.HasErrors(c.findings[before:]) {
		c.breakAll()
	}
}
