package receive

import (
	"bytes"
	"cmp"
	_ "embed"
	"encoding/json"
	"fmt"
	"html/template"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/page"
	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/report"
)

// Status is what the unit has of each patient on the roster.
type Status struct {
	Day   string  `json:"day"`
	Rows  []Row   `json:"rows"`
	Aside []Aside `json:"setAside"`
	Same  []Same  `json:"sameAsBefore"`

	language issue.Language
}

// T is a text in the language of the status.
func (s Status) T(key string, args ...any) string { return s.language.Text(issue.T(key, args...)) }

// Tag is the language of the status (BCP 47).
func (s Status) Tag() string { return string(cmp.Or(s.language, issue.English)) }

// Row is one log of a patient, or a patient of whom nothing came. It has no
// value of a log, only what the unit acts on.
type Row struct {
	Number   string `json:"number"` // of the roster
	Hospital string `json:"hospital,omitempty"`
	Item     string `json:"item,omitempty"`
	Received string `json:"received,omitempty"`
	First    string `json:"firstDay,omitempty"`
	Last     string `json:"lastDay,omitempty"`
	Sessions int    `json:"sessions"`
	LeftOut  int    `json:"leftOut"`
	Errors   int    `json:"errors"`
	Warnings int    `json:"warnings"`
	Since    string `json:"since,omitempty"`
	Server   string `json:"server,omitempty"`
	Failed   bool   `json:"failed"`
	Held     string `json:"setAside,omitempty"` // what came and was not taken, if nothing was
	Waiting  bool   `json:"waiting"`            // something is to be sent
	Reply    string `json:"reply,omitempty"`    // file to send back
	Call     string `json:"call,omitempty"`
	Say      string `json:"say,omitempty"`
}

// Aside is an item that was not taken.
type Aside struct {
	Item   string `json:"item"`
	Reason string `json:"reason"`
}

// Same is an item with the bytes of one that was taken.
type Same struct {
	Item string `json:"item"`
	As   string `json:"as"`
}

// Complete reports that nothing needs a person: nothing was set aside, nothing
// has mistakes, and all was sent that should be.
func (s Status) Complete() bool {
	return len(s.Aside) == 0 && !slices.ContainsFunc(s.Rows, func(r Row) bool { return r.Item != "" && r.NeedsSomebody() })
}

// Summary counts patients and items.
func (s Status) Summary() string {
	sent, waiting := map[string]bool{}, map[string]bool{}
	for _, row := range s.Rows {
		if row.Item+row.Held != "" {
			sent[row.Number] = true
		} else {
			waiting[row.Number] = true
		}
	}
	return s.T("Received from {}; nothing from {}; {} set aside.",
		issue.T(issue.OneOrMany(len(sent), "{} patient", "{} patients"), len(sent)), len(waiting),
		issue.T(issue.OneOrMany(len(s.Aside), "{} file or folder", "{} files or folders"), len(s.Aside)))
}

// Waiting reports that something is to be sent.
func (s Status) Waiting() bool {
	return slices.ContainsFunc(s.Rows, func(r Row) bool { return r.Waiting })
}

// NeedsSomebody reports that nothing came, that something was left out, or that
// sending failed.
func (r Row) NeedsSomebody() bool { return r.Item == "" || r.Failed || r.LeftOut+r.Errors > 0 }

func (r *run) status() Status {
	slices.SortFunc(r.same, func(a, b Same) int { return strings.Compare(a.Item, b.Item) })
	out := Status{language: r.opts.Language, Day: r.opts.Now.Format("2006-01-02"), Rows: []Row{}, Aside: append([]Aside{}, r.aside...), Same: append([]Same{}, r.same...)}
	listed := map[roster.Identifier]bool{}
	for _, p := range r.roster {
		if listed[p.Identifier] {
			continue
		}
		listed[p.Identifier] = true
		rows := r.rowsOf(p)
		if len(rows) == 0 {
			rows = []Row{r.without(p)}
		}
		out.Rows = append(out.Rows, rows...)
	}
	for _, at := range r.state.places() {
		if log := r.state.Logs[at]; !listed[roster.Identifier{System: log.System, Value: log.Value}] {
			row := r.row(at, roster.Person{Identifier: roster.Identifier{System: log.System, Value: log.Value}})
			row.Server = r.say("no longer on the roster")
			out.Rows = append(out.Rows, row)
		}
	}
	return out
}

// without is the row of a person of whom nothing was taken.
func (r *run) without(p roster.Person) Row {
	row := Row{Number: p.Value, Hospital: number(p), Call: p.Call, Say: r.say("We have not received your treatment log.")}
	if held := r.held[p.Identifier]; len(held) > 0 {
		row.Held, row.Say = strings.Join(held, ", "), r.say("Your treatment log has come, but could not be taken over.")
	}
	return row
}

// Nothing says that nothing was taken.
func (s Status) Nothing(r Row) string {
	if r.Held != "" {
		return s.T("set aside: {}", r.Held)
	}
	return s.T("nothing received")
}

// number is what the hospital calls the patient.
func number(p roster.Person) string {
	if p.Patient != "" {
		return p.Patient
	}
	return p.Hospital.Value
}

func (r *run) rowsOf(p roster.Person) (rows []Row) {
	for _, at := range r.state.places() {
		if log := r.state.Logs[at]; (roster.Identifier{System: log.System, Value: log.Value}) == p.Identifier {
			rows = append(rows, r.row(at, p))
		}
	}
	return rows
}

func (r *run) row(at string, p roster.Person) Row {
	log := r.state.Logs[at]
	row := Row{
		Number: p.Value, Hospital: number(p), Item: log.Item, Received: log.Received, First: log.Days[0], Last: log.Days[len(log.Days)-1],
		Sessions: log.Sessions, LeftOut: log.LeftOut, Errors: log.Errors, Warnings: log.Warnings,
		Since: r.since(log),
	}
	if log.Reply != "" {
		row.Reply = at + "/" + log.Reply
	}
	if log.LeftOut > 0 {
		row.Call = p.Call
		row.Say = r.say("{} of your log could not be taken over. We send it back with a note at each place; please mend it and send it again.",
			issue.T(issue.OneOrMany(log.LeftOut, "{} session", "{} sessions"), log.LeftOut))
	}
	if sent, ok := r.sent[at]; ok {
		row.Server, row.Failed = r.describe(sent), sent.failed != nil
		row.Waiting = !r.opts.Server.Send && sent.tally != (deliver.Tally{})
	}
	return row
}

// since counts what differs from the version before.
func (r *run) since(l Log) string {
	var out []string
	for i, n := range []int{l.New, l.Changed, l.Gone} {
		if n > 0 {
			out = append(out, r.say([]string{"{} new", "{} changed", "{} gone"}[i], n))
		}
	}
	if len(out) == 0 {
		return r.say("the same sessions")
	}
	return strings.Join(out, ", ")
}

// headings of the CSV file.
var headings = []string{"number", "hospital", "file", "received", "first day", "last day", "sessions", "left out", "mistakes", "warnings", "since the version before", "server", "to send back", "call", "say"}

// cells are the texts of a row under the headings.
func (s Status) cells(r Row) []string {
	out := []string{r.Number, r.Hospital, r.Item, r.Received, r.First, r.Last}
	if r.Item == "" {
		return append(out, "", "", "", "", s.Nothing(r), r.Server, "", r.Call, r.Say)
	}
	for _, n := range []int{r.Sessions, r.LeftOut, r.Errors, r.Warnings} {
		out = append(out, strconv.Itoa(n))
	}
	return append(out, r.Since, r.Server, r.Reply, r.Call, r.Say)
}

// write writes the status in all its forms.
func (s Status) write(work string) error {
	for name, content := range map[string]func() ([]byte, error){manifest.Status: s.json, "status.csv": s.csv, "status.txt": s.Text, "status.html": s.html} {
		text, err := content()
		if err == nil {
			err = replace(filepath.Join(work, name), text)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (s Status) json() ([]byte, error) {
	text, err := json.MarshalIndent(s, "", " ")
	return append(text, '\n'), err
}

func (s Status) csv() ([]byte, error) {
	var out bytes.Buffer
	rows := [][]string{headings}
	for _, row := range s.Rows {
		rows = append(rows, s.cells(row))
	}
	for _, a := range s.Aside {
		cells := make([]string, len(headings))
		cells[2], cells[10] = a.Item, s.T("set aside: {}", a.Reason)
		rows = append(rows, cells)
	}
	err := report.WriteCSV(&out, false, rows)
	return out.Bytes(), err
}

// Text is the status for a terminal: a line for each row, then what was set
// aside.
func (s Status) Text() ([]byte, error) {
	var out bytes.Buffer
	w := tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
	for _, heading := range []string{"Number", "Hospital", "Days", "Sessions", "Left out", "Mistakes", "Warnings", "Since", "Server"} {
		fmt.Fprint(w, strings.ToUpper(s.T(heading)), "\t")
	}
	fmt.Fprintln(w)
	for _, r := range s.Rows {
		if r.Item == "" {
			fmt.Fprintf(w, "%s\t%s\t%s\t\t\t\t\t\t\n", r.Number, r.Hospital, s.Nothing(r))
			continue
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%d\t%d\t%d\t%d\t%s\t%s\n", r.Number, r.Hospital, s.T("{} to {}", r.First, r.Last), r.Sessions, r.LeftOut, r.Errors, r.Warnings, r.Since, r.Server)
	}
	if err := w.Flush(); err != nil {
		return nil, err
	}
	for _, a := range s.Aside {
		fmt.Fprintln(&out, s.T("set aside: {}: {}", a.Item, a.Reason))
	}
	for _, one := range s.Same {
		fmt.Fprintln(&out, s.T("the same again: {} has the bytes of {}", one.Item, one.As))
	}
	fmt.Fprintln(&out, s.Summary())
	return out.Bytes(), nil
}

//go:embed status.html
var pageText string

var pageTemplate = template.Must(template.New("status").Parse(pageText))

func (s Status) html() ([]byte, error) {
	var out bytes.Buffer
	err := pageTemplate.Execute(&out, map[string]any{"Status": s, "Style": page.Style, "Policy": page.Policy(page.Style)})
	return out.Bytes(), err
}
