package calc

import (
	"cmp"
	"math"
	"slices"
)

// Recirculation returns access recirculation in percent by the two-needle urea
// method, 100·(S-A)/(S-V), from systemic, arterial-line and venous-line urea
// in the same unit. Above 10 % counts as abnormal (from memory).
func Recirculation(systemic, arterial, venous float64) (float64, error) {
	return given(100*(systemic-arterial)/(systemic-venous),
		Positive("systemic urea", systemic), Positive("arterial urea", arterial), NotNegative("venous urea", venous),
		When(venous >= systemic, "venous urea is not below systemic urea"))
}

// TMPFourPressures returns the transmembrane pressure in mm[Hg] as the mean of
// blood inlet and outlet minus the mean of dialysate inlet and outlet. At
// least five different formulas are in use (Morikami 2016): record the formula
// with the value.
func TMPFourPressures(bloodIn, bloodOut, dialysateIn, dialysateOut float64) (float64, error) {
	return given((bloodIn+bloodOut)/2-(dialysateIn+dialysateOut)/2,
		Finite("blood inlet pressure", bloodIn), Finite("blood outlet pressure", bloodOut),
		Finite("dialysate inlet pressure", dialysateIn), Finite("dialysate outlet pressure", dialysateOut))
}

// TMPThreePressures returns the transmembrane pressure in mm[Hg] as the mean
// of blood inlet and outlet minus dialysate outlet (from memory).
func TMPThreePressures(bloodIn, bloodOut, dialysateOut float64) (float64, error) {
	return TMPFourPressures(bloodIn, bloodOut, dialysateOut, dialysateOut)
}

// TMPTwoPressures returns the transmembrane pressure in mm[Hg] as blood outlet
// (venous) minus dialysate outlet (from memory).
func TMPTwoPressures(bloodOut, dialysateOut float64) (float64, error) {
	return TMPFourPressures(bloodOut, bloodOut, dialysateOut, dialysateOut)
}

// StaticPressureRatio returns the static intra-access pressure ratio (IAP -
// offset - P0)/MAP from the pressure with the pump stopped, the height offset
// and the transducer's zero, all in mm[Hg]. The ratio of a pressure with the
// pump running to MAP is a different quantity.
func StaticPressureRatio(accessPressure, offset, zero, meanArterial float64) (float64, error) {
	return given((accessPressure-offset-zero)/meanArterial,
		Finite("access pressure", accessPressure), Finite("height offset", offset), Finite("zero", zero), Positive("mean arterial pressure", meanArterial))
}

// CircuitReading is one pressure in the circuit with the conditions for
// comparing it.
type CircuitReading struct {
	AtMin       float64 // on one clock for all sessions
	BloodFlow   float64 // mL/min
	NeedleGauge int     // 0 when not recorded
	Pressure    float64 // mm[Hg], signed: arterial is negative
}

// Trend is the change of a pressure over time within one person, at one blood
// flow and needle gauge.
type Trend struct {
	BloodFlow   float64
	NeedleGauge int
	Readings    int
	Median      float64 // mm[Hg]
	Latest      float64 // mm[Hg]
	PerMonth    float64 // slope in mm[Hg] per 30 days; NaN if undefined
	WhyNot      string  // why there is no slope; "" otherwise
}

// TrendReadings is the minimum number of readings, at different moments, for a
// slope (our choice).
const TrendReadings = 5

// Trends groups readings by blood flow and needle gauge. It computes the
// median of each group and its Theil-Sen slope, the median of all pairwise
// slopes, which one outlier does not affect. Readings under different
// conditions are never mixed. Groups are sorted by blood flow, then gauge.
func Trends(readings []CircuitReading) []Trend {
	type condition struct {
		flow  float64
		gauge int
	}
	groups := map[condition][]CircuitReading{}
	var order []condition
	for _, r := range readings {
		c := condition{r.BloodFlow, r.NeedleGauge}
		if len(groups[c]) == 0 {
			order = append(order, c)
		}
		groups[c] = append(groups[c], r)
	}
	slices.SortFunc(order, func(a, b condition) int {
		return cmp.Or(cmp.Compare(a.flow, b.flow), cmp.Compare(a.gauge, b.gauge))
	})
	trends := make([]Trend, 0, len(order))
	for _, c := range order {
		trends = append(trends, trendOf(c.flow, c.gauge, groups[c]))
	}
	return trends
}

func trendOf(flow float64, gauge int, group []CircuitReading) Trend {
	slices.SortStableFunc(group, func(a, b CircuitReading) int { return cmp.Compare(a.AtMin, b.AtMin) })
	t := Trend{BloodFlow: flow, NeedleGauge: gauge, Readings: len(group), Latest: group[len(group)-1].Pressure, PerMonth: math.NaN()}
	pressures := make([]float64, 0, len(group))
	var slopes []float64
	for i, later := range group {
		pressures = append(pressures, later.Pressure)
		for _, earlier := range group[:i] {
			if later.AtMin > earlier.AtMin {
				slopes = append(slopes, (later.Pressure-earlier.Pressure)/(later.AtMin-earlier.AtMin))
			}
		}
	}
	t.Median = Median(pressures)
	if len(group) < TrendReadings || len(slopes) < TrendReadings {
		t.WhyNot = "too few readings at the same blood flow"
		if gauge > 0 {
			t.WhyNot += " and needle"
		}
		return t
	}
	t.PerMonth = Median(slopes) * 30 * 1440
	return t
}

// Median returns the middle of the values, or the mean of the middle two; NaN
// of none.
func Median(values []float64) float64 {
	n := len(values)
	if n == 0 {
		return math.NaN()
	}
	sorted := slices.Sorted(slices.Values(values))
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
