package check

import (
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// doseRange is the usual range of single doses of a substance. Ranges are wide:
// they reveal slips of unit and decimal point and do not judge a treatment.
type doseRange struct {
	unit      string // UCUM
	low, high float64
}

// drugs are substances by a part of their generic name, the more particular
// ones first, with the kind they are. All ranges are from memory of common practice.
var drugs = []struct {
	name, kind string
	ranges     []doseRange
}{
	{"enoxaparin", "anticoagulant", []doseRange{{"mg", 10, 150}, {"[iU]", 1000, 15000}}},
	{"dalteparin", "anticoagulant", []doseRange{{"[iU]", 1000, 18000}}},
	{"tinzaparin", "anticoagulant", []doseRange{{"[iU]", 1000, 18000}}},
	{"nadroparin", "anticoagulant", []doseRange{{"[iU]", 1500, 19000}}},
	{"molecular", "anticoagulant", nil}, // low-molecular-weight heparin of no name
	{"heparin", "anticoagulant", []doseRange{{"[iU]", 250, 30000}}},
	{"methoxy polyethylene glycol", "ESA", []doseRange{{"ug", 25, 500}}},
	{"darbepoetin", "ESA", []doseRange{{"ug", 5, 500}}},
	{"epoetin", "ESA", []doseRange{{"[iU]", 300, 60000}}},
	{"iron sucrose", "iron", []doseRange{{"mg", 10, 500}}},
	{"ferric gluconate", "iron", []doseRange{{"mg", 30, 250}}},
	{"ferric carboxymaltose", "iron", []doseRange{{"mg", 50, 1000}}},
	{"ferric derisomaltose", "iron", []doseRange{{"mg", 50, 2000}}},
	{"iron dextran", "iron", []doseRange{{"mg", 25, 1000}}},
	{"alfacalcidol", "other", []doseRange{{"ug", 0.1, 6}}},
	{"paricalcitol", "other", []doseRange{{"ug", 0.5, 40}}},
	{"calcitriol", "other", []doseRange{{"ug", 0.1, 5}}},
	{"etelcalcetide", "other", []doseRange{{"mg", 2.5, 15}}},
}

// kindRanges are for substances that are not in the table.
var kindRanges = map[string][]doseRange{
	"ESA":  {{"ug", 5, 500}, {"[iU]", 300, 60000}},
	"iron": {{"mg", 10, 2000}},
}

// substance is the place in the table of the one in a name, -1 for none.
func substance(name string) int {
	name = strings.ToLower(name)
	for i, d := range drugs {
		if strings.Contains(name, d.name) {
			return i
		}
	}
	return -1
}

func rangesOf(m *session.Medicine) []doseRange {
	if i := substance(m.Name.Text); i >= 0 {
		return drugs[i].ranges
	}
	return kindRanges[m.Kind.Text]
}

// otherKind finds a kind that is not the one of the substance.
func (c *checker) otherKind(s *session.Session, m *session.Medicine) {
	i := substance(m.Name.Text)
	if i < 0 || !m.Kind.OK() || m.Kind.Text == drugs[i].kind || m.Kind.Text == "other" {
		return
	}
	f := at("clin-unlike-own", "this medicine is usually of another kind", m.Kind.Cell)
	f.Value, f.Expected = m.Kind.Text, issue.T("perhaps {}", drugs[i].kind)
	c.doubt(f, s)
}

// doseIn converts a dose to another unit of the same kind.
func doseIn(number float64, from, to string) (float64, bool) {
	sizes := map[string]float64{"ug": 1, "mg": 1e3, "g": 1e6}
	if strings.HasSuffix(from, "[iU]") {
		sizes = map[string]float64{"[iU]": 1, "k[iU]": 1e3}
	}
	if sizes[from] == 0 || sizes[to] == 0 {
		return number, from == to
	}
	return number * sizes[from] / sizes[to], true
}

// dose compares one dose with what is usual for the substance, and with the
// person's other doses of it.
func (c *checker) dose(s *session.Session, m *session.Medicine) {
	number, ok := c.good(m.Dose)
	if !ok {
		return
	}
	ranges := rangesOf(m)
	if m.Dose.Unit == "mL" || m.Dose.Unit == "L" {
		ranges = nil // of a solution whose strength is not known
	}
	f := atValue("clin-dose", "the dose is far from what is usual for this medicine, or in another unit", m.Dose)
	f.Value = m.Dose.Text + " " + writtenUnit(m.Dose)
	f.Cells = append(f.Cells, unitCells(m.Dose)...)
	for _, r := range ranges {
		if in, same := doseIn(number, m.Dose.Unit, r.unit); same && in >= r.low && in <= r.high {
			c.ownDoses(s, m, m.Dose)
			return
		}
	}
	if len(ranges) == 0 {
		c.ownDoses(s, m, m.Dose)
		return
	}
	r := ranges[0]
	f.Expected = issue.T("usually {} to {}", bare(short(r.low), r.unit), quantity(short(r.high), r.unit))
	usual, like := c.usualDose(m)
	if like.OK() {
		f.Expected = issue.T("a dose near {}", asWritten(short(usual), like))
	}
	for _, factor := range []float64{1, 1000, 0.001, 10, 0.1} {
		switch meant := number * factor; {
		case like.OK() && within(meant, usual, plausible.Rounding):
			f.Expected = issue.T("perhaps {}", asWritten(short(usual), like))
		case !like.OK() && meant >= r.low && meant <= r.high:
			f.Expected = issue.T("perhaps {}", quantity(short(meant), r.unit))
		default:
			continue
		}
		break
	}
	c.doubt(f, s)
}

// usualDose is the middle of the person's other doses of a medicine, in the unit of
// like, the first of them; like is zero where they are few or in units of other kinds.
func (c *checker) usualDose(m *session.Medicine) (usual float64, like session.Value) {
	var others []float64
	for _, o := range c.rows()[drug(m)] {
		number, ok := c.good(o.Dose)
		if o == m || !ok || o.Rate.Text != m.Rate.Text {
			continue
		}
		if len(others) == 0 {
			like = o.Dose
		}
		if number, ok = doseIn(number, o.Dose.Unit, like.Unit); !ok {
			return 0, session.Value{}
		}
		others = append(others, number)
	}
	if len(others) < fewest {
		return 0, session.Value{}
	}
	return median(others), like
}

// ownDoses compares a dose, or the rate of an infusion, with the person's others
// of the same medicine: with their median, and with the least and the most of four
// or more. A dose that was changed for good is one of the others.
func (c *checker) ownDoses(s *session.Session, m *session.Medicine, v session.Value) {
	const times, own, several = 5.0, 2.0, 4 // common practice
	const more, many = 1.5, 8               // of a dose that never changes; less is given for a day now and then (common practice)
	number, ok := c.good(v)
	all := c.doses()[strings.ToLower(m.Name.Text)+" "+v.Unit]
	if !ok || len(all) < fewest {
		return
	}
	i := slices.Index(all, number)
	others := slices.Concat(all[:i], all[i+1:])
	usual, least, most := median(all), slices.Min(others), slices.Max(others)
	if len(all) == fewest { // two others reveal only a slip of the decimal point
		if !slices.Contains([]float64{0.01, 0.1, 10, 100}, number/usual) || least != most {
			return
		}
	}
	given := func(o *session.Medicine) bool { return o != m && o.Rate.Text == m.Rate.Text } // an infusion has another dose
	_, exchanged := exchangedDigits(v, func(meant float64) bool { return meant == most })
	odd := number >= more*most || exchanged || inFinerSteps(number, most) || m.Route.Text == "catheter lock" && number != most // the volume of the catheter
	constant := len(others) >= many && least == most && odd && slices.ContainsFunc(c.rows()[drug(m)], given)
	if !constant && number <= usual*times && number >= usual/times && (len(others) < several || number <= most*own && number >= least/own) {
		return
	}
	f := atValue("clin-dose", "the dose is far from your other doses of this medicine", v)
	f.Expected = issue.T("a dose near {}", asWritten(short(usual), v))
	if constant {
		f.Expected = issue.T("perhaps {}", asWritten(short(usual), v))
	}
	if v.Cell == m.Rate.Cell {
		f.Details = issue.T("the rate of the infusion is far from your other rates of this medicine")
		f.Expected = issue.T("a rate near {}", asWritten(short(usual), v))
	}
	c.doubt(f, s)
}

// doses are all doses and rates of the log, by medicine and unit.
func (c *checker) doses() map[string][]float64 {
	if c.given == nil {
		c.given = map[string][]float64{}
		for _, s := range c.log.Sessions {
			for _, m := range s.Medicines {
				for _, v := range []session.Value{m.Dose, m.Rate} {
					if number, ok := c.good(v); ok {
						key := strings.ToLower(m.Name.Text) + " " + v.Unit
						c.given[key] = append(c.given[key], number)
					}
				}
			}
		}
	}
	return c.given
}

// dragged finds values that grow or fall by the same step from row to row, as when a
// cell is dragged down: in the sessions, and in the readings of each session.
func (c *checker) dragged() {
	seen := map[session.Field]bool{}
	for _, column := range session.Columns {
		if column.Sheet != session.SheetSessions || column.Kind != session.KindNumber || seen[column.Field] {
			continue
		}
		seen[column.Field] = true
		var values []session.Value
		var of []*session.Session
		for _, s := range c.log.Sessions {
			if v := s.Value(column.Field); held(s) && v.OK() && !c.suspect[v.Cell] {
				values, of = append(values, v), append(of, s)
			}
		}
		c.series(values, func(i int) *session.Session { return of[i] })
	}
	for _, s := range c.log.Sessions {
		for _, field := range append(slices.Clone(readFields), "blood_flow") {
			var values []session.Value
			for _, r := range s.Readings {
				if v := r.Value(field); v.OK() {
					values = append(values, v)
				}
			}
			c.series(values, func(int) *session.Session { return s })
		}
	}
	c.draggedRows()
}

// setByHand are the units of what is set or copied and not measured. What is
// printed on packages is a lot by its number and a date by day or month.
var (
	onPackages = []string{"lot", "day", "month"}
	byTens     = []string{"mL/min", "[iU]", "mg", "ug"}
	setByHand  = append(slices.Clone(byTens), onPackages...)
)

// series reports the first run of values that grow or fall by one step, whole numbers
// sooner than decimals, which lie closer together.
func (c *checker) series(values []session.Value, of func(int) *session.Session) {
	const whole, decimals, set = 6, 8, 4 // five agree by chance in one log of a hundred
	run := 2
	for i := 2; i < len(values); i++ {
		a, b, d := values[i-2].Decimal.Float64(), values[i-1].Decimal.Float64(), values[i].Decimal.Float64()
		if step := d - b; step == 0 || !within(step, b-a, 1e-6) {
			run = 2
			continue
		}
		run++
		enough := whole
		if strings.Contains(values[i].Decimal.String(), ".") {
			enough = decimals
		}
		if slices.Contains(setByHand, values[i].Unit) { // changed by tens, or not at all
			if enough = set; !within(d-b, 1, 1e-6) {
				continue
			}
		}
		if run == enough {
			details := "the values from row to row grow by the same step"
			if d < b {
				details = "the values from row to row fall by the same step"
			}
			f := atValue("month-copied", details, values[i-run+1])
			if slices.Contains(onPackages, values[i].Unit) {
				f.Mend = issue.T("look at the packages; if they are right, leave the cells")
			}
			for _, v := range values[i-run+2 : i+1] {
				f.Cells = append(f.Cells, v.Cell)
			}
			c.add(f, of(i-run+1))
			return
		}
	}
}
