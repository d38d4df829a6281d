package kinetics

import (
	"math"
	"sort"

	"runsheet.example/calc"
)

// Window is the dose of a period of a [Run], for instance of one week as
// treated.
type Window struct {
	Dose
	FromMin, ToMin float64
	Sessions       int // that start in the window
	NotDone        int // planned in the window and not done
}

// Window returns the dose between two moments of the run.
func (r Run) Window(fromMin, toMin float64) (Window, error) {
	if len(r.legs) == 0 {
		return Window{}, calc.NotComputable("the course is empty")
	}
	last := len(r.legs) - 1
	if err := calc.Guard(
		calc.When(!(toMin > fromMin), "the window has no length"),
		calc.When(fromMin < r.starts[0] || toMin > r.starts[last]+r.legs[last].minutes, "the window reaches beyond the course"),
	); err != nil {
		return Window{}, err
	}
	w := Window{Dose: Dose{Body: r.Body, MeanBeforeMgPerDL: math.NaN()}, FromMin: fromMin, ToMin: toMin}
	area := 0.0
	for i := r.legAt(fromMin); i < len(r.legs) && r.starts[i] < toMin; i++ {
		part := r.area(i, math.Min(toMin, r.starts[i]+r.legs[i].minutes))
		if fromMin > r.starts[i] {
			part -= r.area(i, fromMin)
		}
		area += part
		w.DialyserRemovedMg += r.legs[i].clearance * part
	}
	w.TimeAveragedMgPerDL = 100 * area / (toMin - fromMin)
	w.KidneyRemovedMg = r.model.residual * area
	w.GeneratedMg = r.model.generation * (toMin - fromMin)
	sum := 0.0
	first := sort.Search(len(r.Sessions), func(i int) bool { return r.Sessions[i].StartMin >= fromMin })
	for _, s := range r.Sessions[first:] {
		if s.StartMin >= toMin {
			break
		}
		sum += s.BeforeMgPerDL
		w.Sessions++
	}
	for _, moment := range r.NotDone {
		if moment < fromMin || moment >= toMin {
			continue
		}
		state, err := r.At(moment)
		if err != nil {
			return Window{}, err
		}
		sum += state.PlasmaMgPerDL
		w.NotDone++
	}
	if w.Sessions+w.NotDone > 0 {
		w.MeanBeforeMgPerDL = sum / float64(w.Sessions+w.NotDone)
	}
	return w, nil
}

// legAt returns the last leg that starts at or before the moment, which must
// not be before the start of the course.
func (r Run) legAt(minute float64) int {
	return max(0, sort.Search(len(r.starts), func(i int) bool { return r.starts[i] > minute })-1)
}

// area returns the area under the concentration of pool 1 from the start of a
// leg to a moment within it, mg/mL·min.
func (r Run) area(i int, until float64) float64 {
	l := r.legs[i]
	l.minutes = until - r.starts[i]
	_, area := r.model.advance(r.states[i], l)
	return area
}

// At returns the state at a moment of the run.
func (r Run) At(minute float64) (UreaState, error) {
	i := r.legAt(minute)
	if i >= len(r.legs) || minute < r.starts[i] || minute > r.starts[i]+r.legs[i].minutes {
		return UreaState{}, calc.NotComputable("the moment is outside the course")
	}
	l := r.legs[i]
	l.minutes = minute - r.starts[i]
	m, _ := r.model.advance(r.states[i], l)
	return r.model.stateOf(minute, l.endVolume(), m), nil
}
