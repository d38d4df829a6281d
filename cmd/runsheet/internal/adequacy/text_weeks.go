package adequacy

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
)

func (t Table) attendanceGrid() grid {
	g := grid{title: "Weeks, Monday to Sunday: attendance", heads: [][]string{
		{"from", "pre-", "done", "of these", "not", "held", "short-", "hours", over, "in any 7 days", "28 days to Sunday", over},
		{"", "scribed", "", "cut short", "done", "back", "ened", "treated", "planned", "fewest-most", "a week", "h a week"},
	}}
	for _, w := range t.Weeks {
		g.rows = append(g.rows, attendance(w))
	}
	g.notes = []string{"shortened: more than 10 min below the prescribed time. not done: rows that say so; a session without a row is not counted.",
		"~ the log does not cover the whole week; +n: n sessions do not say"}
	return g
}

func attendance(w Week) []string {
	c := w.Counted
	line := cells(weekName(w), w.Prescribed, strconv.Itoa(c.Done), strconv.Itoa(w.CutShort), strconv.Itoa(c.Missed), strconv.Itoa(c.HeldBack),
		strconv.Itoa(c.Shortened), sum(c.TreatedMin/60, 1, c.TimeNotKnown), number(calc.Maybe{Value: c.PlannedMin / 60, Known: c.PlannedMin > 0}, 1), bounds(w), "", "")
	if w.Month.Planned > 0 {
		line[10] = strconv.FormatFloat(w.Month.SessionsPerWeek, 'f', 2, 64)
		line[11] = sum(w.Month.HoursPerWeek, 1, w.Month.TimeNotKnown)
	}
	return line
}

func bounds(w Week) string {
	switch {
	case w.Fewest < 0:
		return ""
	case w.Fewest == w.Most:
		return strconv.Itoa(w.Fewest)
	default:
		return fmt.Sprintf("%d-%d", w.Fewest, w.Most)
	}
}

func weekName(w Week) string {
	name := w.Monday.Format(day)
	if !w.Whole {
		name = "~" + name
	}
	return name
}

func sum(value float64, decimals, without int) string {
	text := strconv.FormatFloat(value, 'f', decimals, 64)
	if without > 0 {
		text += " +" + strconv.Itoa(without)
	}
	return text
}

func (t Table) weekFluidGrid() grid {
	g := grid{title: "Weeks: fluid", heads: [][]string{
		{"from", "UF", "highest UF rate", "weight above dry"},
		{"", "L", "mL/kg/h", "time-averaged, kg"},
	}}
	for _, w := range t.Weeks {
		g.rows = append(g.rows, cells(weekName(w), sum(w.UFLitres, 2, w.WithoutUF), w.MaxUFRate, w.Excess.Result.Rounded()))
		if why := w.Excess.Result.WhyNot; why != "" {
			g.notes = append(g.notes, "no average for the week of "+w.Monday.Format(day)+": "+why)
		}
	}
	return g
}

// weekDoseGrid prints the weekly dose by regression beside that by model.
func (t Table) weekDoseGrid() grid {
	g := grid{title: "Weeks: standard Kt/V, by regression up to a blood sample and by urea kinetics of the week as it was", heads: [][]string{
		{"from", "by regression", over, "by model", over, over, "main model", over, over, "samples"},
		{"", "constant V", "UF and Kru", "two pools", "one pool", "V fitted", "EKR", "urea before", "urea mean", "used"},
		{"", "", "", "", "", "", "mL/min", "mmol/L", "mmol/L", ""},
	}}
	for _, w := range t.Weeks {
		g.rows = append(g.rows, weekDose(w))
		for _, v := range w.Doses {
			if !v.Result.OK() {
				g.notes = append(g.notes, fmt.Sprintf("regression, sample of %s: no value, %s", v.End.Format(day), v.Result.WhyNot))
			}
			for _, note := range v.Result.Notes {
				g.notes = append(g.notes, fmt.Sprintf("regression, sample of %s: %s", v.End.Format(day), note))
			}
		}
	}
	g.notes = append(unique(append(g.notes, t.modelNotes(true)...)), "Regression takes the sampled session for every session of the one to four weeks before it; the model follows each session done, counts urea at the time of one planned and not done, and knows none without a row. The forms answer different questions: name the form with the value.",
		"The model counts fluid removal and residual clearance; of the regressions only the second does.",
		"Urea before and mean urea: plasma, by the model, over the week. Not exported: no single record holds their inputs.")
	g.notes = append(g.notes, t.Kinetics.Notes...)
	return g
}

// modelNotes explain which weeks have no value by the model and why; on
// request they include weeks partly in the log and weeks without every
// prescribed session.
func (t Table) modelNotes(partly bool) []string {
	var order []string
	weeks := map[string][]string{}
	for _, w := range t.Weeks {
		why := ""
		prescribed, err := strconv.ParseFloat(w.Prescribed, 64)
		rows := w.Counted.Planned + w.Counted.HeldBack
		switch {
		case !w.Whole && !partly:
			continue
		case w.Kinetic.WhyNot != "":
			why = "no model value for the week of %s: " + w.Kinetic.WhyNot
		case w.Whole && err == nil && float64(rows) < math.Floor(prescribed):
			why = "the week of %s has fewer rows than sessions prescribed; the model knows only those that have one"
		default:
			continue
		}
		if weeks[why] == nil {
			order = append(order, why)
		}
		weeks[why] = append(weeks[why], w.Monday.Format(day))
	}
	var notes []string
	for _, why := range order {
		notes = append(notes, strings.Replace(why, "%s", strings.Join(weeks[why], ", "), 1))
	}
	return notes
}

func weekDose(w Week) []string {
	byMethod := map[string]string{}
	for _, v := range w.Doses {
		byMethod[v.Result.Method.ID] = v.Result.Rounded() // the latest sample of the week
	}
	line := cells(weekName(w), byMethod["stdktv-leypoldt-fixed"], byMethod["stdktv-fhn-uf-kru"], "", "", "", "", "", "", "")
	for i, m := range w.Kinetic.Models {
		if r, ok := m.Value("std_kt_v_weekly"); ok && i < 3 {
			line[3+i] = r.Rounded()
		}
	}
	if m, ok := w.Kinetic.Main(); ok {
		for i, key := range []string{"ekr", "mean_urea_before_plasma", "time_averaged_urea_plasma"} {
			if r, ok := m.Value(key); ok {
				line[6+i] = r.Rounded()
			}
		}
		line[9] = "none: estimate"
		if w.Kinetic.Fit.Sampled {
			line[9] = w.Kinetic.Fit.Session.Date.Time.Format(day)
		}
	}
	return line
}

func unique(texts []string) []string {
	seen := map[string]bool{}
	var out []string
	for _, text := range texts {
		if !seen[text] {
			seen[text] = true
			out = append(out, text)
		}
	}
	return out
}

// modelText describes the inputs of the model and its sensitivity.
func (t Table) modelText(w io.Writer) {
	if len(t.Kinetics.Fits) == 0 {
		return
	}
	fmt.Fprintf(w, "\nUrea kinetics: what the model starts from\n")
	for _, f := range t.Kinetics.Fits {
		printWrapped(w, "  ", fitTitle(f))
		for _, m := range f.Models {
			printWrapped(w, "    ", modelLine(f, m))
		}
		if f.WhyNot == "" {
			for _, note := range f.Notes {
				printWrapped(w, "    ", note)
			}
		}
	}
	if g := t.firmness(); len(g.rows) > 0 {
		g.print(w)
	}
}

func fitTitle(f *measure.KineticFit) string {
	day := f.Session.Date.Time.Format(day)
	switch {
	case f.WhyNot != "" && f.Sampled:
		return "samples of " + day + ": not used, " + f.WhyNot
	case f.WhyNot != "":
		return "from flows up to " + day + ": no start, " + f.WhyNot
	case !f.Sampled:
		return "from flows only, up to " + day
	}
	title := fmt.Sprintf("samples of %s: plasma urea %s before, %s after, mmol/L", day, fixed(f.Before, 1), fixed(f.After, 1))
	if f.Forecast != nil {
		title += fmt.Sprintf("; the model had %s and %s from the samples before", fixed(f.Forecast.Before, 1), fixed(f.Forecast.After, 1))
	}
	return title
}

func modelLine(f *measure.KineticFit, m measure.FittedModel) string {
	if m.WhyNot != "" {
		return m.Name + ": " + m.WhyNot
	}
	parts := []string{fmt.Sprintf("body water %s L", fixed(m.Body.VolumeL, 1))}
	if f.Sampled {
		parts = append(parts, fmt.Sprintf("urea nitrogen generated %s mg/min", fixed(m.Body.GenerationMgPerMin, 2)),
			fmt.Sprintf("clearance %s of that from flows", fixed(m.Factor, 2)), "nPCR by generation "+m.NPCR.Rounded()+" g/kg/d")
	}
	parts = append(parts, fmt.Sprintf("residual urea clearance %s mL/min", fixed(m.Body.ResidualMLPerMin, 1)))
	return m.Name + ": " + strings.Join(parts, ", ")
}

// fixed formats a number with a fixed number of decimals; minus zero is zero.
func fixed(v float64, decimals int) string {
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// firmness prints the change of weekly standard Kt/V with the least certain
// inputs: one column for each case.
func (t Table) firmness() grid {
	g := grid{title: "How firm the model's standard Kt/V is: one input changed, samples fitted again", heads: [][]string{{"from"}, {""}}}
	columns := map[[2]string]int{}
	for _, w := range t.Weeks {
		for _, s := range w.Kinetic.Sensitivity {
			for j, c := range s.Cases {
				name := [2]string{s.Input, c.Label}
				if _, known := columns[name]; known {
					continue
				}
				columns[name] = len(g.heads[0])
				head := over
				if j == 0 {
					head, _, _ = strings.Cut(s.Input, ",")
				}
				g.heads[0], g.heads[1] = append(g.heads[0], head), append(g.heads[1], c.Label)
			}
		}
	}
	for _, w := range t.Weeks {
		if len(w.Kinetic.Sensitivity) > 0 {
			g.rows = append(g.rows, firmnessRow(w, columns))
		}
	}
	return g
}

func firmnessRow(w Week, columns map[[2]string]int) []string {
	line := make([]string, len(columns)+1)
	line[0] = weekName(w)
	for _, s := range w.Kinetic.Sensitivity {
		for _, c := range s.Cases {
			if c.WhyNot == "" {
				line[columns[[2]string{s.Input, c.Label}]] = fixed(c.StdKtV, 2)
			}
		}
	}
	return cells(line...)
}
