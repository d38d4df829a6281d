package check

import (
	"fmt"
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
		case tt.expected != "" && (len(found) != 1 || found[0].Rule != "clin-dose" || !strings.HasPrefix(found[0].Expected, tt.expected)):
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
