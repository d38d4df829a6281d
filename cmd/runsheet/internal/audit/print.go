package audit

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"runsheet.example/cmd/runsheet/internal/page"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// Formats are the forms of a report.
var Formats = []string{"text", "json", "csv", "html", "fhir"}

// Print writes the report in one of the [Formats]; all prints every week and
// every finding as text.
func (r *Report) Print(w io.Writer, format string, all bool) error {
	switch format {
	case "json":
		return report.WriteJSON(w, r)
	case "csv":
		return r.csv(w)
	case "html":
		return r.html(w)
	case "fhir":
		return r.measureReport(w)
	default:
		return r.text(w, all)
	}
}

// Span is the days asked for.
func (r *Report) Span() string {
	switch {
	case r.From == "" && r.To == "":
		return "all days"
	case r.To == "":
		return "from " + r.From
	case r.From == "":
		return "up to " + r.To
	}
	return r.From + " to " + r.To
}

// Caution is the last line of every form.
const Caution = "Values were entered by patients and calculated by software, not verified by a clinician; the audit does not judge any treatment."

// Caution makes it available to the page.
func (*Report) Caution() string { return Caution }

func (r *Report) text(w io.Writer, all bool) error {
	var out bytes.Buffer
	fmt.Fprintf(&out, "Audit, %s\n", r.Span())
	for _, text := range r.With {
		fmt.Fprintf(&out, "with: %s\n", text)
	}
	for _, text := range r.NotTold {
		fmt.Fprintf(&out, "cannot be told: %s\n", text)
	}
	fmt.Fprintln(&out)
	for _, v := range r.Verdicts {
		fmt.Fprintf(&out, "%s: %s", v.Question, v.Answer)
		if v.Answer == No {
			fmt.Fprintf(&out, " (%s)", v.Reason)
		}
		fmt.Fprintf(&out, "\n  %s\n", v.Counts)
	}
	for _, t := range r.tables(all) {
		if len(t.Rows) > 0 {
			t.print(&out)
		}
	}
	fmt.Fprintln(&out)
	if _, err := w.Write(out.Bytes()); err != nil {
		return err
	}
	if len(r.Findings) > 0 {
		if err := report.Print(w, report.Text, r.Findings, report.Options{All: all}); err != nil {
			return err
		}
	}
	if r.Dropped > 0 {
		fmt.Fprintf(w, "%d more errors are counted and not listed: audit fewer folders, or use runsheet validate.\n", r.Dropped)
	}
	_, err := fmt.Fprintln(w, Caution)
	return err
}

// Table is one table of the report in every form for people.
type Table struct {
	Title string
	Heads []string
	Rows  [][]string
}

func (t Table) print(w io.Writer) {
	fmt.Fprintf(w, "\n%s\n", t.Title)
	columns := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, row := range append([][]string{t.Heads}, t.Rows...) {
		fmt.Fprintln(columns, "  "+strings.Join(row, "\t"))
	}
	_ = columns.Flush() // into memory
}

// Tables are the tables of the page, with every week.
func (r *Report) Tables() []Table { return r.tables(true) }

func (r *Report) tables(all bool) []Table {
	patients := Table{Title: "Sessions of each patient", Heads: append([]string{"patient", "first day", "last day"}, countHeads...)}
	weeks := Table{Title: "Weeks", Heads: append(append([]string{"patient", "week from"}, countHeads...), "days off", "leave")}
	for _, p := range r.Patients {
		patients.Rows = append(patients.Rows, append([]string{p.Number, p.First, p.Last}, p.Counts.cells(p.Planned)...))
		for _, week := range p.Weeks {
			weeks.Rows = append(weeks.Rows, append(append([]string{p.Number, week.Monday}, week.Counts.cells(week.Planned)...), texts(week.Free)[0], week.Leave))
		}
	}
	methods := Table{Title: "Computed values by method and version", Heads: []string{"method", "quantity", "values", "equal", "differ", "not recomputable", "stated as absent", "why not recomputable"}}
	for _, m := range r.Methods {
		methods.Rows = append(methods.Rows, append(append([]string{m.Method, m.Quantity}, texts(m.N, m.Equal, m.Differ, m.NotAgain, m.NoValue)...), m.Reasons()))
	}
	rules := Table{Title: "Findings by rule", Heads: []string{"rule", "of", "severity", "count", "what it asks"}}
	for _, c := range r.Rules {
		rule, _ := issue.Lookup(c.Rule)
		rules.Rows = append(rules.Rows, []string{c.Rule, string(c.Question), c.Severity.String(), strconv.Itoa(c.N), rule.What})
	}
	out := []Table{patients, methods, rules}
	if all {
		out = []Table{patients, weeks, methods, rules}
	}
	for _, s := range r.Sample {
		out = append(out, s.table())
	}
	return out
}

// table is the sheet of a drawn session, with room to tick each value.
func (s Drawn) table() Table {
	t := Table{Title: fmt.Sprintf("Drawn: patient %s, %s, %s", s.Patient, s.Day, s.File), Heads: []string{"what", "in the record", "cell of the log", "on paper"}}
	for _, e := range s.Entries {
		var cells []string
		for _, c := range e.Cells {
			cells = append(cells, c.String())
		}
		t.Rows = append(t.Rows, []string{e.What, e.Value, strings.Join(cells, ", "), "[ ]"})
	}
	return t
}

var countHeads = []string{"planned", "done", "cut short", "not done", "held back", "unexplained"}

func (c Counts) cells(planned string) []string {
	return append([]string{planned}, texts(c.Done, c.CutShort, c.NotDone, c.HeldBack, c.Unexplained)...)
}

func texts(numbers ...int) (out []string) {
	for _, n := range numbers {
		out = append(out, strconv.Itoa(n))
	}
	return out
}

// csv writes one row for each verdict, and then the tables and the findings; the
// first column says what a row is of.
func (r *Report) csv(w io.Writer) error {
	rows := [][]string{{"table", "verdict", "answer", "reason", "counts"}}
	for _, text := range r.With {
		rows = append(rows, []string{"with", text})
	}
	for _, text := range r.NotTold {
		rows = append(rows, []string{"cannot be told", text})
	}
	for _, v := range r.Verdicts {
		rows = append(rows, []string{"verdict", string(v.Question), string(v.Answer), v.Reason, v.Counts})
	}
	for _, t := range r.Tables() {
		for _, row := range append([][]string{t.Heads}, t.Rows...) {
			rows = append(rows, append([]string{t.Title}, row...))
		}
	}
	for _, f := range r.Findings {
		rows = append(rows, []string{"finding", f.Rule, f.Severity.String(), f.File, strconv.Itoa(f.Line), f.Details.String(), f.Value})
	}
	return report.WriteCSV(w, true, rows)
}

//go:embed page.html
var pageText string

var pageTemplate = template.Must(template.New("audit").Funcs(template.FuncMap{"number": isNumber}).Parse(pageText))

func isNumber(cell string) bool {
	_, err := strconv.ParseFloat(cell, 64)
	return err == nil
}

func (r *Report) html(w io.Writer) error {
	return pageTemplate.Execute(w, map[string]any{"Report": r, "Style": page.Style, "Policy": page.Policy(page.Style)})
}
