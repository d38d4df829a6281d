package adequacy

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
)

// Caution ends every table for people.
const Caution = `Calculated by software from values the patient entered; not verified by a clinician.
Not a medical device, not for changing treatment. Follow the prescription, local
policy and the care team. "-" means not recorded or not computed; --explain says why.`

// column is one column of the table of sessions.
type column struct {
	heading string
	cell    func(measure.Session) string
}

func columns() []column {
	key := func(k string) func(measure.Session) string {
		return func(s measure.Session) string {
			if v, ok := s.Value(k); ok {
				return v.Result.Rounded()
			}
			return "-"
		}
	}
	return []column{
		{"date", func(s measure.Session) string { return date(s) }},
		{"status", func(s measure.Session) string { return status(s) }},
		{"treated min", func(s measure.Session) string { return treated(s) }},
		{"UF L", func(s measure.Session) string { return entered(s, "uf_removed") }},
		{"UF mL/kg/h", key("uf_rate_per_kg")},
		{"UF less weights L", key("uf_discrepancy")},
		{"gain kg", key("interdialytic_weight_gain")},
		{"after less dry kg", key("target_miss")},
		{"MAP before/after", meanPressures},
		{"dialysate-side Kt/V", key("dialysate_kt_v")},
		{"URR %", key("urea_reduction_ratio")},
		{"spKt/V", key("sp_kt_v")},
		{"eKt/V", key("e_kt_v")},
	}
}

func date(s measure.Session) string {
	if !s.Date.OK() {
		return "-"
	}
	return s.Date.Time.Format("2006-01-02")
}

func status(s measure.Session) string {
	if s.Broken {
		return "held back"
	}
	return string(s.Status)
}

func treated(s measure.Session) string {
	switch {
	case s.TreatedTime.Key == "":
		return "-"
	case s.TreatedFromClock:
		return s.TreatedTime.Text + "*"
	default:
		return s.TreatedTime.Text
	}
}

func entered(s measure.Session, field session.Field) string {
	if v := s.Session.Value(field); v.OK() && !s.Broken {
		return v.Decimal.String()
	}
	return "-"
}

func meanPressures(s measure.Session) string {
	pair := map[string]string{"before": "-", "after": "-"}
	for _, v := range s.Values {
		if v.Key() == "mean_arterial_pressure" && v.Result.OK() {
			pair[v.When] = v.Result.Rounded()
		}
	}
	return pair["before"] + "/" + pair["after"]
}

// Text prints the tables for a person. With explain, every value follows with
// its formula, the numbers put in, and its source.
func (t Table) Text(w io.Writer, explain bool) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	cols := columns()
	for _, c := range cols {
		fmt.Fprint(table, c.heading, "\t")
	}
	fmt.Fprintln(table)
	clock := false
	for _, s := range t.Sessions {
		for _, c := range cols {
			fmt.Fprint(table, c.cell(s), "\t")
		}
		fmt.Fprintln(table)
		clock = clock || s.TreatedFromClock
	}
	if err := table.Flush(); err != nil {
		return err
	}
	if clock {
		fmt.Fprintln(w, "* from start to end; pauses count as treatment")
	}
	t.weekText(w)
	t.targetText(w)
	if explain {
		t.explain(w)
	}
	_, err := fmt.Fprintf(w, "\n%s\n", Caution)
	return err
}

func (t Table) weekText(w io.Writer) {
	fmt.Fprintf(w, "\nWeeks, Monday to Sunday\n")
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "from\tdone\tcut short\tnot done\theld back\tprescribed\thours treated\tUF L\thighest UF mL/kg/h\tstdKt/V up to the sample\t")
	for _, week := range t.Weeks {
		fmt.Fprintf(table, "%s\t%d\t%d\t%d\t%d\t%s\t%s\t%s\t%s\t%s\t\n", weekName(week),
			week.Done, week.CutShort, week.NotDone, week.Held, orDash(week.Prescribed),
			sum(week.HoursTreated, 1, week.WithoutTime), sum(week.UFLitres, 2, week.WithoutUF),
			orDash(week.MaxUFRate), doses(week.Doses))
	}
	_ = table.Flush() // w failed: the next write says so
	fmt.Fprintln(w, "+n: n sessions do not say; ~: the log does not cover the whole week")
}

func weekName(w Week) string {
	name := w.Monday.Format("2006-01-02")
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

func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

// doses names each weekly dose by its method: they are not comparable.
func doses(values []measure.Value) string {
	if len(values) == 0 {
		return "-"
	}
	var parts []string
	for _, v := range values {
		parts = append(parts, v.Result.Rounded()+" ("+v.Result.Method.Code()+")")
	}
	return strings.Join(parts, ", ")
}

// targetText prints published figures beside the values, as what they are.
func (t Table) targetText(w io.Writer) {
	targets := t.targets()
	if len(targets) == 0 && !t.has("uf_rate_per_kg") {
		return
	}
	fmt.Fprintf(w, "\nPublished figures to read beside these; the care team decides which apply\n")
	for _, target := range targets {
		if target.HasValue() {
			fmt.Fprintf(w, "  %s %s %s: %s (%s, grade %s, %s)%s\n", quantityName(target.Key), target.Kind,
				strconv.FormatFloat(target.Value, 'f', -1, 64), target.Guideline, target.Schedule, target.Grade, target.Tag, condition(target))
		}
	}
	if t.has("uf_rate_per_kg") {
		for _, threshold := range calc.UFRateThresholds() {
			if threshold.PerKg > 0 {
				fmt.Fprintf(w, "  UF rate %s mL/kg/h, %s (%s; observational, in-centre, three a week)\n",
					strconv.FormatFloat(threshold.PerKg, 'f', -1, 64), threshold.Association, threshold.Source)
			}
		}
	}
}

func condition(t calc.Target) string {
	if t.Condition == "" {
		return ""
	}
	return "; " + t.Condition
}

func quantityName(key string) string {
	for _, spec := range calc.Vocabulary() {
		if spec.Key == key {
			return spec.Name
		}
	}
	return key
}
