package session

import (
	"slices"
	"strconv"
	"time"

	"runsheet.example/validate/issue"
)

// fewestOfForm is how many times in one form show that it is a habit, and not
// a slip (common practice).
const fewestOfForm = 5

// reportClockForm merges the findings about unreadable times into one if
// time_form can declare a form that all of them have.
func (c *collector) reportClockForm() {
	var at []int
	for i, f := range c.found {
		if f.Rule == "log-time" {
			at = append(at, i)
		}
	}
	var declared issue.Text
	for _, name := range clockFormNames {
		reads := func(i int) bool {
			form := ClockForm{clockForms[name]}
			clock, ok := form.read(c.found[i].Value)
			return ok && (name != "18.5" || clock >= time.Hour) // less is part of a day, as spreadsheets store times
		}
		of := slices.DeleteFunc(slices.Clone(at), func(i int) bool { return !reads(i) })
		if len(of) >= fewestOfForm && len(of) == len(at) {
			if form := issue.T("{} = {}", issue.T("time_form"), strconv.Quote(name)); declared.IsZero() {
				declared = form
			} else {
				declared = issue.T("{} or {}", declared, form)
			}
		}
	}
	if declared.IsZero() {
		return
	}
	first := &c.found[at[0]]
	first.session = nil
	first.Details = issue.T("the times are written in a form that log.toml does not declare")
	first.Expected = issue.T("{} in log.toml", declared)
	first.Mend = issue.T("declare the form that you write times in; nothing else needs changing")
	for _, i := range at[1:] {
		first.Cells = append(first.Cells, c.found[i].Cells...)
		c.found[i].Rule = ""
	}
	c.found = slices.DeleteFunc(c.found, func(f found) bool { return f.Rule == "" })
	for key := range c.counts {
		if key.rule == "log-time" {
			delete(c.counts, key)
		}
	}
}
