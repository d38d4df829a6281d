package adequacy

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
	"runsheet.example/validate/issue"
)

// accessText prints line pressures over the sessions, at the same blood flow
// and needle, within this person.
func (t Table) accessText(w io.Writer) {
	needled := slices.ContainsFunc(t.Access, func(a measure.AccessTrend) bool { return a.Access.Kind.Text != "catheter" })
	g := grid{title: "Access: line pressures over the sessions, at the same blood flow and needle", heads: [][]string{
		{"pressure", "blood flow", "needle", "sessions", "median", "latest", "trend"},
		{"", "mL/min", "gauge", "", "mmHg", "mmHg", "mmHg in 30 d"},
	}}
	if !needled {
		g.title = strings.TrimSuffix(g.title, " and needle")
		for i, head := range g.heads {
			g.heads[i] = slices.Delete(head, 2, 3)
		}
	}
	few := 0
	for _, a := range t.Access {
		for _, trend := range a.Trends {
			if trend.WhyNot != "" {
				few++
				continue
			}
			row := cells(pressureName(a), fixed(trend.BloodFlow, 0), gauge(trend), fmt.Sprint(trend.Readings),
				fixed(trend.Median, 0), fixed(trend.Latest, 0), signed(trend.PerMonth))
			if !needled {
				row = slices.Delete(row, 2, 3)
			}
			g.rows = append(g.rows, row)
		}
	}
	if len(g.rows) == 0 && few == 0 {
		return
	}
	g.notes = append(g.notes, "median of each session's readings at that flow; trend: median of all slopes between sessions (Theil and Sen). Sessions under other conditions are never mixed.")
	if few > 0 {
		g.notes = append(g.notes, fmt.Sprintf("%s with fewer than %d sessions left out", issue.Plural(few, "condition", "conditions"), calc.TrendReadings))
	}
	g.print(w)
}

func pressureName(a measure.AccessTrend) string {
	name := "venous"
	if a.Field == "arterial_line_pressure" {
		name = "arterial, pre-pump"
	}
	return a.Access.Kind.Text + " from " + a.Access.ValidFrom.Time.Format(day) + ", " + name
}

func gauge(t calc.Trend) string {
	if t.NeedleGauge == 0 {
		return ""
	}
	return fmt.Sprint(t.NeedleGauge)
}

func signed(v float64) string {
	text := fmt.Sprintf("%+.0f", v)
	if text == "-0" || text == "+0" {
		return "0"
	}
	return text
}
