package session

import (
	"testing"

	"runsheet.example/profiles"
)

const checkHeads = "session,time,what,result,value,unit,lot,expires,by_whom\n"

func checksOf(t *testing.T, rows string) []*Check {
	t.Helper()
	log, findings := read(t, map[string]string{"sessions.csv": row(), "checks.csv": checkHeads + rows})
	for _, f := range findings {
		t.Logf("%s %s %s", f.Rule, f.Severity, f.Details)
	}
	if len(log.Sessions) != 1 || log.Sessions[0].Broken {
		t.Fatalf("the session is held back: %v", findings)
	}
	return log.Sessions[0].Checks
}

// A check before an evening's start is on that day; what follows the
// treatment past midnight is on the next.
func TestCheckIsPlacedNearTheStart(t *testing.T) {
	log, _ := read(t, map[string]string{
		"sessions.csv": row("2025-11-03", "22:30", "05:30"),
		"checks.csv":   checkHeads + "a,20:50,total chlorine,ok,,,,,\na,06:10,disinfection,ok,,,,,\n",
	})
	for i, want := range []string{"2025-11-03 20:50", "2025-11-04 06:10"} {
		if got := log.Sessions[0].Checks[i].At.Time.Format("2006-01-02 15:04"); got != want {
			t.Errorf("row %d is placed at %s, want %s", i+1, got, want)
		}
	}
}

// The words for a check are understood in any case and in the languages of
// the table; all others are the person's own.
func TestCheckKinds(t *testing.T) {
	for words, want := range map[string]Field{
		"Total Chlorine": "check_chlorine", "Chloramin": "check_chlorine", "Wasserhärte": "check_hardness", "Rötung": "check_redness",
		"dializador": "check_supplies", "tape on the hose": OwnCheck,
	} {
		if got := checkKind(words).Field; got != want {
			t.Errorf("%s is %s, want %s", words, got, want)
		}
	}
	seen := map[string]bool{}
	for _, k := range profiles.CheckKinds() {
		if k.For == "" || k.Source == "" {
			t.Errorf("%s does not say what for or by whom", k.Name)
		}
		for _, word := range append([]string{k.Name}, k.Also...) {
			if seen[word] {
				t.Errorf("%s stands twice", word)
			}
			seen[word] = true
		}
	}
}

// Yes is good of a thrill and bad of redness; of a check in the person's own
// words it says nothing, and neither does a word that is not in the table.
func TestCheckFailed(t *testing.T) {
	for _, tt := range []struct {
		what, result string
		failed       bool
	}{
		{"access thrill", "yes", false}, {"access thrill", "no", true}, {"access redness", "yes", true}, {"access redness", "no", false},
		{"access redness", "ok", false}, {"access redness", "not ok", true}, {"disinfection", "Bestanden", false}, {"disinfection", "nicht ok", true},
		{"hose", "yes", false}, {"hose", "no", false}, {"hose", "failed", true}, {"disinfection", "so so", false}, {"disinfection", "", false},
	} {
		c := checksOf(t, "a,,"+tt.what+","+tt.result+",,,,,\n")[0]
		if c.Failed() != tt.failed {
			t.Errorf("%s: %q failed %v", tt.what, tt.result, c.Failed())
		}
	}
}

// A number with a unit of its kind is a value; anything else stays as it is
// written.
func TestCheckValues(t *testing.T) {
	for _, tt := range []struct{ what, value, unit, number, ucum, words string }{
		{"total chlorine", "0.05", "mg/L", "0.05", "mg/L", ""},
		{"total chlorine", "<0.10", "ppm", "0.10", "[ppm]", ""},
		{"total chlorine", "0.05", "mS/cm", "", "", "0.05 mS/cm"},
		{"total chlorine", "0.05", "", "", "", "0.05"},
		{"total chlorine", "pale yellow", "", "", "", "pale yellow"},
		{"water hardness", "1", "gpg", "1", "[gr]/[gal_us]", ""},
		{"water hardness", "2", "°dH", "", "", "2 °dH"},
		{"tank level", "3", "cm", "", "", "3 cm"},
		{"total chlorine", "not done", "", "", "", ""},
	} {
		c := checksOf(t, "a,,"+tt.what+",,"+tt.value+","+tt.unit+",,,\n")[0]
		if c.Value.OK() != (tt.number != "") || c.Words.Text != tt.words {
			t.Fatalf("%+v: value %+v, words %q", tt, c.Value, c.Words.Text)
		}
		if c.Value.OK() && (c.Value.Decimal.String() != tt.number || c.Value.Unit != tt.ucum) {
			t.Errorf("%+v: %s %s", tt, c.Value.Decimal, c.Value.Unit)
		}
		if !c.Says() {
			t.Errorf("%+v says nothing", tt)
		}
	}
}

// A month lasts to its end, whatever the form it is printed in.
func TestCheckExpiry(t *testing.T) {
	for text, want := range map[string]string{
		"2026-02": "2026-02-28 month", "02/2028": "2028-02-29 month", "2026-12": "2026-12-31 month",
		"2026-03-05": "2026-03-05 day", "soon": "", "2026-13": "", "": "",
	} {
		c := checksOf(t, "a,,dialyser,,,,L1,"+text+",\n")[0]
		got := ""
		if !c.LastDay.IsZero() {
			got = c.LastDay.Format(isoDay) + map[bool]string{true: " month", false: " day"}[c.OnlyMonth]
		}
		if got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}

// A row that does not say what was looked at is left out with a warning; the
// session is sent.
func TestCheckWithoutWhat(t *testing.T) {
	if rows := checksOf(t, "a,,,ok,,,,,\n"); len(rows) != 0 {
		t.Errorf("%d rows", len(rows))
	}
}

// A session follows the prescription it names; what that one does not state
// of the person is the usual one's. The usual one stays in force.
func TestNamedPrescription(t *testing.T) {
	about := aboutOK + "[[prescription]]\nname = \"Travel\"\nvalid_from = 2025-01-01\nduration_min = 240\n"
	sessions := "session,date,start,end,status,prescription\na,2025-11-03,18:30,21:30,done,travel\nb,2025-11-04,18:30,21:30,done,\n"
	log, findings := read(t, map[string]string{aboutFile: about, "sessions.csv": sessions})
	if len(findings) > 0 {
		t.Fatal(findings)
	}
	usual, _ := log.About.PrescriptionOn(log.Sessions[1].Date.Time)
	named, ok := log.About.PrescriptionFor(log.Sessions[0])
	if !ok || named.DurationMin.Text != "240" || named.Values["dry_weight"].Text != usual.Values["dry_weight"].Text || usual.Name.OK() {
		t.Errorf("named %+v, usual %+v", named, usual)
	}
	if p, _ := log.About.PrescriptionFor(log.Sessions[1]); p.ValidFrom != usual.ValidFrom {
		t.Errorf("without a name %+v", p)
	}
	_, findings = read(t, map[string]string{aboutFile: about, "sessions.csv": "session,date,start,end,status,prescription\na,2025-11-03,18:30,21:30,done,travle\n"})
	if len(findings) != 1 || findings[0].Rule != "log-prescription-unknown" || findings[0].Expected.String() != "travel" {
		t.Errorf("misspelt: %+v", findings)
	}
}
