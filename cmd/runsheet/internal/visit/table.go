package visit

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap"
	"runsheet.example/validate/issue"
)

// measured is one line of the table of numbers, and one panel of the charts.
type measured struct {
	key  string
	name issue.Text
}

// measures are the numbers of a session, in the order of the page.
var measures = []measured{
	{"treated_time", issue.T("Time treated")},
	{"weight_after", issue.T("Weight after")},
	{"target_miss", issue.T("Weight after less dry weight")},
	{"interdialytic_weight_gain", issue.T("Weight gain between sessions")},
	{"uf_removed", issue.T("Fluid removed")},
	{"uf_rate_per_kg", issue.T("UF rate")},
	{"bp_before_systolic", issue.T("Blood pressure before, upper")},
	{"bp_before_diastolic", issue.T("Blood pressure before, lower")},
	{lowestSystolic, issue.T("Lowest upper pressure during")},
	{venousPressure, issue.T("Venous pressure at the set flow")},
	{arterialPresure, issue.T("Arterial pressure at the set flow")},
	{"recovery_time", issue.T("Time to recover")},
	{"dialysate_kt_v", issue.T("Kt/V of a session, from dialysate")},
}

var weeklyDoseName = issue.T("Weekly standard Kt/V, urea model")

const weeklyDoseKey = "std_kt_v_weekly"

func (b *builder) series(key string) series {
	if key == weeklyDoseKey {
		return b.weeklyDose()
	}
	if key == venousPressure || key == arterialPresure {
		s, _ := b.linePressure(key)
		return s
	}
	return b.of(key)
}

// weeklyDose is the weekly dose by the urea model.
func (b *builder) weeklyDose() series {
	var points []point
	for _, w := range b.weeks {
		points = append(points, point{w.monday, w.value})
	}
	return alike(points)
}

// window is four weeks of the table.
type window struct{ from, to time.Time }

// table is the builder of the table of numbers, whose weeks may begin before
// the days of the page.
func (b *builder) table() *builder {
	whole := *b
	whole.Record = b.whole
	return &whole
}

// windows are the last four weeks and the four before them.
func (b *builder) windows() [2]window {
	last := window{b.to.AddDate(0, 0, -27), b.to}
	return [2]window{last, {last.from.AddDate(0, 0, -28), last.from.AddDate(0, 0, -1)}}
}

// took is the number of sessions that took place in a window.
func (b *builder) took(w window) (n int) {
	for _, t := range b.treatments {
		if d := day(t.start); t.took() && !d.Before(w.from) && !d.After(w.to) {
			n++
		}
	}
	return n
}

func (b *builder) numbers() Table {
	table := Table{Title: b.t(issue.T("Numbers")), Shares: []float64{26.2, 6.6, 13.2, 7.8, 6.6, 13.2, 7.8, 18.6}, Over: []Span{{"", 1}}, Heads: []string{b.t(issue.T("Measure"))}}
	names := [...]issue.Text{issue.T("Last 4 weeks, {} to {}"), issue.T("4 weeks before, {} to {}")}
	for i, w := range b.windows() {
		names[i].Args = []any{b.shortDate(w.from), b.shortDate(w.to)}
		table.Over = append(table.Over, Span{b.t(names[i]) + b.partly(w), 3})
		table.Heads = append(table.Heads, b.t(issue.T("median")), b.t(issue.T("least to greatest")), b.t(issue.T("sessions")))
	}
	table.Over, table.Heads = append(table.Over, Span{"", 1}), append(table.Heads, b.t(issue.T("Prescribed")))
	table.Rows = append(table.Rows, b.attendanceRow())
	for _, m := range measures {
		if s := b.series(m.key); len(s.points) > 0 {
			table.Rows = append(table.Rows, b.row(b.t(m.name)+b.bracketed(s.unit()), m.key, b.prescribedText(m.key, s.unit())))
		}
	}
	if len(b.weeklyDose().points) > 0 {
		table.Rows = append(table.Rows, b.weeklyRow())
	}
	return table
}

// partly says where the log begins or ends within a window.
func (b *builder) partly(w window) (text string) {
	if b.begins.After(w.from) {
		text = b.t(issue.T(": first session {}", b.shortDate(b.begins)))
	}
	if b.ends.Before(w.to) {
		text += b.t(issue.T(": last session {}", b.shortDate(b.ends)))
	}
	return text
}

// counts is the number of sessions of each status in a window.
func (b *builder) counts(w window) (n [heldBack + 1]int) {
	for _, t := range b.treatments {
		if d := day(t.start); !d.Before(w.from) && !d.After(w.to) {
			n[t.status]++
		}
	}
	return n
}

// attendance is what attendanceRow says, for a record.
func (b *builder) attendance() (out []fhirmap.Attendance) {
	for _, w := range b.windows() {
		if n := b.counts(w); n != [heldBack + 1]int{} {
			out = append(out, fhirmap.Attendance{Span: w.span(b), Counts: [...]int{n[done] + n[cutShort], n[cutShort], n[notDone], n[heldBack]}})
		}
	}
	return out
}

// span is the part of a window that the log reaches.
func (w window) span(b *builder) fhirmap.Span {
	if w.from.Before(b.begins) {
		w.from = b.begins
	}
	return fhirmap.Span{From: w.from, To: w.to}
}

// attendanceRow counts the sessions of each window.
func (b *builder) attendanceRow() []string {
	row := []string{b.t(issue.T("Sessions done"))}
	for _, w := range b.windows() {
		count := b.counts(w)
		if count == [heldBack + 1]int{} {
			row = append(row, "–", "–", "0")
			continue
		}
		text := b.t(issue.T("{} of them cut short; {} not done", count[cutShort], count[notDone]))
		if held := count[heldBack]; held > 0 {
			text += b.t(issue.T(", {} held back", held))
		}
		row = append(row, strconv.Itoa(count[done]+count[cutShort]), text, "")
	}
	return append(row, b.prescribedText("sessions", "/wk"))
}

// in returns the values of a measure in a window, and how many sessions could
// have one; 0 for a measure of weeks, which count where they end.
func (b *builder) in(key string, w window) (in series, of int) {
	if key == weeklyDoseKey {
		return b.series(key).within(w.from.AddDate(0, 0, -6), w.to.AddDate(0, 0, -6)), 0
	}
	return b.series(key).within(w.from, w.to), b.took(w)
}

// summaries are the numbers of the table for a record.
func (b *builder) summaries() (out []fhirmap.Summary) {
	for _, m := range append(slices.Clone(measures), measured{key: weeklyDoseKey}) {
		for i, w := range b.windows() {
			in, of := b.in(m.key, w)
			if len(in.points) == 0 {
				continue
			}
			sum := in.summary()
			out = append(out, fhirmap.Summary{
				Span: w.span(b), Key: m.key, Window: i, Unit: in.unit(), Method: in.method(),
				Median: sum.median, Least: sum.least, Greatest: sum.greatest, Count: len(in.points), Sessions: of,
			})
		}
	}
	return out
}

func (b *builder) row(name, key, prescribed string) []string {
	row := []string{name}
	for _, w := range b.windows() {
		in, of := b.in(key, w)
		n := len(in.points)
		count := strconv.Itoa(n)
		if n < of {
			count = b.t(issue.T("{} of {}", n, of))
		}
		if n == 0 {
			row = append(row, "–", "–", count)
			continue
		}
		row = append(row, b.spread(in)...)
		row = append(row, count)
	}
	return append(row, prescribed)
}

func (b *builder) spread(s series) []string {
	sum := s.summary()
	return []string{b.n(sum.median), b.t(issue.T("{} to {}", b.n(sum.least), b.n(sum.greatest)))}
}

func (b *builder) weeklyRow() []string {
	row := []string{b.t(weeklyDoseName)}
	for _, w := range b.windows() {
		in, _ := b.in(weeklyDoseKey, w)
		if n := len(in.points); n == 0 {
			row = append(row, "–", "–", "0")
		} else {
			row = append(append(row, b.spread(in)...), b.t(issue.Text{Key: issue.OneOrMany(n, "{} week", "{} weeks"), Args: []any{n}}))
		}
	}
	return append(row, "")
}

// prescribedText is what was prescribed on the last day, and what was before
// if it changed within the two windows.
func (b *builder) prescribedText(key, ucum string) string {
	now, _ := b.planOn(b.to)
	v, ok := now.values[key]
	if !ok || v.unit != ucum {
		return ""
	}
	pattern := map[string]issue.Text{"uf_rate_per_kg": issue.T("limit {}"), "weight_after": issue.T("dry {}"), "sessions": issue.T("{} a week")}[key]
	text := b.n(v.text)
	if pattern.Key != "" {
		pattern.Args = []any{text}
		text = b.t(pattern)
	}
	first := b.windows()[1].from
	if steps := b.drySteps(); key == "weight_after" && len(steps) > 1 && steps[len(steps)-1].from.After(first) {
		last, before := steps[len(steps)-1], steps[len(steps)-2]
		return b.t(issue.T("dry {}", b.n(last.value.text))) + b.t(issue.T("; {} until {}", b.n(before.value.text), b.shortDate(last.from.AddDate(0, 0, -1))))
	}
	if before, known := b.planOn(now.from.AddDate(0, 0, -1)); known && now.from.After(first) && before.values[key].text != "" && before.values[key].text != v.text {
		text += b.t(issue.T("; {} until {}", b.n(before.values[key].text), b.shortDate(now.from.AddDate(0, 0, -1))))
	}
	return text
}

// dose are the values from blood samples, each with its method, the latest
// three days.
func (b *builder) dose() Table {
	table := Table{Title: b.t(issue.T("Dose from blood samples")), Shares: []float64{26, 24, 50}, Heads: []string{b.t(issue.T("Day")), b.t(issue.T("Value")), b.t(issue.T("Method"))}}
	names := []measured{{"sp_kt_v", issue.T("spKt/V {}")}, {"e_kt_v", issue.T("eKt/V {}")}, {"urea_reduction_ratio", issue.T("URR {} %")}}
	days := 0
	for i := len(b.treatments) - 1; i >= 0 && days < 3; i-- {
		t, sampled := b.treatments[i], false
		for _, n := range names {
			if v, ok := t.values[n.key]; ok && t.took() {
				sampled = true
				table.Rows = append(table.Rows, []string{b.date(day(t.start)), b.t(issue.Text{Key: n.name.Key, Args: []any{b.n(v.text)}}), b.methodName(v.method)})
			}
		}
		if sampled {
			days++
		}
	}
	if s := b.weeklyDose(); len(s.points) > 0 {
		last := s.points[len(s.points)-1]
		table.Rows = append(table.Rows, []string{b.t(issue.T("week from {}", b.shortDate(last.at))), b.t(issue.T("std Kt/V {}", b.n(last.text))), b.methodName(last.method)})
	}
	return table
}

// methodNames say a method of the dose in words. The sources are those of its
// row in package calc.
var methodNames = map[string]issue.Text{
	"urr": issue.T("definition"), "urr-delayed-sample": issue.T("from a late sample"),
	"spktv-daugirdas2": issue.T("Daugirdas 1993"), "spktv-daugirdas2-gfac": issue.T("Daugirdas 1993, any schedule"),
	"spktv-daugirdas2-gfac-volume": issue.T("Daugirdas 1993, body water"),
	"ektv-rate-av":                 issue.T("rate equation, fistula or graft"), "ektv-rate-cvc": issue.T("rate equation, catheter"),
	"ektv-tattersall-av": issue.T("Tattersall 1996, fistula or graft"), "ektv-tattersall-cvc": issue.T("Tattersall 1996, catheter"),
	"ektv-tattersall-by-access": issue.T("Tattersall 1996"), "ektv-tattersall-refit": issue.T("Tattersall form, refitted"), "ektv-leypoldt": issue.T("Leypoldt, HEMO study"),
	"ektv-delayed-sample": issue.T("from a late sample"), "ektv-delayed-sample-gfac": issue.T("from a late sample, any schedule"),
	"stdktv-" + calc.KineticSuffix(false): issue.T("urea model, two pools"),
}

// methodName says a method in words, or by its code where there are none.
func (b *builder) methodName(code string) string {
	if at := strings.LastIndexByte(code, '-'); at > 0 {
		if name, ok := methodNames[code[:at]]; ok {
			return b.t(name)
		}
	}
	return code
}

// medicines counts the doses of each medicine in the last four weeks, by the
// unit of the dose, the most frequent first.
func (b *builder) medicines() Table {
	w := b.windows()[0]
	table := Table{Title: b.t(issue.T("Medicines in the last 4 weeks")), Shares: []float64{40, 20, 40}, Heads: []string{b.t(issue.T("Medicine")), b.t(issue.T("Doses")), b.t(issue.T("Amount of each"))}}
	type given struct {
		name    string
		n       int
		amounts []point
	}
	var all []given
	for _, t := range b.whole.treatments {
		for _, d := range t.medicines {
			if at := day(t.start); at.Before(w.from) || at.After(w.to) {
				continue
			}
			i := slices.IndexFunc(all, func(g given) bool {
				return strings.EqualFold(g.name, d.name) && (d.amount.text == "" || len(g.amounts) == 0 || g.amounts[0].unit == d.amount.unit)
			})
			if i < 0 {
				i, all = len(all), append(all, given{name: d.name})
			}
			if all[i].n++; d.amount.text != "" {
				all[i].amounts = append(all[i].amounts, point{t.start, d.amount})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b given) int { return b.n - a.n })
	for _, g := range all {
		amount := "–"
		if sum := (series{points: g.amounts}).summary(); sum.least != "" {
			amount = b.n(sum.least)
			if sum.least != sum.greatest {
				amount = b.t(issue.T("{} to {}", amount, b.n(sum.greatest)))
			}
			amount += unit(g.amounts[0].unit)
		}
		table.Rows = append(table.Rows, []string{b.short(g.name, 30), strconv.Itoa(g.n), amount})
	}
	return table
}

// laboratory has the latest value of each test and the one before it.
func (b *builder) laboratory() Table {
	table := Table{Title: b.t(issue.T("Laboratory")), Shares: []float64{30, 22, 14, 34}, Heads: []string{b.t(issue.T("Test")), b.t(issue.T("Latest")), b.t(issue.T("Day")), b.t(issue.T("Before that"))}}
	seen := map[string]int{}
	for i := len(b.labs) - 1; i >= 0; i-- {
		l := b.labs[i]
		name := b.t(l.name)
		at, known := seen[name]
		text := b.n(l.text) + unit(l.unit)
		switch {
		case !known:
			seen[name] = len(table.Rows)
			table.Rows = append(table.Rows, []string{b.short(name, 30), text, b.shortDate(l.day), ""})
		case table.Rows[at][3] == "":
			table.Rows[at][3] = fmt.Sprintf("%s, %s", text, b.shortDate(l.day))
		}
	}
	return table
}

// shortenedBy is the least number of minutes missing that count as treated
// for less than prescribed.
const shortenedBy = calc.ShortenedByMin
