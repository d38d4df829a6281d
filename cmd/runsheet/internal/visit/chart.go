package visit

import (
	"slices"
	"time"

	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/validate/issue"
)

// chart is the calendar of sessions and the panels below it, on one time axis
// of whole weeks.
type chart struct {
	title, summary string
	language       issue.Language // of the numbers
	first          time.Time      // the Monday of the first week
	from, to       time.Time
	weeks          []week
	days           map[time.Time][]status
	weekdays       [7]string
	legend         [5]string // by status, and for a day without a row
	months         []label
	doneOf         [2]string // "done", "of", for weeks that are narrow
	weekText       []string  // "3 of 5" of each week
	part           string    // "part", for the first or the last week
	panels         []panel
	changes        []label // changes of prescription and access
	offAxis        string
}

// label is a text at a day.
type label struct {
	at   time.Time
	text string
}

// panel is one measure over time.
type panel struct {
	title, unit, note string
	points            []point
	// low has the lower end of a bar to each point; nil for a line.
	low map[time.Time]value
	// beside are dots beside the bars.
	beside []point
	// limits are lines of what was prescribed.
	limits []limit
}

// limit is a number prescribed from one day to another.
type limit struct {
	from, to time.Time
	value
	text string
}

func (b *builder) chart() chart {
	c := chart{
		language: b.opts.Language, title: b.t(issue.T("Sessions")), first: monday(b.from), from: b.from, to: b.to, weeks: b.weeksOf(), days: map[time.Time][]status{},
		doneOf:  [2]string{b.t(issue.T("done in the week")), b.t(issue.T("of prescribed"))},
		offAxis: b.t(issue.T("off the axis")), part: b.t(issue.T("part")),
	}
	for i, name := range [...]issue.Text{issue.T("Mon"), issue.T("Tue"), issue.T("Wed"), issue.T("Thu"), issue.T("Fri"), issue.T("Sat"), issue.T("Sun")} {
		c.weekdays[i] = b.t(name)
	}
	for s := done; s <= heldBack; s++ {
		c.legend[s] = b.statusName(s)
	}
	c.legend[4] = b.t(issue.T("no row"))
	for _, t := range b.treatments {
		c.days[day(t.start)] = append(c.days[day(t.start)], t.status)
	}
	for _, w := range c.weeks {
		text := w.count()
		switch {
		case w.part:
			text = b.t(issue.T("{}, {}", text, issue.T("part")))
		case w.planned != "":
			text = b.t(issue.T("{} of {}", text, w.planned))
		}
		c.weekText = append(c.weekText, text)
		if w.held > 0 {
			c.doneOf[0] = b.t(issue.T("done + held back"))
		}
	}
	c.monthLabels(b)
	c.panels, c.changes = b.panels(), b.changes()
	c.summary = b.t(issue.T("Calendar of sessions and {} line charts from {} to {}; the tables below hold the same values.", len(c.panels), b.date(b.from), b.date(b.to)))
	return c
}

// monthLabels names the first day and the first of each month.
func (c *chart) monthLabels(b *builder) {
	c.months = append(c.months, label{c.from, b.date(c.from)})
	for m := time.Date(c.from.Year(), c.from.Month()+1, 1, 0, 0, 0, 0, time.UTC); !m.After(c.to); m = m.AddDate(0, 1, 0) {
		c.months = append(c.months, label{m, b.shortDate(m)})
	}
}

// changes are the days within the span on which a prescription or an access
// begins.
func (b *builder) changes() []label {
	var all []label
	add := func(at time.Time, what issue.Text) {
		if at.After(b.from) && !at.After(b.to) {
			all = append(all, label{at, b.t(issue.T("{}: {}", b.shortDate(at), what))})
		}
	}
	for _, p := range b.plans {
		add(p.from, issue.T("new prescription"))
	}
	for _, a := range b.accesses {
		add(a.from, issue.T("new access, {}", issue.T(a.kind)))
	}
	slices.SortStableFunc(all, func(a, b label) int { return a.at.Compare(b.at) })
	return all
}

// panels are the charts of the measures that have values.
func (b *builder) panels() []panel {
	var all []panel
	for _, key := range [...]string{"weight_after", "bp_before_systolic", "uf_rate_per_kg", "treated_time", venousPressure, arterialPresure, "recovery_time", "interdialytic_weight_gain", "dialysate_kt_v"} {
		s := b.series(key)
		if len(s.points) == 0 {
			continue
		}
		p := panel{title: b.panelTitle(key), unit: unit(s.unit()), points: s.points, limits: b.limits(key, s.unit())}
		switch key {
		case "bp_before_systolic":
			p.low, p.beside = map[time.Time]value{}, b.series(lowestSystolic).points
			for _, d := range b.series("bp_before_diastolic").points {
				p.low[d.at] = d.value
			}
			p.note = b.t(issue.T("dark: lowest during"))
		case venousPressure, arterialPresure:
			_, flow := b.linePressure(key)
			p.note = b.t(issue.T("at {}, median", b.n(flow.text)+unit(flow.unit)))
		case "treated_time":
			if slices.ContainsFunc(s.points, func(q point) bool { return q.preliminary }) {
				p.note = b.t(issue.T("hollow: from start and end"))
			}
		case "dialysate_kt_v":
			p.note = b.t(issue.T("estimated from dialysate"))
		}
		all = append(all, p)
	}
	if s := b.weeklyDose(); len(s.points) > 0 {
		for i := range s.points {
			s.points[i].at = s.points[i].at.AddDate(0, 0, 3).Add(12 * time.Hour) // the middle of the week
		}
		all = append(all, panel{title: b.t(issue.T("Weekly std Kt/V")), note: b.t(issue.T("urea model, two pools")), points: s.points})
	}
	return all
}

func (b *builder) panelTitle(key string) string {
	short := map[string]issue.Text{
		"bp_before_systolic": issue.T("Blood pressure before"), venousPressure: issue.T("Venous pressure"), arterialPresure: issue.T("Arterial pressure"),
		"dialysate_kt_v": issue.T("Kt/V of a session"), "interdialytic_weight_gain": issue.T("Weight gain between"),
	}
	if text, ok := short[key]; ok {
		return b.t(text)
	}
	for _, m := range measures {
		if m.key == key {
			return b.t(m.name)
		}
	}
	return key
}

// limits are the steps of what was prescribed for a measure.
func (b *builder) limits(key, ucum string) []limit {
	pattern := map[string]issue.Text{"weight_after": issue.T("dry {}"), "uf_rate_per_kg": issue.T("limit {}"), "treated_time": issue.T("prescribed {}")}[key]
	if pattern.Key == "" {
		return nil
	}
	steps := b.planSteps(key)
	if key == "weight_after" {
		steps = b.drySteps()
	}
	var all []limit
	for _, s := range steps {
		pattern.Args = []any{b.n(s.text)}
		if s.text = b.t(pattern); s.unit == ucum {
			all = append(all, s)
		}
	}
	return all
}

// planSteps are the steps of a prescribed number, by its days.
func (b *builder) planSteps(key string) (steps []limit) {
	for i, p := range b.plans {
		from, to := p.from, b.to
		if i+1 < len(b.plans) && b.plans[i+1].from.Before(to) {
			to = b.plans[i+1].from
		}
		if v, ok := p.values[key]; ok && !from.After(b.to) && to.After(b.from) {
			if from.Before(b.from) {
				from = b.from
			}
			steps = appendStep(steps, limit{from, to, v, v.text})
		}
	}
	return steps
}

// drySteps are the steps of the dry weight that the sessions state, which
// includes what a person wrote down between two prescriptions.
func (b *builder) drySteps() (steps []limit) {
	for _, t := range b.treatments {
		if v, ok := t.values["dry_weight"]; ok {
			steps = appendStep(steps, limit{day(t.start), day(t.start), v, v.text})
		}
	}
	if len(steps) == 0 {
		return b.planSteps("weight_after")
	}
	return steps
}

// appendStep extends the last step if the number is the same.
func appendStep(steps []limit, s limit) []limit {
	if n := len(steps); n > 0 {
		if last := &steps[n-1]; last.number == s.number && last.value.unit == s.value.unit {
			last.to = s.to
			return steps
		}
		steps[n-1].to = s.from
	}
	return append(steps, s)
}

// axis are the ends of a panel: the least and the greatest number that is not
// far off, and the limits.
type axis struct {
	low, high         float64
	lowText, highText string
	offLow, offHigh   float64
}

func (p panel) axis() axis {
	var a axis
	set := false
	take := func(number float64, text string) {
		if !set || number < a.low {
			a.low, a.lowText = number, text
		}
		if !set || number > a.high {
			a.high, a.highText = number, text
		}
		set = true
	}
	a.offLow, a.offHigh = far(p.points)
	if p.low != nil {
		a.offLow = a.offLow - (a.offHigh-a.offLow)/2
	}
	for _, q := range p.points {
		if !a.off(q.number) {
			take(q.number, q.text)
		}
		if low, ok := p.low[q.at]; ok && !a.off(low.number) {
			take(low.number, low.text)
		}
	}
	for _, q := range p.beside {
		if !a.off(q.number) {
			take(q.number, q.text)
		}
	}
	for _, l := range p.limits {
		take(l.number, l.value.text)
	}
	return a
}

func (a axis) off(v float64) bool { return v < a.offLow || v > a.offHigh }

// y is the height of a number in a panel between top and bottom.
func (a axis) y(v, top, bottom float64) float64 {
	if a.high == a.low {
		return (top + bottom) / 2
	}
	return bottom - (v-a.low)/(a.high-a.low)*(bottom-top)
}

// points of a line.
func xy(x, y float64) pdf.Point { return pdf.Point{X: x, Y: y} }
