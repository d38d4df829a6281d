package check

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// perUnit is one of a unit in the unit of the field's limits. A unit that is
// not here does not fit the field.
var perUnit = map[session.Field]map[string]float64{
	"dialysate_flow": {"L/h": 1000.0 / 60},
	"uf_rate":        {"mL/h": 1.0 / 1000},
	"urea":           {"mg/dL": 10 / 60.056},                    // urea 60.056 g/mol
	"bun":            {"mmol/L": 28.014 / 10},                   // two nitrogen atoms, 28.014 g/mol
	"creatinine":     {"mg/dL": 10000 / 113.12, "mmol/L": 1000}, // creatinine 113.12 g/mol
	"potassium":      {"meq/L": 1},                              // one charge
	"sodium":         {"meq/L": 1},                              // one charge
	"bicarbonate":    {"meq/L": 1},                              // one charge
	"haemoglobin":    {"g/L": 1.0 / 10, "mmol/L": 16.114 / 10},  // 16.114 g/mmol of the monomer
	"phosphate":      {"mmol/L": 30.974 / 10},                   // phosphorus 30.974 g/mol
	"check_chlorine": {"[ppm]": 1},                              // a litre of water is a kilogram
	// Calcium carbonate 100.09 g/mol; a grain is 64.79891 mg, a gallon 3.785411784 L.
	"check_hardness": {"[ppm]": 1, "mmol/L": 100.09, "[gr]/[gal_us]": 64.79891 / 3.785411784},
}

// fitting are the units a field may be in.
func fitting(field session.Field, l issue.Limit) string {
	units := []string{l.Unit}
	for unit := range perUnit[field] {
		units = append(units, unit)
	}
	slices.Sort(units)
	return strings.Join(units, " or ")
}

// factor turns a number in the unit written into the unit of the limits. ok
// is false for a unit that does not fit the field.
func factor(field session.Field, unit string, l issue.Limit) (float64, bool) {
	if unit == l.Unit {
		return 1, true
	}
	f, ok := perUnit[field][unit]
	return f, ok
}

// limit compares a value with what is possible and what is usual.
func (c *checker) limit(s *session.Session, field session.Field, v session.Value) {
	if l, known := c.around(s).LimitOf(string(field)); known {
		c.compare(s, field, v, l)
	}
}

func (c *checker) compare(s *session.Session, field session.Field, v session.Value, l issue.Limit) {
	number, ok := c.good(v)
	if !ok {
		return
	}
	scale, fits := factor(field, v.Unit, l)
	if !fits {
		f := atValue("clin-unit", "the unit does not fit "+name(field), v)
		f.Value = v.Unit
		f.Expected = fitting(field, l)
		c.doubt(f, s)
		return
	}
	scaled := number * scale
	if !l.Unusual(scaled) && !l.Impossible(scaled) && !litresAsMillilitres(v, number) || little(s, scaled, field, l) {
		return
	}
	f := atValue("clin-unusual", fmt.Sprintf("the %s is unusual", name(field)), v)
	if l.Impossible(scaled) {
		f = atValue("clin-impossible", fmt.Sprintf("the %s cannot be right", name(field)), v)
	}
	f.Expected = fmt.Sprintf("usually %s to %s %s", short(l.SoftLow/scale), short(l.SoftHigh/scale), spoken(v.Unit))
	if !l.Impossible(scaled) && c.corroborated(s, field, number) {
		return
	}
	if rule, meant := likely(field, v.Unit, number, scale, l); meant != "" && !nearlyUsual(scaled, l) {
		f.Rule = rule
		if r, ok := issue.Lookup(rule); ok {
			f.Mend = r.Mend
		}
		f.Details += "; " + slipWords[rule]
		f.Expected = "perhaps " + meant
	}
	if f.Severity == issue.Error || f.Rule != "clin-unusual" {
		c.doubt(f, s)
		return
	}
	f.Details += ": " + side(scaled > l.SoftHigh)
	if justOutside(scaled, l) || field == "blood_flow" && scaled >= slowStart {
		f.Severity = issue.Information
	}
	c.unusual = append(c.unusual, oddity{f, s, field, scaled > l.SoftHigh})
}

// oddity is an unusual value that is no known slip. They are held back until
// all are known: what is usual for this person is said once.
type oddity struct {
	finding issue.Finding
	session *session.Session
	field   session.Field
	high    bool
}

func side(high bool) string {
	if high {
		return "higher than most people's"
	}
	return "lower than most people's"
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
			o.finding.Details = fmt.Sprintf("the %s is unusual %d times in this log: %s", name(o.field), count[k], side(o.high))
			c.add(o.finding, nil)
		default:
			c.findings[at].Cells = append(c.findings[at].Cells, o.finding.Cells...)
		}
	}
}

// slowStart is a blood flow, in mL/min, that people begin with (common
// practice).
const slowStart = 50

// little reports an amount of treatment that is small because the session was
// cut short, or none because it was not done.
func little(s *session.Session, amount float64, field session.Field, limit issue.Limit) bool {
	if s == nil || amount < 0 || !slices.Contains(onlyTreated, field) {
		return false
	}
	return s.Status == session.CutShort && amount < limit.SoftLow || s.Status == session.SkippedStatus && amount == 0
}

// justOutside is within a tenth of the usual range beyond its ends: people are
// different, and the person is only told.
func justOutside(value float64, l issue.Limit) bool {
	room := (l.SoftHigh - l.SoftLow) / 10
	return value >= l.SoftLow-room && value <= l.SoftHigh+room
}

// nearlyUsual keeps from suggesting a slip for a value just outside the usual.
func nearlyUsual(value float64, l issue.Limit) bool {
	room := 0.5 * max(math.Abs(l.SoftHigh), math.Abs(l.SoftLow))
	if l.SoftLow > 0 {
		return value <= l.SoftHigh+room && value >= l.SoftLow/1.5
	}
	return value <= l.SoftHigh+room && value >= l.SoftLow-room
}

// corroborated reports an unusual amount of fluid that the weights, or the
// amount removed in the end, confirm.
func (c *checker) corroborated(s *session.Session, field session.Field, litres float64) bool {
	if s == nil {
		return false
	}
	removed, known := c.good(s.Value("uf_removed"))
	switch field {
	case "uf_so_far", "uf_goal":
		return known && litres <= removed+unexplained
	case "uf_removed":
		before, okBefore := c.good(s.Value("weight_before"))
		after, okAfter := c.good(s.Value("weight_after"))
		intake, _ := c.intake(s)
		return okBefore && okAfter && math.Abs(litres-(before-after+intake)) <= unexplained
	}
	return false
}

// litresAsMillilitres is a rate in litres in the column for millilitres, too
// small to be anything else but within every limit.
func litresAsMillilitres(v session.Value, number float64) bool {
	return v.Unit == "mL/h" && number > 0 && number < 5
}

// spoken is a unit as people write it.
func spoken(ucum string) string {
	switch ucum {
	case "mm[Hg]":
		return "mmHg"
	case "Cel":
		return "°C"
	case "/min":
		return "a minute"
	case "[iU]":
		return "IU"
	case "/wk":
		return "a week"
	case "[ppm]":
		return "ppm"
	case "[gr]/[gal_us]":
		return "grains per gallon"
	case "1":
		return ""
	default:
		return ucum
	}
}

// sessionLimits compares all numbers of a session with their limits. Weights
// and arterial pressures were looked at before, by slips of their own.
func (c *checker) sessionLimits(s *session.Session) {
	for _, column := range session.Columns {
		if column.Kind != session.KindNumber {
			continue
		}
		switch column.Sheet {
		case session.SheetSessions:
			if v := s.Value(column.Field); v.Unit == column.Unit {
				c.limit(s, column.Field, v)
			}
		case session.SheetReadings:
			for _, r := range s.Readings {
				if v := r.Value(column.Field); v.Unit == column.Unit {
					c.limit(s, column.Field, v)
				}
			}
		}
	}
	for _, l := range s.Labs {
		if field, ok := session.Tests[l.Test.Text]; ok && l.Test.OK() {
			if limit, known := c.around(s).LimitOf(string(field.At(l.When.Text))); known {
				c.compare(s, field, l.Value, limit)
			}
		}
	}
}

// prescribed compares what log.toml says with the limits. An error concerns
// every session.
func (c *checker) prescribed() {
	before := len(c.findings)
	about := &c.log.About
	c.limit(nil, "height", about.HeightCm)
	for _, p := range about.Prescriptions {
		c.limit(nil, "sessions_per_week", p.SessionsPerWeek)
		c.limit(nil, "session_duration", p.DurationMin)
		c.limit(nil, "residual_urea_clearance", p.ResidualUreaClearance)
		for _, field := range []session.Field{"dialysate_volume", "dialysate_flow", "blood_flow", "dialyser_koa", "uf_limit"} {
			c.limit(nil, field, p.Values[field])
		}
		c.dryWeight(p.Values["dry_weight"])
	}
	if issue.HasErrors(c.findings[before:]) {
		for _, s := range c.log.Sessions {
			s.Broken = true
		}
	}
}
