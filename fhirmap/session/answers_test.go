package session

import "testing"

// An answer names a question about the person by its key or by its words.
func TestAnswersNameQuestionsByTheirWords(t *testing.T) {
	q, _ := AboutRowOf("patient", "height_cm")
	other, _ := AboutRowOf("patient", "birth_date")
	key := AnswerKey{Rule: "about-range", Sheet: "log", Column: "patient.height_cm", Value: "240"}
	for column, want := range map[string]bool{"patient.height_cm": true, q.Label: true, other.Label: false, "": false} {
		if cell, value := new(Log).Matches(AnswerKey{Rule: "about-range", Sheet: "log", Column: column, Value: "240"}, key); cell != want || !value {
			t.Errorf("%q: cell %v, value %v", column, cell, value)
		}
	}
}

// An answer holds for the value that it was given for, as a person or a
// spreadsheet writes it, and for no other.
func TestAnswersHoldForTheirValueAlone(t *testing.T) {
	for _, test := range []struct {
		sheet, column, answer, value, cell string
		want                               bool
	}{
		{"sessions", "uf_removed_l", "2.6", "2.6", "", true},
		{"sessions", "uf_removed_l", "2,60", "2.6", "", true},
		{"sessions", "uf_removed_l", "2.6", "2.61", "", false},
		{"sessions", "uf_removed_l", "2.6", "2.58", "", false},
		// What is computed was the text of the cell, and another cell changed it.
		{"sessions", "uf_removed_l", "2.6", "2.61", "2.6", false},
		{"sessions", "uf_removed_l", "2.6", "2.58", "2.60", false},
		{"sessions", "uf_removed_l", "2,60", "2.61", "2.60", false},
		{"sessions", "uf_removed_l", "2.61", "2.61", "2.6", true},
		{"sessions", "uf_removed_l", "2,60 (2,61)", "2.61", "2.6", true},
		{"sessions", "uf_removed_l", "2.6 (2.6)", "2.61", "2.6", false},
		{"sessions", "uf_removed_l", "2.6", "", "2.6", true},
		{"sessions", "uf_removed_l", "", "", "2.6", false},
		// Units.
		{"sessions", "uf_removed_l", "9,40 mL/kg/h", "9.4 mL/kg/h", "2.6", true},
		{"sessions", "uf_removed_l", "9.4 mL/kg/h", "9.41 mL/kg/h", "2.6", false},
		{"sessions", "uf_removed_l", "9.4 mL/h", "9.4 mL/kg/h", "2.6", false},
		{"medicines", "dose", "2000", "2000 mg", "", false},
		{"medicines", "dose", "0,50 mg", "0.5 mg", "", true},
		// Dates, times and names are no numbers.
		{"sessions", "date", "1.1", "1.10", "", false},
		{"sessions", "date", "1.10.2025", "1.1.2025", "", false},
		{"sessions", "date", "1.10.2025", "1.10.2025", "", true},
		{"sessions", "start", "18.3", "18.30", "", false},
		{"checks", "lot", "71", "71.0", "", false},
		{"checks", "lot", "1e3", "1000", "", false},
		{"log", "patient.height_cm", "174,0", "174", "", true},
		{"log", "patient.birth_date", "1.1", "1.10", "", false},
	} {
		a := AnswerKey{Rule: "r", Sheet: test.sheet, Column: test.column, Value: test.answer}
		k := AnswerKey{Rule: "r", Sheet: test.sheet, Column: test.column, Value: test.value, Cell: test.cell}
		if cell, value := new(Log).Matches(a, k); !cell || value != test.want {
			t.Errorf("%s.%s: %q to %q of %q: cell %v, value %v", test.sheet, test.column, test.answer, test.value, test.cell, cell, value)
		}
	}
}
