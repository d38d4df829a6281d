package visit

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/calc"
)

// point is a value at a time. text is what stands in the record, or the median
// of the session's readings.
type point struct {
	at time.Time
	value
}

// series are the values of one key in order of time, all with one unit and
// one method: those of the latest value. other counts the sessions left out
// for another unit or method.
type series struct {
	points []point
	other  int
}

func (s series) unit() string {
	if len(s.points) == 0 {
		return ""
	}
	return s.points[len(s.points)-1].unit
}

func (s series) method() string {
	if len(s.points) == 0 {
		return ""
	}
	return s.points[len(s.points)-1].method
}

// alike keeps the points with the unit and the method of the last one.
func alike(points []point) series {
	var s series
	for _, p := range points {
		if last := points[len(points)-1]; p.unit == last.unit && p.method == last.method {
			s.points = append(s.points, p)
		} else {
			s.other++
		}
	}
	return s
}

// within returns the points from one day to another.
func (s series) within(from, to time.Time) series {
	in := series{}
	for _, p := range s.points {
		if d := day(p.at); !d.Before(from) && !d.After(to) {
			in.points = append(in.points, p)
		}
	}
	return in
}

// summary is the median of a series with its least and greatest value, all
// written with the digits that the values have.
type summary struct{ median, least, greatest string }

func (s series) summary() summary {
	if len(s.points) == 0 {
		return summary{}
	}
	sorted := slices.Clone(s.points)
	slices.SortStableFunc(sorted, func(a, b point) int { return cmp.Compare(a.number, b.number) })
	numbers := make([]float64, len(sorted))
	for i, p := range sorted {
		numbers[i] = p.number
	}
	return summary{medianText(sorted, calc.Median(numbers)), sorted[0].text, sorted[len(sorted)-1].text}
}

// medianText writes a median with the most decimals of the values, and with
// one more where it lies halfway between two.
func medianText(values []point, median float64) string {
	decimals := 0
	for _, p := range values {
		if _, after, ok := strings.Cut(p.text, "."); ok {
			decimals = max(decimals, len(after))
		}
	}
	text := strconv.FormatFloat(median, 'f', decimals+1, 64)
	text = strings.TrimSuffix(strings.TrimSuffix(text, "0"), ".")
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// of returns the values of a key of the treatments that took place.
func (r *Record) of(key string) series {
	var points []point
	for _, t := range r.treatments {
		if v, ok := t.values[key]; ok && t.took() {
			points = append(points, point{t.start, v})
		}
	}
	return alike(points)
}

// linePressure is the median of each session's readings at the blood flow that
// is set in the last session with one; sessions at another flow are left out.
func (r *Record) linePressure(key string) (s series, flow value) {
	for _, t := range r.treatments {
		if set, ok := t.values["blood_flow"]; ok && t.took() {
			flow = set
		}
	}
	var points []point
	for _, t := range r.treatments {
		var at []point
		for _, reading := range t.readings {
			if v, ok := reading[key]; ok && flow.text != "" && reading["blood_flow"].number == flow.number && reading["blood_flow"].unit == flow.unit {
				at = append(at, point{t.start, v})
			}
		}
		if len(at) == 0 {
			continue
		}
		middle := at[0]
		middle.text = alike(at).summary().median
		middle.number, _ = strconv.ParseFloat(middle.text, 64)
		points = append(points, middle)
	}
	return alike(points), flow
}

// far returns the bounds beyond which a value is drawn off a broken axis: ten
// times the spread of the middle half away from it. The spread counts as at
// least a twentieth of the median, so that steady values leave room.
func far(points []point) (low, high float64) {
	numbers := make([]float64, len(points))
	for i, p := range points {
		numbers[i] = p.number
	}
	slices.Sort(numbers)
	if len(numbers) < 4 { // too few to say which is the usual one
		return math.Inf(-1), math.Inf(1)
	}
	first, third := numbers[len(numbers)/4], numbers[len(numbers)*3/4]
	spread := max(third-first, math.Abs(calc.Median(numbers))/20, math.SmallestNonzeroFloat64)
	return first - 10*spread, third + 10*spread
}
