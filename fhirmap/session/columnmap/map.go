package columnmap

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"runsheet.example/fhirmap/session"
)

// Format is the version of the column map that this package reads.
const Format = 1

// Map is a column map, checked.
type Map struct {
	// Name is the map's file name, for findings.
	Name   string
	tables []table
	text   []byte
	// about is the map's own text when it says whose log it is.
	about []byte
}

// document is the map as written. The tables that log.toml has are read by
// package session.
type document struct {
	Format       int          `toml:"format"`
	Name         string       `toml:"name"`
	Tables       []tableEntry `toml:"table"`
	Log          any          `toml:"log"`
	Patient      any          `toml:"patient"`
	Clinic       any          `toml:"clinic"`
	Prescription any          `toml:"prescription"`
	Access       any          `toml:"access"`
	Device       any          `toml:"device"`
}

type tableEntry struct {
	File        string                       `toml:"file"`
	Tab         string                       `toml:"tab"`
	Layout      string                       `toml:"layout"`
	HeadingRow  int                          `toml:"heading_row"`
	HeadingRows int                          `toml:"heading_rows"`
	FirstRow    int                          `toml:"first_row"`
	LastRow     int                          `toml:"last_row"`
	Key         []string                     `toml:"key"`
	DateForm    string                       `toml:"date_form"`
	Year        int                          `toml:"year"`
	TimeForm    string                       `toml:"time_form"`
	DecimalMark string                       `toml:"decimal_mark"`
	Ignore      []string                     `toml:"ignore"`
	SkipRows    []string                     `toml:"skip_rows"`
	Absences    absenceEntry                 `toml:"absences"`
	Words       map[string]map[string]string `toml:"words"`
	Set         map[string]string            `toml:"set"`
	Columns     []columnEntry                `toml:"column"`
	Groups      []groupEntry                 `toml:"group"`
}

type absenceEntry struct {
	NotRecorded   []string `toml:"not_recorded"`
	NotDone       []string `toml:"not_done"`
	Unknown       []string `toml:"unknown"`
	NotApplicable []string `toml:"not_applicable"`
}

type columnEntry struct {
	Heading  string `toml:"heading"`
	Column   string `toml:"column"`
	Cell     string `toml:"cell"`
	To       any    `toml:"to"`
	Unit     any    `toml:"unit"`
	Split    string `toml:"split"`
	Prefix   any    `toml:"prefix"`
	Take     string `toml:"take"`
	Optional bool   `toml:"optional"`
}

type groupEntry struct {
	To         string            `toml:"to"`
	Numbers    []int             `toml:"numbers"`
	At         string            `toml:"at"`
	EveryMin   int               `toml:"every_min"`
	Set        map[string]string `toml:"set"`
	HeadingRow int               `toml:"heading_row"`
	FirstRow   int               `toml:"first_row"`
	LastRow    int               `toml:"last_row"`
	Columns    []columnEntry     `toml:"column"`
}

// Load reads a column map from a file. The error is for the person who wrote
// the map: it says where in it what is wrong.
func Load(path string) (*Map, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("reading the column map: %w", err)
	}
	return Parse(data, filepath.Base(path))
}

// Parse reads a column map; name is what errors and findings call it.
func Parse(data []byte, name string) (*Map, error) {
	var d document
	decoder := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields()
	if err := decoder.Decode(&d); err != nil {
		return nil, syntax(name, err)
	}
	if d.Format != Format {
		return nil, fmt.Errorf("%s: format = %d: this program reads column maps of format = %d", name, d.Format, Format)
	}
	if len(d.Tables) == 0 {
		return nil, fmt.Errorf("%s: the map has no [[table]]", name)
	}
	m := &Map{Name: name, text: data}
	if d.Log != nil || d.Patient != nil {
		m.about = data
	}
	for i, entry := range d.Tables {
		t, err := newTable(entry)
		if err != nil {
			return nil, fmt.Errorf("%s: table %d: %w", name, i+1, err)
		}
		m.tables = append(m.tables, t)
	}
	return m, nil
}

// syntax says where a map is not TOML or has a name that maps do not have.
func syntax(name string, err error) error {
	var unknown *toml.StrictMissingError
	if errors.As(err, &unknown) && len(unknown.Errors) > 0 {
		first := unknown.Errors[0]
		line, _ := first.Position()
		return fmt.Errorf("%s line %d: a column map has no %q; see runsheet map --help", name, line, strings.Join(first.Key(), "."))
	}
	var at *toml.DecodeError
	if errors.As(err, &at) {
		line, column := at.Position()
		return fmt.Errorf("%s line %d, column %d: %s", name, line, column, strings.TrimPrefix(at.Error(), "toml: "))
	}
	return fmt.Errorf("%s: %w", name, err)
}

// target is one column of ours that a cell goes to.
type target struct {
	sheet  session.Sheet
	column session.Column
	unit   session.Unit
	// unitText is written into the unit column beside the number.
	unitText string
	unitName string
}

func (t target) name() string { return string(t.sheet) + "." + t.column.Name }

// isUnit reports whether a text is the unit that the numbers of the target are
// written in.
func (t target) isUnit(text string) bool {
	if t.unitText != "" {
		return plain(text) == plain(t.unitText)
	}
	c, unit, err := session.ColumnIn(t.sheet, t.column.Field, text)
	return err == nil && c.Unit == t.column.Unit && unit == t.unit
}

// parseTarget reads "sessions.weight_before" or, within a group of a sheet,
// "weight_before".
func parseTarget(written string, within session.Sheet, unit string) (target, error) {
	sheet, name, dotted := strings.Cut(written, ".")
	if !dotted {
		sheet, name = string(within), written
	}
	if within != "" && sheet != string(within) {
		return target{}, fmt.Errorf("to = %q: the group is for %s", written, within)
	}
	t := target{sheet: session.Sheet(sheet)}
	for _, c := range mappable() {
		if c.Sheet != t.sheet || c.Name != name && string(c.Field) != name {
			continue
		}
		return t.as(c, unit)
	}
	return target{}, fmt.Errorf("to = %q: %w", written, noColumn(t.sheet, name))
}

// mappable are the columns that a foreign sheet can have: nobody keeps answers
// to findings in one.
func mappable() []session.Column {
	return slices.DeleteFunc(slices.Clone(session.Columns), func(c session.Column) bool { return c.Sheet == session.SheetAnswers })
}

// noColumn says that the log has no such column: it proposes those of that
// name in other sheets, else the one nearest in spelling in its own.
func noColumn(sheet session.Sheet, name string) error {
	var own, same []string
	for _, c := range mappable() {
		for _, n := range slices.Compact([]string{c.Name, string(c.Field)}) {
			if c.Sheet == sheet {
				own = append(own, n)
			}
			if n == name {
				same = append(same, string(c.Sheet)+"."+n)
			}
		}
	}
	slices.Sort(own) // two units of one field are one name
	perhaps := strings.Join(slices.Compact(same), " or ")
	if near := session.Nearest(name, slices.Compact(own)); perhaps == "" && near != "" {
		perhaps = string(sheet) + "." + near
	}
	if perhaps != "" {
		return fmt.Errorf("the log has no such column; perhaps %s", perhaps)
	}
	return errors.New("the log has no such column; runsheet map --help lists them")
}

// unitColumns are the columns for the units of numbers that have their own.
var unitColumns = map[string]string{"dose": "dose_unit", "rate": "rate_unit", "value": "unit"}

func (t target) as(c session.Column, unit string) (target, error) {
	t.column = c
	beside := unitColumns[c.Name]
	switch {
	case c.Kind != session.KindNumber && unit != "":
		return t, fmt.Errorf("%s.%s is no number and has no unit", t.sheet, c.Name)
	case c.Kind != session.KindNumber:
		return t, nil
	case c.Unit == "" && beside != "":
		t.unitText, t.unitName = unit, beside
		return t, nil
	}
	if unit == "" {
		unit = c.Unit
	}
	in, u, err := session.ColumnIn(c.Sheet, c.Field, unit)
	t.column, t.unit = in, u
	return t, err
}
