package calc

import "strings"

// SymptomOfHypotension is a symptom with the definitions of intradialytic
// hypotension that count it.
type SymptomOfHypotension struct {
	Words       []string // parts of words in lower case, as people write them
	EBPG, KDOQI bool
	Source      string
}

const (
	kdoqiSymptoms = "KDOQI 2005 lists it (memory); a clinical event in EBPG 2007, which lists none (read in Kuipers 2016)"
	notPressure   = "in no list; common during dialysis without a fall of pressure (common practice)"
)

// SymptomsOfHypotension is the table of symptoms. An unknown symptom leaves
// the definition open.
//
// Decision 15. Words are not classified, except symptoms by this table. An
// unknown word leaves a definition open, and so does an action written beside
// a symptom, which is not an intervention in the sense of a definition.
func SymptomsOfHypotension() []SymptomOfHypotension {
	return []SymptomOfHypotension{
		{[]string{"cramp", "krampf", "krämpf"}, true, true, kdoqiSymptoms},
		{[]string{"dizz", "light-headed", "lightheaded", "schwindel", "schwindlig"}, true, true, kdoqiSymptoms},
		{[]string{"faint", "passed out", "black before", "ohnmacht", "ohnmächtig", "schwarz vor"}, true, true, kdoqiSymptoms},
		{[]string{"nausea", "nauseous", "felt sick", "übel"}, true, true, kdoqiSymptoms},
		{[]string{"vomit", "threw up", "erbroch", "erbrech"}, true, true, kdoqiSymptoms},
		{[]string{"yawn", "gähn"}, true, true, kdoqiSymptoms},
		{[]string{"sigh", "seufz"}, true, true, kdoqiSymptoms},
		{[]string{"restless", "unruh"}, true, true, kdoqiSymptoms},
		{[]string{"anxi", "angst"}, true, true, kdoqiSymptoms},
		{[]string{"abdominal", "belly", "stomach", "bauch"}, true, true, kdoqiSymptoms},
		{[]string{"headache", "head ache", "kopfschmerz", "kopfweh"}, false, false, notPressure},
		{[]string{"itch", "juck"}, false, false, notPressure},
	}
}

// CountsForHypotension returns for EBPG 2007 and for KDOQI 2005 whether they
// count a symptom in a person's words: yes or no if the table has a word of
// it, otherwise not assessable.
func CountsForHypotension(words string) (ebpg, kdoqi Answer) {
	words = strings.ToLower(words)
	for _, row := range SymptomsOfHypotension() {
		for _, word := range row.Words {
			if strings.Contains(words, word) {
				ebpg, kdoqi = max(ebpg, answerOf(row.EBPG)), max(kdoqi, answerOf(row.KDOQI))
			}
		}
	}
	return ebpg, kdoqi
}

func answerOf(yes bool) Answer {
	if yes {
		return Yes
	}
	return No
}
