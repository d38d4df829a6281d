package fhirmap

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"runsheet.example/profiles"
)

// Claiming our profiles adds one to every resource but the Patient and
// changes nothing else.
func TestClaimProfiles(t *testing.T) {
	const base = "https://fhir.clinic.example/dialysis"
	log := readLog(t, "testdata/small")
	plain, claiming := testOptions, testOptions
	plain.CreatePatient, claiming.CreatePatient = true, true
	claiming.ClaimProfiles = base
	without, with := mapLog(t, log, plain), mapLog(t, log, claiming)
	for i, s := range with.Sessions {
		for j, r := range s.Resources {
			original := without.Sessions[i].Resources[j]
			if bytes.Contains(original.JSON, []byte(profiles.DefaultCanonical)) || bytes.Contains(original.JSON, []byte(base)) {
				t.Errorf("%s claims a profile unasked", original.Role)
			}
			claims := oursIn(t, r.JSON, base)
			switch {
			case r.Type == "Patient" && len(claims) != 0:
				t.Errorf("the patient claims %v", claims)
			case r.Type != "Patient" && len(claims) != 1:
				t.Errorf("%s claims %v, want one profile of ours", r.Role, claims)
			}
			for _, claim := range claims {
				if back := withoutClaim(t, r.JSON, claim); !jsonEqual(t, back, original.JSON) {
					t.Errorf("%s differs by more than its claim:\n%s\n%s", r.Role, back, original.JSON)
				}
			}
		}
		bundle, err := with.Sessions[i].Transaction()
		if err != nil {
			t.Fatal(err)
		}
		if claims := oursIn(t, bundle, base); len(claims) != 1 || claims[0] != profiles.ProfileTransaction.URL(base) {
			t.Errorf("the Bundle claims %v", claims)
		}
	}
}

// oursIn lists the profiles under a base that a resource claims.
func oursIn(t *testing.T, text []byte, base string) []string {
	t.Helper()
	var r struct{ Meta struct{ Profile []string } }
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	var ours []string
	for _, p := range r.Meta.Profile {
		if strings.HasPrefix(p, base) {
			ours = append(ours, p)
		}
	}
	return ours
}

// withoutClaim takes one claim out, and what it leaves empty.
func withoutClaim(t *testing.T, text []byte, claim string) []byte {
	t.Helper()
	s := string(text)
	for _, part := range []string{`,"` + claim + `"`, `"profile":["` + claim + `"],`, `"meta":{"profile":["` + claim + `"]},`} {
		s = strings.Replace(s, part, "", 1)
	}
	return []byte(strings.Replace(s, `"meta":{},`, "", 1))
}

func jsonEqual(t *testing.T, a, b []byte) bool {
	t.Helper()
	var x, y bytes.Buffer
	if err := json.Compact(&x, a); err != nil {
		t.Fatalf("%v: %s", err, a)
	}
	if err := json.Compact(&y, b); err != nil {
		t.Fatal(err)
	}
	return bytes.Equal(x.Bytes(), y.Bytes())
}

func TestClaimedBaseIsChecked(t *testing.T) {
	opts := testOptions
	opts.ClaimProfiles = "https://clinic.example/"
	if _, err := Map(readLog(t, "testdata/small"), opts); err == nil {
		t.Error("a base with a slash at its end was accepted")
	}
}
