package session

import (
	"path/filepath"
	"strings"
	"testing"
)

const clinicFile = `format = 1
name = "Harbour \\"Unit\\""
identifier_system = "urn:oid:2.25.1"
time_zone = "Europe/Berlin"
units = "us"
date_style = "dmy"
decimal_mark = ","
locale = "de-DE"
languages = ["sv", "de"]
sessions_per_week = 4
`

// A log made with the clinic's file asks for nothing that the clinic knows; only
// the person's own number is left.
func TestClinicFillsTheTemplate(t *testing.T) {
	clinic, err := ParseClinic([]byte(strings.ReplaceAll(clinicFile, `\\`, `\`)))
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "log")
	if err := WriteTemplate(dir, TemplateOptions{LogID: someUUID, Clinic: clinic}); err != nil {
		t.Fatal(err)
	}
	log, findings, err := ReadFolder(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(said(findings), "; "); got != "about-identifier log.toml row 25 (patient.identifier_value); log-empty sessions.csv" {
		t.Errorf("findings %q", got)
	}
	a := log.About
	if a.Clinic.Text != `Harbour "Unit"` || a.TimeZone != "Europe/Berlin" || a.DateStyle != "dmy" || a.DecimalMark != ',' || a.Language != "de" {
		t.Errorf("read %+v", a)
	}
	if !a.Local || a.PatientSystem != "urn:uuid:"+someUUID || a.PatientValue != "self" {
		t.Errorf("a log without a number is of %s|%s, local %v", a.PatientSystem, a.PatientValue, a.Local)
	}
}

func TestClinicFilesThatAreWrong(t *testing.T) {
	for line, want := range map[string]string{
		`format = 2`: "format = 1",
		"format = 1\nidentifier_system = \"our clinic\"": "urn:oid",
		"format = 1\ntime_zone = \"Berlin\"":             "perhaps Europe/Berlin",
		"format = 1\nunits = \"imperial\"":               "expected us",
		"format = 1\nphone = \"1\"":                      `line 2: a clinic's file has no "phone"`,
		"format = 1\nsessions_per_week = 40":             "expected 1 to 21",
		"format = ":                                      "",
	} {
		if _, err := ParseClinic([]byte(line)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v, want %q", line, err, want)
		}
	}
}
