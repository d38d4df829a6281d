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
