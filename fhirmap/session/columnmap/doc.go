// Package columnmap reads logs of another shape: a unit's workbook, a CSV file
// with headings of its own, readings in repeated groups of columns, one sheet
// for each session, or several rows for each session.
//
// A [Map] is a TOML file that says which of their headings or cells is which
// of our columns, in which unit, and how dates, times and absences are
// written. [Read] gathers the cells under our columns and hands them to the
// reader of package session, so that every rule of reading is the same; each
// cell keeps the place in the sheet it was written in. [Suggest] drafts a map.
//
// Nothing is read that the map does not name, and nothing is left out without
// a finding: headings, sheets, files and numbers outside the map are listed.
package columnmap

import (
	"strings"

	"runsheet.example/fhirmap/session"
)

// Help is the page on column maps that the command line prints.
const Help = `A column map is a TOML file that says where in your sheet each part of the log
stands. "runsheet check --suggest-map SHEET" drafts one; look at every line of
it. Then: runsheet check SHEET --map map.toml --about log.toml

  format = 1                        # always this line first

  [[table]]                         # one for each kind of sheet that is read
  file = "*.csv"                    # which files of a folder; left out: all
  tab = "Log*"                      # which sheets of a workbook; left out: the first
  layout = "rows"                   # or "form": one sheet for each session
  heading_row = 3                   # left out: found by the headings
  heading_rows = 2                  # headings in two rows: "Before / Weight"
  first_row = 5                     # first and last row of data, if not all
  last_row = 40
  key = ["Date"]                    # several rows for each session: rows with the
                                    # same key, or none, belong together. In a second
                                    # table, the same key ties its rows to sessions
  date_form = "dd.mm.yy"            # iso, dmy, mdy, or a form of d, m, mmm, yy, yyyy, w
  year = 2025                       # for dates written without a year
  time_form = "18h30"               # or 18:30, 18.30, 1830, or 18.5 for hours with decimals
  decimal_mark = ","
  ignore = ["Signature"]            # headings that need not be read
  skip_rows = ["Total*"]            # rows whose first filled cell is this
  absences = { not_recorded = ["/"], not_done = ["omitted"], unknown = ["??"], not_applicable = ["none"] }

  [table.words]                     # their words for our choices, by column
  status = { "yes" = "done", "aborted" = "cut short" }

  [table.set]                       # what the sheet does not say and holds for all rows
  "sessions.status" = "done"

  [[table.column]]
  heading = "Weight pre (lb)"       # as written; or /a regular expression/
  column = "C"                      # the letter, if the heading is not enough
  to = "sessions.weight_before"     # part of the log, dot, name of the column (below)
  unit = "lb"                       # as written in the sheet

  [[table.column]]
  heading = "BP"
  to = ["readings.bp_systolic", "readings.bp_diastolic"]
  split = "/"                       # for cells such as 142/78
  prefix = "RR"                     # words before the value: RR 142/78; or a list
  optional = true                   # no warning when the column is not there

  [[table.column]]                  # where key joins several rows to one session:
  heading = "Time"                  # its first or last row with a value there.
  to = "sessions.end"               # The same heading may go to readings.time too
  take = "last"                     # or "first"; left out: the rows must agree

  [[table.group]]                   # columns that repeat: one reading for each {n}
  to = "readings"
  at = "start"                      # time: counted from start (or end) of the session,
  every_min = 60                    # n times so many minutes; or map a column to time
    [[table.group.column]]
    heading = "BP {n}h"
    to = ["bp_systolic", "bp_diastolic"]
    split = "/"

  [[table.group]]                   # one row of the log from a few columns
  to = "labs"
  set = { test = "urea", when = "before" }
  at = "start"
    [[table.group.column]]
    heading = "Urea pre"
    to = "value"
    unit = "mmol/L"

In a form, a column has cell = "B3" in place of a heading; a heading beside it is
the label that must stand to its left or above. A group with first_row (and
last_row or until the first empty row), and heading_row or column letters, reads
a block of rows on the form.

Units beside those of the log: lb, st lb (11 st 4 lb), g for weights; mL for
volumes; °F; kPa; h and h:mm for lengths of time; L/min for flows; mEq/L, and
mg/dL for calcium, of the dialysate. The unit written is the unit sent where the
record takes it; otherwise the number is converted, and the finding
map-converted shows both.

Who the log is about comes from --about log.toml, from the tables [log],
[patient], [clinic], [[prescription]], [[access]] and [[device]] in the map, or
from log.toml in the folder, in this order.`

// Names lists what to can name in a column map: the headings of the log. A
// second name stands after a slash where it is not the heading less its unit.
func Names() string {
	const width = 78
	var out strings.Builder
	out.WriteString("Columns are named as the log heads them, or without the unit (weight_before):\n\n")
	sheet, line := session.Columns[0].Sheet, "  "+string(session.Columns[0].Sheet)+":"
	for _, c := range mappable() {
		name := c.Name
		if !strings.HasPrefix(name, string(c.Field)) {
			name += "/" + string(c.Field)
		}
		switch {
		case c.Sheet != sheet:
			out.WriteString(line + "\n")
			sheet, line = c.Sheet, "  "+string(c.Sheet)+":"
		case len(line)+len(name) >= width:
			out.WriteString(line + "\n")
			line = "   "
		}
		line += " " + name
	}
	out.WriteString(line + "\n")
	return out.String()
}
