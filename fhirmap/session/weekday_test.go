package session

import "testing"

// A day of the week written with a date must be that date's; a word that is
// no day of the week says nothing.
func TestWeekdayFitsTheDate(t *testing.T) {
	form, err := ParseDateForm("w dd/mm/yyyy", 0)
	if err != nil {
		t.Fatal(err)
	}
	for text, fits := range map[string]bool{
		"Mon 03/11/2025": true, "Monday 03/11/2025": true, "Mo 03/11/2025": true, "lun 03/11/2025": true, "lundi 03/11/2025": true,
		"Ma 04/11/2025": true, "di 04/11/2025": true, "di. 02/11/2025": true, "mån 03/11/2025": true, "Xyz 03/11/2025": true,
		"Mon 03/11/2024": false, "Di 03/11/2025": false, "sunday 03/11/2025": false, "lör 03/11/2025": false,
	} {
		r := form.read(text, "")
		if want := map[bool]string{true: "", false: "log-weekday"}[fits]; r.rule != want || !r.usable() {
			t.Errorf("%s: rule %q, usable %v", text, r.rule, r.usable())
		}
	}
}
