package columnmap

import (
	"regexp"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
)

var digitsIn = regexp.MustCompile(`\d{1,3}`)

// repeated finds groups of columns that repeat with a number in their
// headings, and marks their columns.
func (d *sketch) repeated(h headings, seen []seenColumn) map[int]bool {
	byTemplate := map[string][]int{}
	var order []string
	for i, name := range h.names {
		at := digitsIn.FindStringIndex(withoutUnitKept(name))
		if at == nil {
			continue
		}
		template := name[:at[0]] + numberMark + name[at[1]:]
		if len(byTemplate[template]) == 0 {
			order = append(order, template)
		}
		byTemplate[template] = append(byTemplate[template], i)
	}
	used := map[int]bool{}
	g := groupSketch{lines: []string{`to = "readings"`}, sure: likely}
	timed := false
	for _, template := range order {
		if len(byTemplate[template]) < 2 {
			continue
		}
		var all []string
		for _, i := range byTemplate[template] {
			all = append(all, seen[i].all...)
		}
		name := strings.Replace(template, numberMark, "", 1)
		one, ok := classify(name, lookAt(all), true)
		if !ok || one.sheet != session.SheetReadings && one.fields[0] != "blood_flow" {
			continue
		}
		one.sheet, one.heading = session.SheetReadings, template
		d.sample(template, lookAt(all).texts)
		timed = timed || one.fields[0] == "time"
		g.columns = append(g.columns, one)
		for _, i := range byTemplate[template] {
			used[i] = true
		}
	}
	if len(g.columns) == 0 {
		return used
	}
	g.why = "columns that repeat with a number in their headings"
	if !timed {
		g.interval()
	}
	d.groups = append(d.groups, g)
	return used
}

// withoutUnitKept replaces brackets by spaces, so that positions stay the same.
func withoutUnitKept(heading string) string {
	return unitInHeading.ReplaceAllStringFunc(heading, func(m string) string { return strings.Repeat(" ", len(m)) })
}

// interval reads the time of each group from the text after its number.
func (g *groupSketch) interval() {
	_, rest, _ := strings.Cut(g.columns[0].heading, numberMark)
	words := strings.Fields(folded(rest))
	unit := ""
	if len(words) > 0 {
		unit = words[0]
	}
	switch {
	case slices.Contains([]string{"h", "hr", "hrs", "hour", "std", "stunde", "u", "uur", "ora", "hora", "heure"}, unit):
		g.lines = append(g.lines, `at = "start"`, "every_min = 60")
		g.why += "; the number is taken for hours since the start"
	case unit == "min" || unit == "minuten" || unit == "minutes":
		g.lines = append(g.lines, `at = "start"`, "every_min = 1")
		g.why += "; the number is taken for minutes since the start"
	default:
		g.lines = append(g.lines, `at = "start"`, "every_min = 60  # how many minutes lie between two groups?")
		g.why += ", but nothing says at what times they were taken"
		g.sure = unsure
	}
}
