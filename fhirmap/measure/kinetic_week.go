package measure

import (
	"fmt"
	"slices"
	"time"

	"runsheet.example/calc"
)

// weeks computes the values of every local week of the log.
func (k *kinetic) weeks() []KineticWeek {
	mondays, first, last := k.mondays()
	weeks := make([]KineticWeek, 0, len(mondays))
	for _, monday := range mondays {
		w := KineticWeek{Monday: monday}
		if r := k.runFor(monday); r != nil {
			r.week(&w)
		} else {
			w.WhyNot = k.whyNoWeek(monday, first, last)
		}
		weeks = append(weeks, w)
	}
	return weeks
}

// mondays lists the weeks from the first day of the log to the last, without
// those in a gap of more than four weeks.
func (k *kinetic) mondays() (all []time.Time, first, last time.Time) {
	for _, s := range k.log.Sessions {
		if !s.Date.OK() {
			continue
		}
		monday := mondayOf(s.Date.Time)
		if first.IsZero() {
			first = s.Date.Time
			all = append(all, monday)
		}
		if daysBetween(last, s.Date.Time) > longestSpanDays && !last.IsZero() {
			all = append(all, monday)
		}
		for all[len(all)-1].Before(monday) {
			all = append(all, all[len(all)-1].AddDate(0, 0, 7))
		}
		last = s.Date.Time
	}
	return all, first, last
}

// mondayOf is the local Monday on or before a day.
func mondayOf(day time.Time) time.Time {
	return day.AddDate(0, 0, -((int(day.Weekday()) + 6) % 7))
}

// runFor selects the run for a week: the latest sample up to its end,
// otherwise the next sample whose span covers the week, otherwise the estimate
// from flows.
func (k *kinetic) runFor(monday time.Time) *kineticRun {
	nextMonday := monday.AddDate(0, 0, 7)
	var upTo, later, flows *kineticRun
	for _, r := range k.runs {
		if !r.covers(monday) {
			continue
		}
		switch sampled := r.fit.Session.Date.Time.Before(nextMonday); {
		case !r.fit.Sampled:
			flows = r
		case sampled:
			upTo = r
		case later == nil:
			later = r
		}
	}
	for _, r := range []*kineticRun{upTo, later, flows} {
		if r != nil {
			return r
		}
	}
	return nil
}

// whyNoWeek explains in plain words why the model has no value for a week.
func (k *kinetic) whyNoWeek(monday, first, last time.Time) string {
	sunday := monday.AddDate(0, 0, 6)
	switch {
	case first.After(monday):
		return "the log begins within the week"
	case last.Before(sunday):
		return "the log ends within the week"
	}
	for _, part := range k.stretches {
		if part.why != "" && part.lastDay.Before(sunday) && !part.until.Before(monday) {
			return part.why
		}
	}
	for _, r := range k.runs {
		steps := r.part.steps
		if r.fit.WhyNot != "" && !steps[0].start.After(sunday) && !r.part.lastDay.Before(monday) {
			return r.fit.WhyNot
		}
	}
	return "the model has no known state to start from in this week"
}

// week computes the values of one week by every model of the run.
func (r *kineticRun) week(w *KineticWeek) {
	w.Fit = r.fit
	from, to := r.at(w.Monday), r.at(w.Monday.AddDate(0, 0, 7))
	for i, c := range r.courses {
		m := WeekModel{Name: r.variants[i].name, WhyNot: c.whyNot}
		if c.whyNot == "" {
			m.Values, m.WhyNot = r.values(c, from, to)
		}
		w.Models = append(w.Models, m)
	}
	if _, ok := w.Main(); !ok {
		w.WhyNot = w.Models[0].WhyNot
		return
	}
	w.Sensitivity = r.sensitivity(from, to)
}

func (r *kineticRun) values(c course, from, to float64) ([]calc.Result, string) {
	window, err := c.run.Window(from, to)
	if err != nil {
		return nil, err.Error()
	}
	// The protein catabolic rate is not included: it belongs to the steady
	// span of the fit, not to a week as treated.
	results := slices.DeleteFunc(window.Results(), func(r calc.Result) bool { return r.Method.Key == "npcr" })
	if r.sample != nil {
		results = append(results, window.Concentrations()...)
	}
	for i := range results {
		results[i].Notes = append(results[i].Notes, r.notes(c, from, to)...)
	}
	return results, ""
}

func (r *kineticRun) notes(c course, from, to float64) []string {
	var notes []string
	m := c.model
	if r.sample == nil {
		notes = append(notes, "estimated from flows and body size, without blood samples; body water by "+m.VolumeFrom)
	} else {
		notes = append(notes, fmt.Sprintf("fitted to the samples of %s: body water %s L (%s), clearance %s of that from flows",
			day(r.fit.Session.Date.Time), shortNumber(m.Body.VolumeL, 1), m.VolumeFrom, shortNumber(m.Factor, 2)))
	}
	notes = append(notes, r.fit.Notes...)
	if from < r.minute(r.first) {
		notes = append(notes, "the hours of the week before the first session known rest on that repetition")
	}
	last := r.part.steps[r.to]
	if end := r.minute(r.to) + last.minutes; to > end {
		notes = append(notes, "after the last session of the log fluid is taken to be gained at the mean rate of the span")
	}
	return notes
}
