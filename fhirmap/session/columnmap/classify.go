package columnmap

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"runsheet.example/fhirmap/session"
)

// sureness is how sure a suggestion is.
type sureness uint8

const (
	unsure sureness = iota
	likely
	sure
)

func (s sureness) String() string { return [...]string{"unsure", "likely", "sure"}[s] }

// suggestion is what a column of a sheet may be.
type suggestion struct {
	heading string
	letter  string // of the column, when the heading is not enough
	cell    string // on a form
	sheet   session.Sheet
	fields  []session.Field
	// set are the words a laboratory value needs beside it.
	set    map[string]string
	unit   string
	split  string
	sure   sureness
	why    []string
	doubts []string
}

func (s *suggestion) doubt(format string, args ...any) {
	s.doubts = append(s.doubts, fmt.Sprintf(format, args...))
	s.sure = unsure
}

// names are the targets as a map has them, without the sheet within a group.
func (s *suggestion) names(within bool) []string {
	var names []string
	for _, f := range s.fields {
		if within {
			names = append(names, string(f))
		} else {
			names = append(names, string(s.sheet)+"."+string(f))
		}
	}
	return names
}

// classifier finds what a heading and the cells below it may be.
type classifier struct {
	found map[concept]string
	seen  contents
	// perReading is set where each row is one reading of a session.
	perReading bool
	out        suggestion
}

// classify suggests a column for a heading. ok is false when nothing in the
// heading is known.
func classify(heading string, seen contents, perReading bool) (suggestion, bool) {
	c := &classifier{found: conceptsIn(heading), seen: seen, perReading: perReading}
	c.out = suggestion{heading: heading, sheet: session.SheetSessions, sure: sure}
	for _, try := range []func() bool{c.ownWord, c.before, c.pressure, c.person, c.machine, c.fluid, c.laboratory, c.bath, c.words, c.row, c.times} {
		if try() {
			c.finish()
			return c.out, true
		}
	}
	return c.out, false
}

func (c *classifier) has(all ...concept) bool {
	for _, one := range all {
		if _, ok := c.found[one]; !ok {
			return false
		}
	}
	return true
}

func (c *classifier) to(sheet session.Sheet, fields ...session.Field) bool {
	c.out.sheet, c.out.fields = sheet, fields
	return true
}

// moment is before, after or "" as the heading says; the start and the end
// count for values that are taken then.
func (c *classifier) moment() string {
	before, after := c.has(isBefore), c.has(isAfter)
	if !before && !after {
		before, after = c.has(aStart), c.has(anEnd)
	}
	switch {
	case before && !after:
		return "before"
	case after && !before:
		return "after"
	default:
		return ""
	}
}

// momentOr goes to one field before and another after; without a moment it is
// a reading or in doubt.
func (c *classifier) momentOr(kind string, reading ...session.Field) bool {
	switch m := c.moment(); {
	case m != "":
		c.out.fields = nil
		for _, f := range reading {
			c.out.fields = append(c.out.fields, session.Field(strings.Replace(kind, "*", m, 1)+strings.TrimPrefix(string(f), "bp")))
		}
		return true
	case c.perReading:
		return c.to(session.SheetReadings, reading...)
	default:
		c.out.fields = nil
		for _, f := range reading {
			c.out.fields = append(c.out.fields, session.Field(strings.Replace(kind, "*", "before", 1)+strings.TrimPrefix(string(f), "bp")))
		}
		c.out.doubt("it may be from before or from after dialysis")
		return true
	}
}

// before recognises what is looked at and used before a treatment. Words for a
// needle and a side of the circuit are the place of the needle.
func (c *classifier) before() bool {
	for _, one := range []struct {
		field session.Field
		all   []concept
		what  string
	}{
		{"value", []concept{"check_chlorine"}, "total chlorine"}, {"value", []concept{"check_hardness"}, "water hardness"},
		{"lot", []concept{aLot, "dialyser"}, "dialyser"}, {"lot", []concept{aLot, someLines}, "blood lines"}, {"lot", []concept{aLot, "needle_problems"}, "needles"},
	} {
		if c.has(one.all...) {
			c.out.set = map[string]string{"what": one.what}
			return c.to(session.SheetChecks, one.field)
		}
	}
	switch {
	case c.has("needle_problems", anArterial):
		return c.to(session.SheetSessions, "arterial_needle_site")
	case c.has("needle_problems", aVenous):
		return c.to(session.SheetSessions, "venous_needle_site")
	}
	return false
}

// pressure recognises blood pressures.
func (c *classifier) pressure() bool {
	named := c.has(aPressure) || c.has(isSystolic) || c.has(isDiastolic)
	if !named && c.has(anArterial) && !c.has("transmembrane_pressure") {
		// The words for arterial pressure mean blood pressure in some
		// languages and the pressure before the pump in all.
		named = len(c.seen.pairs) > 0 && c.seen.mostly(len(c.seen.pairs))
	}
	if !named {
		return false
	}
	kind := "bp_*"
	if c.has(isStanding) {
		kind = "bp_*_standing"
	}
	switch {
	case c.has(isSystolic) && !c.has(isDiastolic):
		return c.momentOr(kind, "bp_systolic")
	case c.has(isDiastolic) && !c.has(isSystolic):
		return c.momentOr(kind, "bp_diastolic")
	}
	c.out.split = c.seen.splits
	if c.out.split == "" {
		c.out.split = "/"
	}
	if !c.seen.mostly(len(c.seen.pairs)) && len(c.seen.texts) > 0 {
		c.out.doubt("the cells do not hold pairs such as 142/78")
	}
	return c.momentOr(kind, "bp_systolic", "bp_diastolic")
}

// person recognises weight, pulse and body temperature.
func (c *classifier) person() bool {
	switch {
	case c.has(aWeight, isDry):
		return c.to(session.SheetSessions, "dry_weight")
	case c.has(aWeight):
		c.perReading = false
		return c.single("weight_*")
	case c.has(aTemperature) && !c.has(aDuration):
		if c.has(ofDialysate) {
			return c.to(session.SheetReadings, "dialysate_temperature")
		}
		return c.single("temperature_*")
	case c.has(aPulse):
		if c.moment() == "" && c.perReading {
			return c.to(session.SheetReadings, "pulse")
		}
		return c.single("pulse_*")
	}
	return false
}

func (c *classifier) single(kind string) bool {
	m := c.moment()
	if m == "" {
		m = "before"
		c.out.doubt("it may be from before or from after dialysis")
	}
	return c.to(session.SheetSessions, session.Field(strings.Replace(kind, "*", m, 1)))
}

// machine recognises what the machine shows.
func (c *classifier) machine() bool {
	both := session.SheetSessions
	if c.perReading {
		both = session.SheetReadings
	}
	switch {
	case c.has(aBloodVolume) && !c.has(aFlow):
		return c.to(session.SheetSessions, "blood_processed")
	case c.has(aDialysateFlow):
		return c.to(both, "dialysate_flow")
	case c.has(aBloodFlow):
		return c.to(both, "blood_flow")
	case c.has(ofDialysate) && c.has(aVolume) && !c.has(aFlow):
		return c.to(session.SheetSessions, "dialysate_volume")
	case c.has("transmembrane_pressure"):
		return c.to(session.SheetReadings, "transmembrane_pressure")
	case c.has(aVenous):
		return c.to(session.SheetReadings, "venous_line_pressure")
	case c.has(anArterial):
		if median(c.seen.numbers) > 0 {
			c.out.doubt("the numbers have no minus; it may be a blood pressure, or the pressure before the pump without its sign")
		}
		return c.to(session.SheetReadings, "arterial_line_pressure")
	case c.has("dialysate_conductivity"):
		return c.to(session.SheetReadings, "dialysate_conductivity")
	case c.has("dialyser"):
		return c.to(session.SheetSessions, "dialyser")
	}
	return false
}

// fluid recognises what is taken out and goes in.
func (c *classifier) fluid() bool {
	switch {
	case c.has(anUF) && c.has(aGoal):
		return c.to(session.SheetSessions, "uf_goal")
	case c.has(anUF) && c.has(aRate):
		return c.to(session.SheetReadings, "uf_rate")
	case c.has(anUF) && (c.has(aSum) || c.perReading):
		if !c.has(aSum) {
			c.out.sure = likely
			c.out.why = append(c.out.why, "it changes from row to row, so it is taken for the fluid removed so far")
		}
		return c.to(session.SheetReadings, "uf_so_far")
	case c.has(anUF):
		if !c.has(aDelivered) {
			c.removedOrGoal()
		}
		return c.to(session.SheetSessions, "uf_removed")
	case c.has("rinseback"):
		return c.to(session.SheetSessions, "rinseback")
	case c.has("saline"):
		return c.to(session.SheetSessions, "saline")
	case c.has("drinks"):
		return c.to(session.SheetSessions, "drinks")
	case c.has("urine") && !c.has(aPressure):
		return c.to(session.SheetSessions, "urine")
	}
	return false
}

// removedOrGoal judges a heading that names ultrafiltration without a word for
// goal or delivered. A further word that is not known may be either.
func (c *classifier) removedOrGoal() {
	for _, word := range unknownWords(c.out.heading) {
		if _, _, err := session.ColumnIn(session.SheetSessions, "uf_removed", word); err != nil {
			c.out.doubt("it may be the goal or what was removed: the word %s is not known", word)
		}
	}
	c.out.sure = min(c.out.sure, likely)
	c.out.why = append(c.out.why, "without a word for the goal it is taken for what was removed")
}

// tests are the laboratory tests; the last ones may be of the dialysate.
var tests = []concept{"bun", "urea", "creatinine", "haemoglobin", "phosphate", "potassium", "sodium", "bicarbonate"}

// laboratory recognises results of blood tests: tests of blood alone, and
// those that may be of the dialysate if the heading has a moment.
func (c *classifier) laboratory() bool {
	if c.has(ofDialysate) {
		return false
	}
	for _, test := range tests {
		if !c.has(test) {
			continue
		}
		bloodOnly := !slices.Contains(tests[5:], test)
		m := c.moment()
		if test == "sodium" && c.found["sodium"] == "na" && c.found[isAfter] == "na" {
			m = ""
		}
		if !bloodOnly && m == "" {
			return false
		}
		if test == "bun" {
			test = "BUN" // as the log writes it
		}
		c.out.set = map[string]string{"test": string(test), "when": m}
		if m == "" {
			c.out.set["when"] = "before"
			c.out.doubt("the blood may be drawn before or after dialysis")
		}
		return c.to(session.SheetLabs, "value")
	}
	return false
}

// bath recognises the composition of the dialysate.
func (c *classifier) bath() bool {
	for _, one := range []concept{"sodium", "potassium", "calcium", "bicarbonate"} {
		if c.has(one) {
			if !c.has(ofDialysate) {
				c.out.doubt("it may be of the dialysate or of the blood")
			}
			return c.to(session.SheetSessions, "dialysate_"+session.Field(one))
		}
	}
	return false
}

// words recognises columns of words.
func (c *classifier) words() bool {
	for _, field := range []session.Field{"status", "reason", "needle_problems", "access", "recovery_time", "notes"} {
		switch {
		case !c.has(concept(field)):
		case field == "notes" && c.perReading:
			return c.to(session.SheetReadings, "note")
		default:
			return c.to(session.SheetSessions, field)
		}
	}
	return false
}

// times recognises dates, times and the number of a session.
func (c *classifier) times() bool {
	switch {
	case c.has(aDate):
		if !c.seen.mostly(c.seen.dates) && len(c.seen.texts) > 0 {
			c.out.doubt("the cells do not look like dates")
		}
		return c.to(session.SheetSessions, "date")
	case c.has(aDuration):
		return c.to(session.SheetSessions, "treated_time")
	case c.has(aStart) != c.has(anEnd):
		c.clocks()
		if c.has(aStart) {
			return c.to(session.SheetSessions, "start")
		}
		return c.to(session.SheetSessions, "end")
	case c.has(aTime):
		c.clocks()
		if !c.perReading {
			c.out.doubt("it may be the start, the end or the time of a reading")
			return c.to(session.SheetSessions, "start")
		}
		return c.to(session.SheetReadings, "time")
	case c.has(aNumber):
		if len(slices.Compact(slices.Sorted(slices.Values(c.seen.texts)))) != len(c.seen.texts) || c.perReading {
			c.out.doubt("the cells are not all different, so they cannot name the sessions")
		}
		return c.to(session.SheetSessions, "session")
	}
	return false
}

func (c *classifier) clocks() {
	if !c.seen.mostly(c.seen.clocks) && len(c.seen.texts) > 0 {
		c.out.doubt("the cells do not look like times of day")
	}
}

// finish sets the unit, and how sure the suggestion is and why.
func (c *classifier) finish() {
	c.out.why = append(c.out.why, "the words "+c.wordsFound())
	first := c.out.fields[0]
	if c.has(aGoal) && first != "uf_goal" && first != "dry_weight" {
		c.out.doubt("the word %s says what was planned, not what was done", c.found[aGoal])
	}
	if c.has(aGoal, aDelivered) {
		c.out.doubt("it names both what was planned and what was done")
	}
	switch column, ok := columnOf(c.out.sheet, first); {
	case !ok:
		c.out.doubt("the log has no place for it")
	case column.Kind == session.KindNumber && column.Unit != "":
		c.settleUnit(first)
	case c.out.sheet == session.SheetLabs || c.out.sheet == session.SheetChecks && first == "value":
		c.labUnit()
	}
	if c.out.sheet == session.SheetReadings && !c.perReading {
		c.out.doubt("a reading needs a time, and the sheet has none for it")
	}
	if len(c.seen.texts) == 0 && c.out.sure == sure {
		c.out.sure = likely
		c.out.why = append(c.out.why, "no cell is filled in to judge by")
	}
}

func (c *classifier) wordsFound() string {
	var words []string
	for _, w := range c.found {
		words = append(words, w)
	}
	sort.Strings(words)
	return strings.Join(slices.Compact(words), ", ")
}
