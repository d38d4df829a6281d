// Package roster reads the CSV file of a unit's patients: who they are, how the
// server calls them, and, for an audit, when each was in the unit's care and how
// many sessions a week were planned.
package roster

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Help describes the roster.
const Help = `The roster is a CSV file with a row for each patient and these headings, of which
only the first two are needed:
  identifier_system  the name of the numbering that the log gives (an address or urn:oid:...)
  identifier_value   the patient's number in it
  patient            the patient's reference at the server, such as Patient/123
  hospital_system    or the hospital's own numbering,
  hospital_value     and the number in it, by which the server is searched
  birth_date         as 1962-04-23: a log with another one is set aside
  map                the column map of a patient who sends a sheet of another shape
  call               whom to call when something is missing, in your own words
  from, to           the first and the last day in the unit's care; empty: no bound
  sessions_per_week  how many sessions were planned, such as 5 or 3.5
  leave              days without sessions, each with a reason, parted by semicolons,
                     such as 2025-03-03/2025-03-16 hospital; 2025-08-04/2025-08-10 away
A patient who left and came back, or whose plan changed, has a row for each time; their
days do not overlap. A path in map is relative to the roster. Identifiers are compared
exactly.`

// Identifier is a number in a numbering system.
type Identifier struct{ System, Value string }

// String returns "system|value".
func (i Identifier) String() string { return i.System + "|" + i.Value }

// Person is one row of the roster.
type Person struct {
	Identifier
	Row       int    // of the file, the headings being row 1
	Patient   string // the reference at the server
	Hospital  Identifier
	BirthDate string
	ColumnMap string
	Call      string
	// From and To are the first and the last day in the unit's care, as
	// YYYY-MM-DD, which compare like days; "" sets no bound.
	From, To string
	// PerWeek is the number of planned sessions a week, 0 if not known.
	PerWeek float64
	Leave   []Leave
}

// Leave is the days from From to To, both included, without sessions.
type Leave struct{ From, To, Reason string }

// Covers reports whether a day is between two days, "" setting no bound.
func Covers(from, to, day string) bool { return from <= day && (to == "" || day <= to) }

// Roster is all rows.
type Roster []Person

var columns = []string{"identifier_system", "identifier_value", "patient", "hospital_system", "hospital_value", "birth_date", "map", "call",
	"from", "to", "sessions_per_week", "leave"}

var literalPatient = regexp.MustCompile(`^Patient/[A-Za-z0-9\-.]{1,64}$`)

// Read reads a roster. The error names every cell that is wrong.
func Read(path string) (Roster, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	in := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff"))))
	if first, _, _ := strings.Cut(string(text), "\n"); strings.Contains(first, ";") {
		in.Comma = ';' // as spreadsheets write it where the comma is the decimal mark
	}
	in.FieldsPerRecord = -1
	rows, err := in.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if len(rows) == 0 {
		return nil, fmt.Errorf("%s: empty; expected the headings %s", path, strings.Join(columns, ", "))
	}
	r := reader{path: path, at: map[string]int{}}
	for i, heading := range rows[0] {
		name := strings.ToLower(strings.TrimSpace(heading))
		if _, twice := r.at[name]; twice || !slices.Contains(columns, name) {
			r.fault(i, "the heading %q stands there twice or is none of %s", heading, strings.Join(columns, ", "))
		}
		r.at[name] = i
	}
	for i, cells := range rows[1:] {
		r.row, r.cells = i+1, cells
		r.person()
	}
	return r.out, errors.Join(r.faults...)
}

// reader reads one row after another; row is that of its cells, the headings
// being row 0.
type reader struct {
	path   string
	at     map[string]int
	row    int
	cells  []string
	out    Roster
	faults []error
}

func (r *reader) fault(column int, format string, args ...any) {
	r.faults = append(r.faults, fmt.Errorf("%s, row %d, column %d: %s", r.path, r.row+1, column+1, fmt.Sprintf(format, args...)))
}

func (r *reader) cell(name string) string {
	if column, ok := r.at[name]; ok && column < len(r.cells) {
		return strings.TrimSpace(r.cells[column])
	}
	return ""
}

// day is the cell of a day, or "".
func (r *reader) day(name string) string {
	text := r.cell(name)
	if _, err := time.Parse(time.DateOnly, text); text != "" && err != nil {
		r.fault(r.at[name], "%q: expected a day such as 1962-04-23", text)
	}
	return text
}

func (r *reader) person() {
	p := Person{
		Identifier: Identifier{r.cell("identifier_system"), r.cell("identifier_value")}, Row: r.row + 1,
		Patient: r.cell("patient"), Hospital: Identifier{r.cell("hospital_system"), r.cell("hospital_value")},
		BirthDate: r.day("birth_date"), ColumnMap: r.cell("map"), Call: r.cell("call"),
		From: r.day("from"), To: r.day("to"), PerWeek: r.perWeek(), Leave: r.leave(),
	}
	for _, name := range columns[:2] {
		if r.cell(name) == "" {
			r.fault(r.at[name], "%s is missing", name)
		}
	}
	for _, other := range r.out {
		if other.Identifier != p.Identifier && (p.Patient != "" && p.Patient == other.Patient || p.Hospital.Value != "" && p.Hospital == other.Hospital) {
			r.fault(r.at["patient"], "row %d has another number for the same patient", other.Row)
		}
	}
	if p.Patient != "" && !literalPatient.MatchString(p.Patient) {
		r.fault(r.at["patient"], "%q: expected Patient/ID", p.Patient)
	}
	if (p.Hospital.System == "") != (p.Hospital.Value == "") {
		r.fault(r.at["hospital_value"], "hospital_system and hospital_value go together")
	}
	if p.Patient != "" && p.Hospital.Value != "" {
		r.fault(r.at["patient"], "give patient or the hospital's number, not both")
	}
	if p.To != "" && p.To < p.From {
		r.fault(r.at["to"], "%q is before %q", p.To, p.From)
	}
	r.out = append(r.out, p)
}

// perWeek is the number of planned sessions a week. More than two a day are
// taken for a slip.
func (r *reader) perWeek() float64 {
	text := r.cell("sessions_per_week")
	number, err := strconv.ParseFloat(text, 64)
	if text != "" && (err != nil || !(number > 0 && number <= 14)) {
		r.fault(r.at["sessions_per_week"], "%q: expected a number of sessions such as 5 or 3.5", text)
	}
	return number
}

var leave = regexp.MustCompile(`^(\d{4}-\d\d-\d\d)/(\d{4}-\d\d-\d\d)\s+(\S.*)$`)

func (r *reader) leave() (out []Leave) {
	for _, text := range strings.Split(r.cell("leave"), ";") {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		parts := leave.FindStringSubmatch(text)
		if parts == nil || parts[2] < parts[1] {
			r.fault(r.at["leave"], "%q: expected two days and a reason, such as 2025-03-03/2025-03-16 hospital", text)
			continue
		}
		for _, day := range parts[1:3] {
			if _, err := time.Parse(time.DateOnly, day); err != nil {
				r.fault(r.at["leave"], "%q is no day", day)
			}
		}
		out = append(out, Leave{parts[1], parts[2], parts[3]})
	}
	return out
}

// Overlap returns an error that names each two rows of one patient that have a
// day in common.
func (r Roster) Overlap() error {
	var faults []error
	first := map[Identifier][]Person{}
	for _, p := range r {
		for _, other := range first[p.Identifier] {
			if p.overlaps(other) {
				faults = append(faults, fmt.Errorf("rows %d and %d of the roster have the same number and days in common", other.Row, p.Row))
			}
		}
		first[p.Identifier] = append(first[p.Identifier], p)
	}
	return errors.Join(faults...)
}

func (p Person) overlaps(other Person) bool {
	return (p.To == "" || other.From <= p.To) && (other.To == "" || p.From <= other.To)
}

// Find returns the person with an identifier, in the last of several rows whose
// days do not overlap.
func (r Roster) Find(i Identifier) (Person, error) {
	var found []Person
	for _, p := range r {
		if p.Identifier != i {
			continue
		}
		for _, other := range found {
			if other.overlaps(p) {
				return Person{}, fmt.Errorf("rows %d and %d of the roster have the number it gives", other.Row, p.Row)
			}
		}
		found = append(found, p)
	}
	if len(found) == 0 {
		return Person{}, errors.New("nobody on the roster has the number it gives")
	}
	return slices.MaxFunc(found, func(a, b Person) int { return strings.Compare(a.From, b.From) }), nil
}
