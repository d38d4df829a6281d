package receive

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"time"
)

// RosterHelp describes the roster.
const RosterHelp = `The roster is a CSV file with a row for each patient and these headings, of which
only the first two are needed:
  identifier_system  the name of the numbering that the log gives (an address or urn:oid:...)
  identifier_value   the patient's number in it
  patient            the patient's reference at the server, such as Patient/123
  hospital_system    or the hospital's own numbering,
  hospital_value     and the number in it, by which the server is searched
  birth_date         as 1962-04-23: a log with another one is set aside
  map                the column map of a patient who sends a sheet of another shape
  call               whom to call when something is missing, in your own words
A path in map is relative to the roster. Identifiers are compared exactly.`

// identifier is a number in a numbering system.
type identifier struct{ System, Value string }

func (i identifier) String() string { return i.System + "|" + i.Value }

// person is one row of the roster.
type person struct {
	identifier
	row       int // of the file, the headings being row 1
	patient   string
	hospital  identifier
	birthDate string
	columnMap string
	call      string
}

type roster []person

var rosterColumns = []string{"identifier_system", "identifier_value", "patient", "hospital_system", "hospital_value", "birth_date", "map", "call"}

var literalPatient = regexp.MustCompile(`^Patient/[A-Za-z0-9\-.]{1,64}$`)

// readRoster reads a roster. The error names every row that is wrong.
func readRoster(path string) (roster, error) {
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
		return nil, fmt.Errorf("%s: empty; expected the headings %s", path, strings.Join(rosterColumns, ", "))
	}
	var faults []error
	fault := func(row, column int, format string, args ...any) {
		faults = append(faults, fmt.Errorf("%s, row %d, column %d: %s", path, row+1, column+1, fmt.Sprintf(format, args...)))
	}
	at := map[string]int{}
	for i, heading := range rows[0] {
		name := strings.ToLower(strings.TrimSpace(heading))
		if _, twice := at[name]; twice || !slices.Contains(rosterColumns, name) {
			fault(0, i, "the heading %q stands there twice or is none of %s", heading, strings.Join(rosterColumns, ", "))
		}
		at[name] = i
	}
	var out roster
	for i, cells := range rows[1:] {
		cell := func(name string) string {
			if column, ok := at[name]; ok && column < len(cells) {
				return strings.TrimSpace(cells[column])
			}
			return ""
		}
		p := person{
			identifier: identifier{cell("identifier_system"), cell("identifier_value")}, row: i + 2,
			patient: cell("patient"), hospital: identifier{cell("hospital_system"), cell("hospital_value")},
			birthDate: cell("birth_date"), columnMap: cell("map"), call: cell("call"),
		}
		for _, name := range rosterColumns[:2] {
			if cell(name) == "" {
				fault(i+1, at[name], "%s is missing", name)
			}
		}
		for _, other := range out {
			if other.identifier != p.identifier && (p.patient != "" && p.patient == other.patient || p.hospital.Value != "" && p.hospital == other.hospital) {
				fault(i+1, at["patient"], "row %d has another number for the same patient", other.row)
			}
		}
		if p.patient != "" && !literalPatient.MatchString(p.patient) {
			fault(i+1, at["patient"], "%q: expected Patient/ID", p.patient)
		}
		if (p.hospital.System == "") != (p.hospital.Value == "") {
			fault(i+1, at["hospital_value"], "hospital_system and hospital_value go together")
		}
		if p.patient != "" && p.hospital.Value != "" {
			fault(i+1, at["patient"], "give patient or the hospital's number, not both")
		}
		if _, err := time.Parse(time.DateOnly, p.birthDate); p.birthDate != "" && err != nil {
			fault(i+1, at["birth_date"], "%q: expected a day such as 1962-04-23", p.birthDate)
		}
		out = append(out, p)
	}
	return out, errors.Join(faults...)
}

// find returns the only person with an identifier.
func (r roster) find(i identifier) (person, error) {
	var out []person
	for _, p := range r {
		if p.identifier == i {
			out = append(out, p)
		}
	}
	switch len(out) {
	case 0:
		return person{}, refuse("nobody on the roster has the number it gives")
	case 1:
		return out[0], nil
	default:
		return person{}, refuse("rows %d and %d of the roster have the number it gives", out[0].row, out[1].row)
	}
}
