package check

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/fhirmap/session"
)

// demo is the demo month without its checks.
func demo(t *testing.T) fstest.MapFS {
	t.Helper()
	folder := fstest.MapFS{}
	for _, name := range []string{"log.toml", "sessions.csv", "readings.csv"} {
		data, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "month", name))
		if err != nil {
			t.Fatal(err)
		}
		folder[name] = &fstest.MapFile{Data: data}
	}
	return folder
}

// A row about what is done before a treatment raises its rule, and no other,
// at the cell. No rule holds the session back unless a value is impossible.
func TestChecks(t *testing.T) {
	const heads = "session,time,what,result,value,unit,lot,expires,by_whom\n"
	for _, tt := range []struct{ row, rule, cell string }{
		{"2025-10-20a,17:40,total chlorine,ok,0.1,mg/L,,,", "", ""},
		{"2025-10-20a,17:40,total chlorine,ok,0.11,mg/L,,,", "clin-check-range", "E2"},
		{"2025-10-20a,17:40,total chlorine,,0.2,ppm,,,", "clin-check-range", "E2"},
		{"2025-10-20a,17:40,total chlorine,,<0.2,mg/L,,,", "", ""},
		{"2025-10-20a,17:40,total chlorine,,500,mg/L,,,", "clin-impossible", "E2"},
		{"2025-10-20a,17:40,water hardness,,1.1,gpg,,,", "clin-check-range", "E2"},
		{"2025-10-20a,17:40,water hardness,,0.9,gpg,,,", "", ""},
		{"2025-10-20a,17:40,conductivity,,13.9,mS/cm,,,", "", ""},
		{"2025-10-20a,17:40,conductivity,,14.2,mS/cm,,,", "clin-check-conductivity", "E2"},
		{"2025-10-20a,17:40,access redness,yes,,,,,", "clin-check-failed", "D2"},
		{"2025-10-20a,17:40,access redness,no,,,,,", "", ""},
		{"2025-11-13a,17:40,access redness,yes,,,,,", "", ""},
		{"2025-10-20a,17:40,disinfection,,,,,,self", "clin-check-empty", "A2"},
		{"2025-10-20a,17:40,disinfection,not done,,,,,self", "", ""},
		{"2025-10-20a,,dialyser,,,,L1,2025-10-19,", "clin-supply-expired", "H2"},
		{"2025-10-20a,,dialyser,,,,L1,2025-10-20,", "", ""},
		{"2025-10-20a,,dialyser,,,,L1,2025-10,", "", ""},
		{"2025-10-20a,,dialyser,,,,L1,2025-09,", "clin-supply-expired", "H2"},
		{"2025-11-13a,,dialyser,,,,L1,2025-09,", "clin-supply-unused", "C2"},
		{"2025-10-20a,2025-10-19 17:40,machine self-test,ok,,,,,", "clin-outside-session", "B2"},
	} {
		folder := demo(t)
		before := len(checkFolder(t, folder))
		folder["checks.csv"] = &fstest.MapFile{Data: []byte(heads + tt.row + "\n")}
		found := checkFolder(t, folder)
		log, _, err := session.ReadFS(folder, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		at := ""
		for _, f := range Check(log, nil) {
			if f.Cells[0].File == "checks.csv" {
				at += f.Rule + " " + strings.Fields(f.Cells[0].String())[1]
			}
		}
		if want := strings.TrimSpace(tt.rule + " " + tt.cell); at != want || len(found)-before > 1 {
			t.Errorf("%s: %q, want %q", tt.row, at, want)
		}
	}
}
