package export

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"runsheet.example/fhirmap"
	"runsheet.example/validate/issue"
)

// The copy with the findings of a log in pounds can be sent in like the log: its
// columns in kg, which stay empty, hold no session back.
func TestAnnotatedCopyIsTheLog(t *testing.T) {
	log := t.TempDir()
	for name, text := range map[string]string{
		"log.toml": "[log]\nformat = 1\nid = \"0b2f3f8e-5a0e-4f6a-9d27-0f3f1a1c2b3d\"\ntime_zone = \"America/Chicago\"\n",
		"sessions.csv": "session,date,start,end,status,weight_before_lb,weight_after_lb,temperature_before_f\n" +
			"a,2025-11-03,18:30,21:30,done,158.3,154.5,97.7\n",
	} {
		if err := os.WriteFile(filepath.Join(log, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	to := filepath.Join(t.TempDir(), "copy.xlsx")
	if err := Annotate(context.Background(), log, to, nil, issue.English, fhirmap.Options{}); err != nil {
		t.Fatal(err)
	}
	got, findings, err := Input{Path: to}.Read()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		if f.Severity == issue.Error {
			t.Errorf("%v: %s", f.Cells, f.Details)
		}
	}
	if v := got.Sessions[0].Values["weight_before"]; !v.OK() || v.Unit != "[lb_av]" || v.Decimal.String() != "158.3" {
		t.Errorf("the weight is %+v", v)
	}
}
