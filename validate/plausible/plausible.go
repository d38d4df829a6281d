// Package plausible is the arithmetic that the check of a log and the validator
// of a record share: whether a value is in the limits for its person, and
// whether the values of one session can be true together. The limits are those
// of package profiles; the package does not judge a treatment.
package plausible

import (
	"math"
	"slices"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/profiles"
)

// Session is what is known of one session.
type Session struct {
	profiles.Circumstances
	// Values are by field, in the unit of the field's limits; urea_before and
	// urea_after in mmol/L. A field that is not known is not in it.
	Values map[string]float64
	// Readings are the values read off during the session, in order.
	Readings map[string][]float64
	// ElapsedMin is the time from start to end, 0 when not known.
	ElapsedMin float64
	// CutShort is set if the session ended early, so that amounts are small.
	CutShort bool
}

// Margins within which two ways to the same number may differ, all common
// practice.
const (
	// Unexplained is the difference in litres or kg that scales, clothes and
	// display leave.
	Unexplained = 0.5
	// ScaleDigit is half of the last digit that scales show, in kg: two weights and an
	// amount of fluid rounded to it are rarely further off together.
	ScaleDigit = 0.05
	// unwritten is what people drink and eat and get back with the rinse in a
	// session when nothing of it is written down, in litres.
	unwritten = 0.5
	// unseenPerKgHour is what is lost with breath and sweat, in L for each kg of body
	// weight and hour: about 1 L a day of an adult (common practice). unseenFrom are
	// the hours from which it passes what is Unexplained.
	unseenPerKgHour, unseenFrom = 0.0006, 4
	// Rounding keeps a difference of exactly the limit from being reported
	// because of binary fractions.
	Rounding = 1e-9
	// Fewest is the least number of readings that stand for a session.
	Fewest = 3
	// flowChanged is the share by which the mean of the readings differs from
	// the flow set when the flow was changed.
	flowChanged = 0.10
	// slowStart is a usual blood flow at the start, in mL/min.
	slowStart = 50
)

// Verdict is the result of comparing a value with its limits.
type Verdict uint8

// The verdicts. NearlyUsual is within a tenth of the usual range beyond its
// ends, where people differ: a notice, no warning.
const (
	Usual Verdict = iota
	NearlyUsual
	Unusual
	Impossible
)

// Judge compares a value, in the unit of its limits, with those of its field
// and returns them. An amount confirmed by others is usual, as is a small one
// of a session cut short. The Limit is zero for a field without limits.
func (s *Session) Judge(field string, value float64) (profiles.Limit, Verdict) {
	l, known := s.LimitOf(field)
	room := (l.SoftHigh - l.SoftLow) / 10
	switch {
	case !known || !l.Impossible(value) && !l.Unusual(value):
		return l, Usual
	case s.CutShort && value >= 0 && value < l.SoftLow && slices.Contains(amounts[:], field):
		return l, Usual
	case value == 0 && s.Isolated() && (field == "dialysate_volume" || field == "dialysate_flow"):
		return l, Usual
	case l.Impossible(value):
		return l, Impossible
	case s.borneOut(field, value):
		return l, Usual
	case value >= l.SoftLow-room && value <= l.SoftHigh+room, s.fever(field, value, l), field == "blood_flow" && value >= slowStart:
		return l, NearlyUsual
	}
	return l, Unusual
}

// fever reports a body temperature that is high and close to the other one of the
// session, which is high too.
func (s *Session) fever(field string, value float64, l profiles.Limit) bool {
	const apart = 1.0 // °C, that a fever rises or falls by in a session (common practice)
	other, known := s.Values[map[string]string{"temperature_before": "temperature_after", "temperature_after": "temperature_before"}[field]]
	return known && value > l.SoftHigh && other >= l.SoftHigh && math.Abs(value-other) <= apart
}

// amounts are of a whole treatment.
var amounts = [...]string{"uf_removed", "dialysate_volume", "blood_processed", "treated_time"}

// borneOut reports an amount of fluid that the weights, or the amount removed
// in the end, confirm.
func (s *Session) borneOut(field string, litres float64) bool {
	switch field {
	case "uf_so_far", "uf_goal":
		removed, known := s.Values["uf_removed"]
		return known && litres <= removed+Unexplained
	case "uf_removed":
		expected, _, known := s.FluidByWeights()
		return known && math.Abs(litres-expected) <= Unexplained
	}
	return false
}

// Isolated reports ultrafiltration without dialysate: fluid was removed, the
// volume is 0, and no flow is written, or 0.
func (s *Session) Isolated() bool {
	volume, known := s.Values["dialysate_volume"]
	flowed := func(flow float64) bool { return flow != 0 }
	return known && volume == 0 && s.Values["uf_removed"] > 0 && s.Values["dialysate_flow"] == 0 && !slices.ContainsFunc(s.Readings["dialysate_flow"], flowed)
}

// UrineOfDay reports urine that is more likely that of the whole day: the
// weights account for the fluid removed without it, and not with it.
func (s *Session) UrineOfDay() bool {
	removed, known := s.Values["uf_removed"]
	without, room, ok := s.byWeights(0)
	return known && ok && FluidFits(removed, without, room) && !FluidFits(removed, without-s.Values["urine"], room)
}

// Margin is by how many litres less, or more, than expected the machine may have
// removed.
type Margin struct{ Less, More float64 }

// FluidByWeights is the fluid in litres that weights, intake and urine say was
// removed, and its margin. Urine of the day is left out.
func (s *Session) FluidByWeights() (expected float64, room Margin, ok bool) {
	if s.UrineOfDay() {
		return s.byWeights(0)
	}
	return s.byWeights(s.Values["urine"])
}

func (s *Session) byWeights(urine float64) (expected float64, room Margin, ok bool) {
	before, okBefore := s.Values["weight_before"]
	after, okAfter := s.Values["weight_after"]
	minutes, _ := s.MinutesOf()
	const most = Unexplained + ScaleDigit
	room = Margin{most + unseenPerKgHour*before*max(0, minutes/60-unseenFrom), most}
	if !slices.ContainsFunc(intake[:], func(field string) bool { _, known := s.Values[field]; return known }) {
		room.More += unwritten
	}
	expected, err := calc.UFExpected(before, after, s.Values["drinks"], s.Values["saline"], s.Values["rinseback"], urine)
	return expected, room, okBefore && okAfter && err == nil
}

var intake = [...]string{"drinks", "saline", "rinseback"}

// FluidFits reports whether the fluid removed fits that by the weights.
func FluidFits(removed, expected float64, room Margin) bool {
	return removed-expected >= -room.Less-Rounding && removed-expected <= room.More+Rounding
}

// Flow is a flow in mL/min that held through the session: the mean of the
// readings where it differs from the flow set, for people change the flow.
// One or two readings do not stand for a session.
func (s *Session) Flow(field string) (mLPerMin float64, known bool) {
	set, known := s.Values[field]
	readings := s.Readings[field]
	if len(readings) < Fewest {
		return set, known
	}
	sum := 0.0
	for _, r := range readings {
		sum += r
	}
	mean := sum / float64(len(readings))
	if known && math.Abs(mean-set) <= flowChanged*math.Abs(set) {
		return set, true
	}
	return mean, true
}

// MinutesOf is the treatment time, else the time from start to end.
func (s *Session) MinutesOf() (minutes float64, known bool) {
	if m, treated := s.Values["treated_time"]; treated {
		return m, m > 0
	}
	return s.ElapsedMin, s.ElapsedMin > 0
}

// Disagreement is a value that contradicts the others.
type Disagreement struct {
	// Name identifies the comparison; log and record have a rule for each.
	Name string
	// Fields are those compared, the one in doubt first.
	Fields []string
	// Value is what was found, Low and High what the others allow, in Unit.
	Value, Low, High float64
	Unit             string
}

// The comparisons that end in a number with limits.
const (
	UreaRises      = "urea-rises"
	UreaRatio      = "urea-ratio"
	UreaClearance  = "urea-clearance"
	UreaGeneration = "urea-generation"
)

// Disagreements compares the blood samples with each other and with what flows,
// time, body water and schedule lead to expect.
func (s *Session) Disagreements() []Disagreement {
	var found []Disagreement
	for _, compare := range [...]func() (Disagreement, bool){s.rises, s.ratio, s.clearance, s.generation} {
		if d, ok := compare(); ok && (d.Value < d.Low-Rounding || d.Value > d.High+Rounding) {
			found = append(found, d)
		}
	}
	return found
}

// all returns the values of fields when each is known.
func (s *Session) all(fields ...string) ([]float64, bool) {
	values := make([]float64, len(fields))
	for i, field := range fields {
		v, known := s.Values[field]
		if !known {
			return nil, false
		}
		values[i] = v
	}
	return values, true
}

// limited compares a number with the limits of a field.
func (s *Session) limited(name, field string, value float64, fields ...string) (Disagreement, bool) {
	l, ok := s.LimitOf(field)
	return Disagreement{name, fields, value, l.SoftLow, l.SoftHigh, l.Unit}, ok && !math.IsNaN(value)
}

// IsHeparin reports whether a medicine is heparin by its name, so that its dose
// in international units has the limits of heparin.
func IsHeparin(name string) bool { return strings.Contains(strings.ToLower(name), "heparin") }
