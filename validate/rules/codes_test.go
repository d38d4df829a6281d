package rules

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/profiles"
)

// TestEveryCodeInTheTables holds the codes of our own tables to the check
// digits of their systems.
func TestEveryCodeInTheTables(t *testing.T) {
	counts := map[string]int{}
	for key := range knownCodes() {
		system, code, _ := strings.Cut(key, "|")
		counts[system]++
		switch {
		case system == profiles.LOINC && !loincOK([]byte(code)), system == profiles.SNOMED && !snomedOK([]byte(code)):
			t.Errorf("%s has a wrong check digit", key)
		}
	}
	if counts[profiles.LOINC] < 20 || counts[profiles.SNOMED] < 10 || counts[profiles.Algorithm] < 20 {
		t.Errorf("codes by system: %v", counts)
	}
}

// TestCheckDigits: the LOINC codes are a code in use (29463-7 body weight), the
// one seen in public code with a wrong digit (93737-7, right is 93737-5), and
// forms of parts and answers; the SNOMED CT codes are a concept of the Global
// Patient Set and one with a digit changed.
func TestCheckDigits(t *testing.T) {
	for code, want := range map[string]bool{
		"29463-7": true, "93737-7": false, "93737-5": true, "LA6576-8": true, "LP7786-9": true,
		"29463": false, "29463-77": false, "2946x-7": false, "": false, "-7": false, "1-8": true,
	} {
		if got := loincOK([]byte(code)); got != want {
			t.Errorf("LOINC %q: %v", code, got)
		}
	}
	for code, want := range map[string]bool{
		"302497006": true, "302497007": false, "48781000175105": true, "12345": false, "0302497006": false,
		"302497006 |Hemodialysis|": true, "30249700a": false,
	} {
		if got := snomedOK([]byte(code)); got != want {
			t.Errorf("SNOMED CT %q: %v", code, got)
		}
	}
}

// TestEverySlipIsCaught holds what the check digits are for: one digit changed,
// or (by Verhoeff's scheme) two neighbours swapped.
func TestEverySlipIsCaught(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.StringMatching(`[1-9][0-9]{4}`).Draw(t, "number")
		code := fmt.Sprintf("%s-%d", number, luhn([]byte(number)))
		at := rapid.IntRange(0, len(number)-1).Draw(t, "at")
		by := rapid.IntRange(1, 9).Draw(t, "by")
		wrong := []byte(code)
		wrong[at] = '0' + (wrong[at]-'0'+byte(by))%10
		if !loincOK([]byte(code)) || loincOK(wrong) {
			t.Fatalf("%s %v, %s %v", code, loincOK([]byte(code)), wrong, loincOK(wrong))
		}
	})
	sound := []byte("302497006")
	for at := range len(sound) - 1 {
		swapped := []byte(string(sound))
		swapped[at], swapped[at+1] = swapped[at+1], swapped[at]
		if sound[at] != sound[at+1] && snomedOK(swapped) {
			t.Errorf("%s passes", swapped)
		}
	}
}

func TestRightSystem(t *testing.T) {
	for text, want := range map[string]string{
		"http://loinc.org": "", "https://loinc.org": profiles.LOINC, "http://loinc.org/": profiles.LOINC, "LOINC": profiles.LOINC,
		"http://www.loinc.org": profiles.LOINC, "urn:oid:2.16.840.1.113883.6.1": profiles.LOINC,
		"http://snomed.info/sct": "", "http://snomed.info/sct/": profiles.SNOMED, "https://www.snomed.org/sct": profiles.SNOMED,
		"http://unitsofmeasure.org": "", "https://unitsofmeasure.org/": profiles.UCUM,
		"http://terminology.hl7.org/CodeSystem/Observation-Category": profiles.ObservationCategory,
		"http://example.org/loinc.org":                               "", "urn:iso:std:iso:11073:10101": "", "": "",
	} {
		if got, _ := rightSystem([]byte(text)); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// TestDoubtsAreWhole holds that each doubt has a reason, and that a code named
// instead is one of the tables or, outside the free set, at least well formed.
func TestDoubtsAreWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, d := range doubts {
		key := d.system + "|" + d.code
		if d.why == "" || seen[key+d.why] {
			t.Errorf("%s: no reason, or twice", key)
		}
		seen[key+d.why] = true
		if d.instead == "" {
			continue
		}
		_, known := knownCodes()[d.system+"|"+d.instead]
		_, local := knownCodes()[profiles.Local+"|"+d.instead]
		if !known && !local && !(d.system == profiles.SNOMED && snomedOK([]byte(d.instead))) {
			t.Errorf("%s: %s is no code of the tables", key, d.instead)
		}
	}
}
