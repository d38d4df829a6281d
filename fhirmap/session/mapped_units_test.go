package session

import "testing"

// The exact conversions by definition: a stone is 14 pounds, an hour 60
// minutes, 0 °C is 32 °F and 1 °C is 9/5 °F; two charges make one calcium ion.
// 1 kPa is 7.500637... mm[Hg], for UCUM 2.1 gives 1 m[Hg] = 133.3220 kPa.
func TestWrittenUnits(t *testing.T) {
	tests := []struct {
		sheet               Sheet
		field               Field
		written, text, want string
		unit                string
	}{
		{SheetSessions, "weight_before", "lb", "160.5", "160.5", "[lb_av]"},
		{SheetSessions, "weight_before", "Pounds", "160", "160", "[lb_av]"},
		{SheetSessions, "weight_before", "st lb", "11 st 4 lb", "158", "[lb_av]"},
		{SheetSessions, "weight_before", "st lb", "11st 4.5lb", "158.5", "[lb_av]"},
		{SheetSessions, "weight_before", "st lb", "11 st", "154", "[lb_av]"},
		{SheetSessions, "weight_before", "st lb", "11.4", "", "[lb_av]"}, // 11 st 4, or eleven and two fifths
		{SheetSessions, "weight_before", "st lb", "11 st 14", "", "[lb_av]"},
		{SheetSessions, "weight_before", "kg", "72.50", "72.50", "kg"},
		{SheetSessions, "uf_removed", "mL", "1850", "1850", "mL"},
		{SheetSessions, "treated_time", "h", "4.5", "4.5", "h"},
		{SheetSessions, "treated_time", "h:mm", "4:30", "270", "min"},
		{SheetSessions, "treated_time", "h:mm", "4:75", "", "min"},
		{SheetSessions, "temperature_before", "°F", "98.6", "98.6", "[degF]"},
		{SheetReadings, "dialysate_temperature", "°F", "97.7", "36.5", "Cel"},
		{SheetReadings, "bp_systolic", "kPa", "18.9", "141.8", "mm[Hg]"},
		{SheetReadings, "arterial_line_pressure", "kPa", "-20.0", "-150.0", "mm[Hg]"},
		{SheetSessions, "dialysate_flow", "L/min", "0.5", "500.0", "mL/min"},
		{SheetSessions, "dialysate_flow", "L/h", "9.0", "9.0", "L/h"},
		{SheetSessions, "dialysate_potassium", "mEq/L", "2.0", "2.0", "mmol/L"},
		{SheetSessions, "dialysate_calcium", "mEq/L", "2.5", "1.25", "mmol/L"},
		{SheetReadings, "uf_rate", "mL/h", "600", "600", "mL/h"},
	}
	for _, tt := range tests {
		column, unit, err := ColumnIn(tt.sheet, tt.field, tt.written)
		if err != nil {
			t.Errorf("%s in %s: %v", tt.field, tt.written, err)
			continue
		}
		one := MappedTable{Sheet: tt.sheet, Columns: []MappedColumn{{column.Name, unit}}, DecimalMark: '.',
			Rows: []MappedRow{{Cells: []MappedCell{{Cell: Cell{Text: tt.text}, Absence: Present}}}}}
		s := newMappedReader(&one, &collector{})
		s.mark = '.'
		if !s.read() {
			t.Fatal("no row")
		}
		v := s.number(s.columns[0], s.columns[0].Unit, false)
		if v.Decimal.String() != tt.want || v.Unit != tt.unit || v.OK() != (tt.want != "") {
			t.Errorf("%q in %s is %s %s, want %s %s", tt.text, tt.written, v.Decimal, v.Unit, tt.want, tt.unit)
		}
		if v.Text != tt.text {
			t.Errorf("the text %q became %q", tt.text, v.Text)
		}
		if told := s.converted[0] != nil; told != (unit.Converted() && v.OK()) {
			t.Errorf("%q in %s: conversion told is %v", tt.text, tt.written, told)
		}
	}
	for _, wrong := range []struct {
		field Field
		unit  string
	}{{"weight_before", "mL"}, {"dialysate_sodium", "mg/dL"}, {"pulse_before", "kPa"}, {"no_such", "kg"}} {
		if _, _, err := ColumnIn(SheetSessions, wrong.field, wrong.unit); err == nil {
			t.Errorf("%s can be written in %s", wrong.field, wrong.unit)
		}
	}
}

// Going through all columns meets a value once, whatever its unit.
func TestHoldsOnce(t *testing.T) {
	for _, c := range Columns {
		if c.Kind != KindNumber {
			continue
		}
		for _, unit := range []string{"kg", "[lb_av]", "L", "mL", "mL/min", "L/h", "mL/h", "min", "h", "Cel", "[degF]", "mm[Hg]", "mmol/L", "/min", "mS/cm", ""} {
			n := 0
			for _, other := range Columns {
				if other.Sheet == c.Sheet && other.Field == c.Field && other.Holds(unit) {
					n++
				}
			}
			if n != 1 {
				t.Errorf("%s.%s in %q is met %d times", c.Sheet, c.Field, unit, n)
			}
		}
	}
}
