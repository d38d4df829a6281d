package session

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"runsheet.example/validate/issue"
)

// Clinic is what a clinic knows of every log of its patients: a small TOML
// file that it hands out once, so that no patient enters it.
//
//	format = 1
//	name = "Harbour Unit"
//	identifier_system = "urn:oid:2.25.1"   # the list its patient numbers are from
//	time_zone = "Europe/London"
//	units = "us"                           # lb and °F; left out: kg and °C
//	date_style = "dmy"                     # iso, dmy or mdy
//	decimal_mark = "."                     # . or ,
//	locale = "en-GB"                       # how a workbook shows dates and times
//	languages = ["de", "en"]               # of findings; the first that is known is used
//	sessions_per_week = 5                  # shown beside the question, not filled in
//
// Every line but format may be left out. The number of a patient is never in
// it.
type Clinic struct {
	Format           int      `toml:"format"`
	Name             string   `toml:"name"`
	IdentifierSystem string   `toml:"identifier_system"`
	TimeZone         string   `toml:"time_zone"`
	Units            Units    `toml:"units"`
	DateStyle        string   `toml:"date_style"`
	DecimalMark      string   `toml:"decimal_mark"`
	Locale           string   `toml:"locale"`
	Languages        []string `toml:"languages"`
	SessionsPerWeek  int      `toml:"sessions_per_week"`
}

// ParseClinic reads a clinic's file. The error says which line is wrong.
func ParseClinic(data []byte) (Clinic, error) {
	var c Clinic
	err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&c)
	var unknown *toml.StrictMissingError
	if errors.As(err, &unknown) && len(unknown.Errors) > 0 {
		line, _ := unknown.Errors[0].Position()
		return c, fmt.Errorf("line %d: a clinic's file has no %q", line, strings.Join(unknown.Errors[0].Key(), "."))
	}
	if err != nil {
		return c, err
	}
	_, zone := loadZone(c.TimeZone)
	switch {
	case c.Format != 1:
		return c, fmt.Errorf("format = %d: this program reads format = 1", c.Format)
	case c.IdentifierSystem != "" && !absoluteURI(c.IdentifierSystem):
		return c, fmt.Errorf("identifier_system = %q: expected a URI such as urn:oid:2.25.1 or https://hospital.example/ids", c.IdentifierSystem)
	case c.TimeZone != "" && zone != nil:
		return c, fmt.Errorf("time_zone = %q: expected %s", c.TimeZone, zoneLike(c.TimeZone))
	case c.Units != "" && c.Units != USUnits:
		return c, fmt.Errorf("units = %q: expected us, or leave it out for kg and °C", c.Units)
	case c.DateStyle != "" && !slices.Contains(dateStyles, c.DateStyle):
		return c, fmt.Errorf("date_style = %q: expected %s", c.DateStyle, strings.Join(dateStyles, ", "))
	case c.DecimalMark != "" && c.DecimalMark != "." && c.DecimalMark != ",":
		return c, fmt.Errorf("decimal_mark = %q: expected . or ,", c.DecimalMark)
	case c.SessionsPerWeek < 0 || c.SessionsPerWeek > 21:
		return c, fmt.Errorf("sessions_per_week = %d: expected 1 to 21", c.SessionsPerWeek)
	}
	return c, nil
}

// Language is the first language of the clinic that findings are written in;
// "" when there is none.
func (c Clinic) Language() string {
	for _, tag := range c.Languages {
		if slices.Contains(issue.Languages(), tag) {
			return tag
		}
	}
	return ""
}
