package check

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// headings finds a heading, or the unit of a column map, in pounds over
// kilograms, or the other way round: the numbers of one weight column are a
// factor from two others, or from another one that is in the other unit.
func (c *checker) headings() {
	own := c.ownRanges()
	for _, p := range c.log.About.Prescriptions {
		if kg, ok := c.good(p.Values["dry_weight"]); ok && len(own["dry_weight"]) == 0 {
			own["dry_weight"] = []float64{kg, kg, kg}
		}
	}
	fields := []session.Field{"weight_before", "weight_after", "dry_weight"}
	for i, field := range fields {
		var mids []float64
		for _, other := range []session.Field{fields[(i+1)%3], fields[(i+2)%3]} {
			if len(own[other]) >= fewest {
				mids = append(mids, median(own[other]))
			}
		}
		if len(own[field]) < fewest || len(mids) == 0 || !within(mids[0], mids[len(mids)-1], closeBy) || len(mids) == 1 && !c.inPounds(field) {
			continue
		}
		for unit, factor := range otherWeightUnit {
			if within(median(own[field])*factor, mids[0], closeBy) {
				c.heading(unit, factor, field)
			}
		}
	}
	c.bothHeadings(own)
}

// otherUnitRows finds some rows whose weights are in another unit than that of the
// headings, as in the other rows: those are near the dry weight, or the first weight,
// and these are a factor from it.
func (c *checker) otherUnitRows() {
	if len(c.weighed) < 2*fewest {
		return
	}
	usual, ok := c.dryWeightOf(c.log.Sessions[c.weighed[0].session])
	if !ok {
		usual = c.weighed[0].kg
	}
	for _, unit := range []string{"kg", "lb"} {
		factor, own := otherWeightUnit[unit], 0
		var others []weighing
		for _, w := range c.weighed {
			if within(w.kg, usual, closeBy) {
				own++
			} else if within(w.kg*factor, usual, closeBy) {
				others = append(others, w)
			}
		}
		if len(others) < fewest || own < fewest || own+len(others) < len(c.weighed) {
			continue
		}
		first := others[0]
		f := atValue("clin-unit", "{} weights, of this row first, look as if in {}, and the others as in the unit of the heading", first.value, len(others), unit)
		f.Severity, f.Expected, f.Cells = issue.Error, issue.T("perhaps {}", quantity(short(roundFor(first.kg*factor)), "kg")), nil
		for _, w := range others {
			f.Cells = append(f.Cells, w.value.Cell)
			c.log.Sessions[w.session].Broken = true
		}
		c.doubt(f, c.log.Sessions[first.session])
		c.weighed = slices.DeleteFunc(c.weighed, func(w weighing) bool { return c.suspect[w.value.Cell] })
	}
}

// otherWeightUnit are the units that weights may be in, and what makes kilograms
// of a number that was read in the other one.
var otherWeightUnit = map[string]float64{"lb": kgPerPound, "kg": 1 / kgPerPound}

// bothHeadings finds both weights in another unit than that of their headings:
// in it what they differ by fits the fluid removed, as it does not in the unit of
// the headings, and the dry weight is near them, or they are as usual as a body is.
func (c *checker) bothHeadings(own map[session.Field][]float64) {
	before, after := own["weight_before"], own["weight_after"]
	one := func(kg float64) bool { return far(kg, median(before)) }
	if len(before) < fewest || len(after) < fewest || slices.ContainsFunc(slices.Concat(before, after), one) {
		return
	}
	limit, _ := c.around(nil).LimitOf("weight_before")
	for unit, factor := range otherWeightUnit {
		meant := median(before) * factor
		dry := own["dry_weight"]
		near := func(kg float64) bool { return len(dry) > 0 && within(kg, median(dry), closeBy) }
		may := !limit.Unusual(meant) && (len(dry) == 0 || near(median(before)))
		var now, then []float64
		for _, s := range c.log.Sessions {
			first, okBefore := c.good(s.Value("weight_before"))
			last, okAfter := c.good(s.Value("weight_after"))
			removed, measured := c.good(s.Value("uf_removed"))
			if intake, _ := c.intake(s); held(s) && okBefore && okAfter && measured {
				now = append(now, math.Abs(removed-intake-(first-last)))
				then = append(then, math.Abs(removed-intake-(first-last)*factor))
			}
		}
		clearly := len(now) > 2*fewest && 3*median(then) < median(now) && (unit == "kg") == c.inPounds("weight_before")
		if len(now) < fewest || 2*median(then) >= median(now) || !near(meant) && !(may && (limit.Unusual(median(before)) || clearly)) {
			continue
		}
		fields := weightFields
		if near(median(before)) { // in the same unit
			fields = append(slices.Clone(fields), "dry_weight")
			for _, p := range c.log.About.Prescriptions {
				c.suspect[p.Values["dry_weight"].Cell] = true
			}
		}
		c.heading(unit, factor, fields...)
	}
}

// inPounds reports a column whose numbers were written in another unit than
// kilograms.
func (c *checker) inPounds(field session.Field) bool {
	return slices.ContainsFunc(c.log.Sessions, func(s *session.Session) bool {
		return foreignUnit(s.Value(field))
	})
}

// foreignUnit reports a number that was converted to the unit of its column.
func foreignUnit(v session.Value) bool {
	return v.OK() && strings.Replace(v.Text, ",", ".", 1) != v.Decimal.String()
}

// heading reports the headings of columns whose numbers are in pounds or
// kilograms, and leaves the numbers out of the comparisons.
func (c *checker) heading(unit string, factor float64, fields ...session.Field) {
	var f issue.Finding
	for _, field := range fields {
		first := true
		for _, s := range c.log.Sessions {
			v := s.Value(field)
			kg, ok := c.good(v)
			if !ok {
				continue
			}
			cell := c.headingOf(v.Cell)
			if f.Rule == "" {
				f = at("clin-heading-unit", "all numbers of the column {} fit the other weights in another unit than that of the heading", cell, name(field))
				meant := quantity(short(roundFor(kg*factor)), "kg")
				if in := ofColumn["[lb_av]"]; unit == "kg" && foreignUnit(v) {
					meant = in.inWritten(issue.T("{}", meant))
				}
				f.Value, f.Expected = cell.Heading, issue.T("perhaps a heading in {}, or numbers such as {}", unit, meant)
			} else if first {
				f.Cells = append(f.Cells, cell)
			}
			first, c.suspect[v.Cell], s.Broken = false, true, true
		}
	}
	c.add(f, nil)
}

// fitSwapped reports two weights that fit the fluid removed only the other way
// round.
func (c *checker) fitSwapped(s *session.Session) bool {
	before, okBefore := c.good(s.Value("weight_before"))
	after, okAfter := c.good(s.Value("weight_after"))
	removed, measured := c.good(s.Value("uf_removed"))
	intake, _ := c.intake(s)
	return okBefore && okAfter && measured && after-before > plausible.Unexplained && removed > plausible.Unexplained &&
		math.Abs(removed-(after-before+intake)) <= plausible.Unexplained
}

// swappedHeadings finds the two weights swapped in nearly every session: their
// headings are. The weights are then left out.
func (c *checker) swappedHeadings() {
	rows := c.inRows()
	swapped := slices.DeleteFunc(slices.Clone(rows), func(s *session.Session) bool { return !c.fitSwapped(s) })
	if len(swapped) <= fewest || float64(len(swapped)) < most*float64(len(rows)) {
		return
	}
	f := at("clin-weights-swapped", "in nearly all sessions the two weights fit only the other way round; their headings may be exchanged", issue.Cell{})
	f.Cells, f.Severity, f.Mend = nil, issue.Error, issue.T("look whether the two headings are exchanged")
	for _, field := range weightFields {
		cell := c.headingOf(rows[0].Value(field).Cell)
		f.File, f.Cells = cell.File, append(f.Cells, cell)
		for _, s := range c.log.Sessions {
			c.suspect[s.Value(field).Cell] = true
			s.Broken = true
		}
	}
	c.add(f, nil)
}

// headingOf is the cell of the heading over a cell, as far as it is known: of a
// workbook it is not known in which row that is.
func (c *checker) headingOf(cell issue.Cell) issue.Cell {
	if cell.Sheet == "" {
		cell.Row = 1
	}
	return cell
}

// dryWeightOfRows compares the dry weight of a prescription with the rows of its
// time that repeat it, when none has it.
func (c *checker) dryWeightOfRows(p session.Prescription) {
	const same = 0.05 // kg
	v := p.Values["dry_weight"]
	kg, ok := c.good(v)
	var rows []float64
	var cells []issue.Cell
	for _, s := range c.log.Sessions {
		now, _ := c.log.About.PrescriptionFor(s)
		if own, good := c.good(s.Value("dry_weight")); good && now.ValidFrom.Cell == p.ValidFrom.Cell {
			rows, cells = append(rows, own), append(cells, s.Value("dry_weight").Cell)
			ok = ok && math.Abs(own-kg) > same
		}
	}
	if !ok || len(rows) <= fewest {
		return
	}
	f := atValue("clin-unlike-plan", "no session has the {} that log.toml prescribes", v, name("dry_weight"))
	f.Expected = issue.T("perhaps {}", quantity(short(median(rows)), "kg"))
	f.Cells = append(f.Cells, cells[0])
	c.doubt(f, nil)
}

// plansLikeRows compares each prescription with the sessions treated by it.
func (c *checker) plansLikeRows() {
	for _, p := range c.log.About.Prescriptions {
		c.likeRows(p)
	}
}

// likeRows compares the lines of a prescription with the sessions of its time,
// when none has what it says and most agree on another number: one that a slip
// of the pen makes of the line, or that is far from it.
func (c *checker) likeRows(p session.Prescription) {
	const nearlyAll, spreads, apart, sure = 0.85, 3, 0.25, 0.04 // of the number (common practice)
	for _, line := range []struct {
		v         session.Value
		field, of session.Field
		least     float64 // share of the number that a slip changes (common practice)
	}{
		{p.DurationMin, "session_duration", "treated_time", 0.05},
		{p.Values["blood_flow"], "blood_flow", "blood_flow", 0.05},
		{p.Values["dialysate_flow"], "dialysate_flow", "dialysate_flow", 0.05},
		{p.Values["dialysate_volume"], "dialysate_volume", "dialysate_volume", 0.05},
		{p.Values["dry_weight"], "dry_weight", "weight_after", 0.025},
	} {
		prescribed, ok := c.inLimitUnit(line.field, line.v)
		var numbers []float64
		var cells []issue.Cell
		for _, s := range c.inRows() {
			number, cell, known := c.flow(s, line.of)
			if line.field == "session_duration" {
				number, known = c.minutes(s)
				cell = lengthCell(s)
			}
			if now, _ := c.log.About.PrescriptionFor(s); known && s.Status == session.Done && now.ValidFrom.Cell == p.ValidFrom.Cell {
				numbers, cells = append(numbers, number), append(cells, cell)
			}
		}
		own := measured(numbers, nearlyAll)
		if off := math.Abs(prescribed - own.mid); !ok || own.n <= 2*fewest || off <= max(spreads*own.spread, line.least*prescribed) ||
			prescribed <= slices.Max(numbers) && prescribed >= slices.Min(numbers) {
			continue
		}
		_, decimals, _ := strings.Cut(line.v.Decimal.String(), ".")
		inWritten := line.v.Decimal.Float64() / prescribed
		text := strconv.FormatFloat(own.mid*inWritten, 'f', len(decimals), 64)
		if !oneSlip(line.v.Decimal.String(), text) {
			meant, exchanged := exchangedDigits(line.v, func(number float64) bool {
				return math.Abs(number/inWritten-own.mid) <= max(own.spread, line.least*own.mid/2)
			})
			if meant == "" && !within(own.mid, prescribed, sure) {
				meant = slipNear(line.v, own.mid*inWritten, 2*own.spread*inWritten)
			}
			if !exchanged && meant == "" && within(prescribed, own.mid, apart) {
				continue
			}
			if meant != "" {
				text = meant
			}
		}
		f := atValue("clin-unlike-plan", "no session has the {} that log.toml prescribes", line.v, name(line.field))
		f.Expected = issue.T("perhaps {}, as in the sessions", quantity(text, line.v.Unit))
		f.Cells = append(f.Cells, cells[0])
		c.doubt(f, nil)
	}
}

// linesOfPlan puts the findings of sessions that differ from one line of
// log.toml into one at that line, where nearly all do.
func (c *checker) linesOfPlan() {
	lines := map[issue.Cell][]int{}
	for i, f := range c.findings {
		if (f.Rule == "clin-unlike-plan" || f.Rule == "clin-uf-limit") && f.Session != "" {
			line := f.Cells[len(f.Cells)-1]
			lines[line] = append(lines[line], i)
		}
	}
	for line, all := range lines {
		if len(all) <= fewest || float64(len(all)) < most*float64(len(c.inRows())) {
			continue
		}
		first := &c.findings[all[0]]
		first.File, first.Session, first.Line, first.Column = line.File, "", 0, 0
		if first.Rule == "clin-unlike-plan" {
			first.Expected = issue.T("perhaps {}, as in the sessions", first.Value)
		}
		first.Cells, first.Value = append([]issue.Cell{line}, first.Cells[:len(first.Cells)-1]...), ""
		first.Details = issue.T("nearly all sessions differ from this line of log.toml")
		for _, i := range all[1:] {
			first.Cells = append(first.Cells, c.findings[i].Cells[0])
			c.findings[i].Rule = ""
		}
	}
}

// ofColumns are the rules whose findings are one where nearly all cells of a
// column have one.
var ofColumns = []string{"clin-fahrenheit", "clin-litres", "clin-unit", "log-date"}

// wholeColumns puts the findings about nearly all cells of a column into one: of
// another unit at the heading, and of dates at the first of them.
func (c *checker) wholeColumns() {
	column := func(cell issue.Cell) issue.Cell { cell.Row = 0; return cell }
	filled, fields := map[issue.Cell]int{}, map[issue.Cell]session.Field{}
	count := func(values map[session.Field]session.Value) {
		for field, v := range values {
			if v.OK() {
				filled[column(v.Cell)]++
				fields[column(v.Cell)] = field
			}
		}
	}
	for _, s := range c.log.Sessions {
		count(s.Values)
		filled[column(s.Date.Cell)]++
		for _, r := range s.Readings {
			count(r.Values)
		}
	}
	alike := map[string][]*issue.Finding{}
	for _, list := range [][]issue.Finding{c.read, c.findings} {
		for i, f := range list {
			if slices.Contains(ofColumns, f.Rule) && len(f.Cells) > 0 {
				key := f.Rule + column(f.Cells[0]).String()
				alike[key] = append(alike[key], &list[i])
			}
		}
	}
	for _, all := range alike {
		first, its := all[0], column(all[0].Cells[0])
		if len(all) <= fewest || float64(len(all)) < most*float64(filled[its]) || filled[its] == 0 {
			if len(all) >= fewest && filled[its] > 0 && first.Rule != "log-date" {
				first.Details = issue.T("{} numbers of the column {}, of this row first, look as if in another unit than the others", len(all), name(fields[its]))
				mergeInto(all)
			}
			continue
		}
		if first.Rule == "log-date" {
			first.Details, first.Mend = issue.T("all but a few dates of this column cannot be read"), issue.T("give the column a date format that begins with the year, and save it again")
		} else {
			rule, _ := issue.Lookup("clin-heading-unit")
			first.Rule, first.Mend, first.Severity = rule.ID, issue.T(rule.Mend), rule.Severity
			first.Details = issue.T("all but a few numbers of the column {} look as if in another unit than that of the heading", name(fields[its]))
			first.Cells = append([]issue.Cell{c.headingOf(first.Cells[0])}, first.Cells...)
		}
		first.Session = ""
		mergeInto(all)
	}
}

// mergeInto puts the cells of all findings into the first, and takes the others back.
func mergeInto(all []*issue.Finding) {
	for _, f := range all[1:] {
		all[0].Cells = append(all[0].Cells, f.Cells...)
		f.Rule = ""
	}
}
