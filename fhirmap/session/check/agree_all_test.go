//go:build !mutants

package check

import (
	"maps"
	"slices"
	"testing"
	"testing/fstest"
)

// What the check of a log and the validator of its record call the same thing.
// The log knows the person's other sessions and so finds the slip behind a
// value; a record may then say no more than that the value is out of range.
var sameThing = map[string]string{
	"clin-impossible": "limits", "clin-unusual": "limits", "clin-zero": "limits", "clin-decimal-point": "limits",
	"clin-litres": "limits", "clin-pounds": "limits", "clin-stones": "limits", "clin-fahrenheit": "limits", "clin-unit": "limits",
	"clin-record-impossible": "limits", "clin-record-unusual": "limits", "clin-record-pounds": "limits",
	"clin-uf-weights": "weights", "clin-weights-swapped": "weights", "clin-record-uf-weights": "weights",
	"clin-bp-swapped": "order", "clin-record-pressure-order": "order",
	"clin-arterial-sign": "sign", "clin-record-pressure-sign": "sign",
	"clin-clock": "length", "clin-treated-time": "length", "clin-dialysate-volume": "length", "clin-blood-volume": "length", "clin-uf-rate": "length",
	"clin-record-clock": "length", "clin-record-treated-time": "length", "clin-record-dialysate-volume": "length",
	"clin-record-blood-processed": "length", "clin-record-uf-rate": "length", "clin-record-duration": "length",
	"clin-outside-session": "outside", "clin-record-outside-session": "outside",
	"clin-urea-rises": "urea rises", "clin-record-urea-rise": "urea rises",
	"clin-urea-ratio": "urea ratio", "clin-record-urea-ratio": "urea ratio",
	"clin-urea-clearance": "urea clearance", "clin-record-urea-clearance": "urea clearance",
	"clin-urea-generation": "urea generation", "clin-record-urea-generation": "urea generation",
	"clin-record-urea-units": "urea units",
	"clin-solute-rises":      "solute rises", "clin-record-solute-rise": "solute rises",
	"clin-apart": "apart",
}

// onlyLog are things that a session's record cannot show: they rest on the
// person's other sessions, on the plan, on what is missing, or on the minutes
// that are nearer than an hour. What is usual between two measurements of one
// quantity rests on the other sessions too.
var onlyLog = []string{"length", "outside", "weights", "apart"}

func things(rules map[string]bool) []string {
	all := map[string]bool{}
	for rule := range rules {
		if thing, shared := sameThing[rule]; shared {
			all[thing] = true
		}
	}
	return slices.Sorted(maps.Keys(all))
}

func agree(t *testing.T, folder fstest.MapFS) {
	t.Helper()
	inLog, inRecord := bothSides(t, folder)
	if inRecord == nil {
		return
	}
	log, record := things(inLog), things(inRecord)
	for _, thing := range record {
		// A value in doubt takes no part in the log's further comparisons, and
		// what was blamed may stand for what it spoilt.
		if !slices.Contains(log, thing) && len(inLog) == 0 {
			t.Errorf("the record raises %q, the log nothing", thing)
		}
	}
	for _, thing := range log {
		if !slices.Contains(record, thing) && !slices.Contains(onlyLog, thing) && !byOwnValues(inLog) {
			t.Errorf("the log raises %q (%v), the record only %v", thing, slices.Sorted(maps.Keys(inLog)), record)
		}
	}
}

// byOwnValues reports slips that are found by the person's other values, within
// limits that hold for anybody of the age.
func byOwnValues(rules map[string]bool) bool {
	return rules["clin-pounds"] || rules["clin-stones"] || rules["clin-decimal-point"] || rules["clin-unit"] || rules["clin-litres"] || rules["clin-zero"]
}

func TestLogAndRecordAgree(t *testing.T) {
	for _, name := range []string{"month", "mistakes"} {
		t.Run(name, func(t *testing.T) { agree(t, folderOf(t, "../../../testdata/"+name)) })
	}
	for _, h := range append(slices.Clone(honest), people()...) {
		t.Run(h.name, func(t *testing.T) { agree(t, monthOf(h, 3)) })
	}
	for _, m := range append(slices.Clone(mistakes), incoherent...) {
		t.Run(m.name, func(t *testing.T) {
			folder := monthOf(honest[0], 100)
			s := open(t, folder, m.in)
			row := 0
			if m.in == sessionsFile {
				row = s.heldRow(t, 8)
			} else {
				row = middleReading(s)
			}
			m.write(t, s, row, s.cell(t, row, m.heading))
			s.save(folder, m.in)
			agree(t, folder)
		})
	}
	for _, m := range spoiltMonths {
		t.Run(m.name, func(t *testing.T) {
			folder := monthOf(honest[0], 200)
			m.spoil(t, folder)
			agree(t, folder)
		})
	}
}
