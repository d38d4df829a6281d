package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/validate/issue"
)

// TestDoses holds each dose against the table and against the person's others.
func TestDoses(t *testing.T) {
	for _, tt := range []struct{ row, expected string }{
		{"heparin,anticoagulant,2500,mg", "perhaps 2500 IU"},
		{"heparin,anticoagulant,2.5,IU", "perhaps 2500 IU"},
		{"Darbepoetin alfa,ESA,20,mg", "perhaps 20"},
		{"our ESA,ESA,20,mg", "perhaps 20"},
		{"epoetin beta,ESA,4,IU", "perhaps 4000 IU"},
		{"iron sucrose,iron,100,g", "perhaps 100 mg"},
		{"iron sucrose,iron,0.1,mg", "perhaps 100 mg"},
		{"calcitriol,other,0.5,mg", "perhaps 0.5"},
		{"heparin,anticoagulant,2500,IU", ""},
		{"heparin,anticoagulant,2.5,kIU", ""},
		{"enoxaparin,anticoagulant,40,mg", ""},
		{"low molecular weight heparin,anticoagulant,40,mg", ""},
		{"epoetin alfa,ESA,4000,IU", ""},
		{"darbepoetin alfa,ESA,30,microgram", ""},
		{"iron sucrose,iron,0.1,g", ""},
		{"iron sucrose,iron,5,mL", ""},
		{"paracetamol,other,1,g", ""},
	} {
		folder := monthOf(honest[0], 900)
		id := *open(t, folder, sessionsFile).cell(t, 2, "session")
		folder["medicines.csv"] = &fstest.MapFile{Data: []byte("session,time,medicine,kind,dose,dose_unit\n" + id + ",18:40," + tt.row + "\n")}
		found := checkFolder(t, folder)
		switch {
		case tt.expected == "" && len(found) > 0:
			t.Errorf("%s: %v", tt.row, found)
		case tt.expected != "" && (len(found) != 1 || found[0].Rule != "clin-dose" || !strings.HasPrefix(found[0].Expected.String(), tt.expected)):
			t.Errorf("%s: found %v, want %q", tt.row, found, tt.expected)
		}
	}
	folder := monthOf(honest[0], 901)
	s := open(t, folder, sessionsFile)
	rows := "session,time,medicine,kind,dose,dose_unit\n"
	for n := 1; n <= 8; n++ {
		rows += fmt.Sprintf("%s,18:40,heparin,anticoagulant,%d,IU\n", *s.cell(t, s.heldRow(t, n), "session"), map[bool]int{true: 250, false: 2500}[n == 5])
	}
	folder["medicines.csv"] = &fstest.MapFile{Data: []byte(rows)}
	wantFinding(t, folder, issue.Cell{File: "medicines.csv", Row: 6, Column: 5, Heading: "dose"}, "clin-dose", "250", "a dose near 2500 IU")
}

// TestMedicinesAgainstOwnRows holds each slip in a row of a medicine to the
// person's other rows of it, and what people do honestly to none.
func TestMedicinesAgainstOwnRows(t *testing.T) {
	const usual = "%s,18:40,heparin,anticoagulant,1500,IU,750,IU/h,21:00,circuit\n"
	for name, tt := range map[string]struct{ row, rule, heading, expected string }{
		"unit":             {"%s,18:40,heparin,anticoagulant,1500,mL,750,IU/h,21:00,circuit\n", "clin-dose", "dose", "perhaps 1500 IU"},
		"unit of the rate": {"%s,18:40,heparin,anticoagulant,1500,IU,750,mL/h,21:00,circuit\n", "clin-dose", "rate", "perhaps 750 IU/h"},
		"exchanged":        {"%s,18:40,heparin,anticoagulant,750,IU,1500,IU/h,21:00,circuit\n", "clin-columns-swapped", "dose", "perhaps 1500 here and 750 there"},
		"name":             {"%s,18:40,heprain,anticoagulant,1500,IU,750,IU/h,21:00,circuit\n", "clin-unlike-own", "medicine", "perhaps heparin"},
		"twice":            {usual + usual, "clin-medicine-twice", "medicine", ""},
		"ends late":        {"%s,18:40,heparin,anticoagulant,1500,IU,750,IU/h,08:30,circuit\n", "clin-outside-session", "until", "perhaps 20:30"},
		"ten times":        {usual + "%s,21:00,epoetin beta,ESA,30000,IU,,,,vein\n", "clin-dose", "dose", "a dose near 3000 IU"},
		"in thousands":     {"%s,18:40,heparin,anticoagulant,1.5,kIU,750,IU/h,21:00,circuit\n", "", "", ""},
		"again later":      {usual + "%s,20:00,heparin,anticoagulant,1500,IU,750,IU/h,21:00,circuit\n", "", "", ""},
		"another medicine": {usual + "%s,20:00,paracetamol,other,1,g,,,,mouth\n", "", "", ""},
		"a higher dose":    {usual + "%s,21:00,epoetin beta,ESA,6000,IU,,,,vein\n", "", "", ""},
	} {
		folder := monthOf(honest[0], 905)
		s := open(t, folder, sessionsFile)
		rows := "session,time,medicine,kind,dose,dose_unit,rate,rate_unit,until,route\n"
		for n := 1; n <= 8; n++ {
			row, id := usual, *s.cell(t, s.heldRow(t, n), "session")
			if n == 6 {
				row = tt.row
			}
			rows += strings.ReplaceAll(row, "%s", id)
			if n == 2 || n == 4 {
				rows += id + ",21:00,epoetin beta,ESA,3000,IU,,,,vein\n"
			}
		}
		folder["medicines.csv"] = &fstest.MapFile{Data: []byte(rows)}
		found := checkFolder(t, folder)
		switch {
		case tt.rule == "" && len(found) > 0:
			t.Errorf("%s: %+v", name, found)
		case tt.rule != "" && (len(found) != 1 || found[0].Rule != tt.rule || found[0].Cells[0].Heading != tt.heading || !strings.HasPrefix(found[0].Expected.String(), tt.expected)):
			t.Errorf("%s: found %+v, want %+v", name, found, tt)
		}
	}
}

// Readings of a session that were pasted twice are told once, at the first row
// that repeats.
func TestReadingsPastedTwice(t *testing.T) {
	folder := monthOf(honest[0], 906)
	s := open(t, folder, readingsFile)
	id := *open(t, folder, sessionsFile).cell(t, 5, "session")
	var block [][]string
	last := 0
	for i, row := range s.rows {
		if row[0] == id {
			block, last = append(block, row), i+1
		}
	}
	s.rows = slices.Insert(s.rows, last, block...)
	s.save(folder, readingsFile)
	found := checkFolder(t, folder)
	if len(found) != 1 || found[0].Rule != "clin-reading-twice" || len(found[0].Cells) != len(block) || found[0].Cells[0].Row != last+1 {
		t.Errorf("%d rows from %d: %+v", len(block), last+1, found)
	}
}

// TestDraggedSeries finds values that count up, at the first of them.
func TestDraggedSeries(t *testing.T) {
	for _, heading := range []string{"bp_before_systolic_mmhg", "pulse_before_per_min"} {
		folder := monthOf(honest[0], 910)
		s := open(t, folder, sessionsFile)
		first := s.heldRow(t, 6)
		for n := range 6 {
			*s.cell(t, s.heldRow(t, 6+n), heading) = fmt.Sprint(101 + n)
		}
		s.save(folder, sessionsFile)
		wantFinding(t, folder, issue.Cell{File: sessionsFile, Row: first, Column: s.column(t, heading) + 1, Heading: heading}, "month-copied", "101", "")
	}
}
