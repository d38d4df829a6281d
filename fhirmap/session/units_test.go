package session

import (
	"slices"
	"strings"
	"testing"

	"runsheet.example/profiles"
)

// A unit is known in every way in which messages, tables and people write it.
func TestUnitsSpelledOut(t *testing.T) {
	for _, tt := range []struct {
		units []string
		want  string
		ways  string
	}{
		{laboratoryUnits, "ug/L", "microgram/L, micrograms/L, Microgram per litre, mcg/l, µg / L, μg/L, mikrogramm/l"},
		{laboratoryUnits, "mg/dL", "milligram/dL, milligrams per decilitre, mg/deciliter, MG/DL"},
		{laboratoryUnits, "g/L", "gram/L, grams per liter, Gramm/Liter"},
		{laboratoryUnits, "umol/L", "micromol/L, micromoles/litre, umol/L, µmol/l"},
		{laboratoryUnits, "mmol/L", "millimol/L, millimoles per litre"},
		{laboratoryUnits, "ng/mL", "nanogram/mL, nanograms per millilitre"},
		{laboratoryUnits, "pg/mL", "picogram/mL, picograms/ml"},
		{laboratoryUnits, "meq/L", "mEq/L, milliequivalents per litre"},
		{laboratoryUnits, "%", "percent, %"},
		{laboratoryUnits, "", "u/l, mg%, mg, /, mg/L/L, per litre, IU"},
		{doseUnits, "[iU]", "IU, I.U., units, international units, International Unit, I.E., Einheiten"},
		{doseUnits, "ug", "microgram, micrograms, mcg, µg"},
		{doseUnits, "mL", "cc, millilitres"},
		{doseUnits, "", "u, , a, mg/h"},
		{checkUnits, "[gr]/[gal_us]", "gpg, grains/gallon, grains per gallon, gr/gal"},
		{columnUnits, "/min", "bpm, a minute, per minute, /minute"},
		{columnUnits, "Cel", "°C, c, ℃"},
	} {
		for _, way := range strings.Split(tt.ways, ", ") {
			if got, _ := ucumOf(way, tt.units); got != tt.want {
				t.Errorf("%q is read as %q, want %q", way, got, tt.want)
			}
		}
	}
	for _, way := range []string{"IU/h", "units an hour", "international units per hour", "iu/hr", "IU / hour", "mcg/h"} {
		if got, ok := rateUnit(way); !ok || !slices.Contains([]string{"[iU]/h", "ug/h"}, got) {
			t.Errorf("%q is read as %q", way, got)
		}
	}
	for _, units := range [][]string{doseUnits, laboratoryUnits, checkUnits, columnUnits} {
		for _, code := range units {
			words := profiles.UnitOf(code)
			for _, way := range []string{code, words.Symbol, words.Said, words.Sent} {
				if got, _ := ucumOf(way, units); got != code {
					t.Errorf("%q is read as %q, want %q", way, got, code)
				}
			}
		}
	}
}
