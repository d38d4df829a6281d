package fhirmap_test

import (
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// Whatever unit a column map may state for a field, the value is kept in one
// that the code table takes, so that no entered number is left out of the
// record for its unit.
func TestWrittenUnitsAreTaken(t *testing.T) {
	spellings := []string{"", "kg", "g", "lb", "st lb", "L", "mL", "°C", "°F", "mmHg", "kPa", "min", "h", "h:mm", "mL/min", "L/min", "L/h", "mL/h", "mmol/L", "mEq/L", "mg/dL", "mS/cm", "/min"}
	taken := 0
	for _, c := range session.Columns {
		if c.Kind != session.KindNumber || c.Unit == "" {
			continue
		}
		for _, spelling := range spellings {
			column, unit, err := session.ColumnIn(c.Sheet, c.Field, spelling)
			if err != nil {
				continue
			}
			code := unit.Code()
			if code == "" {
				code = column.Unit
			}
			if strings.HasPrefix(string(c.Field), "bp_") {
				// Blood pressures are components in mm[Hg] only (R4 bp profile).
				if code != "mm[Hg]" {
					t.Errorf("%s in %q is kept in %s", c.Field, spelling, code)
				}
				continue
			}
			if _, ok := profiles.Of(string(c.Field), code); !ok {
				t.Errorf("%s in %q is kept in %s, which the code table does not take", c.Field, spelling, code)
			}
			taken++
		}
	}
	if taken < 60 {
		t.Errorf("only %d pairs were looked at", taken)
	}
}
