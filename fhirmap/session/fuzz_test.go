package session

import (
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/validate/issue"
)

// checkReading holds what must be true of any log, however damaged: it is
// read without failing, twice the same, every finding names a rule and a
// place, and every number read is one that its text holds.
func checkReading(t *testing.T, folder fstest.MapFS) {
	t.Helper()
	log, findings, err := ReadFS(folder, Options{})
	if err != nil {
		t.Fatalf("a damaged log is no reason not to read it: %v", err)
	}
	for _, f := range findings {
		if _, ok := issue.Lookup(f.Rule); !ok || len(f.Cells) == 0 || f.File == "" || f.Details.String() == "" || f.Line < 0 || f.Column < 0 {
			t.Fatalf("incomplete finding %+v", f)
		}
	}
	broken := 0
	for _, one := range log.Sessions {
		if one.Broken {
			broken++
		}
		if one.Start.OK() && one.End.OK() && (one.End.Time.Sub(one.Start.Time) <= 0 || one.End.Time.Sub(one.Start.Time) > longest) {
			t.Fatalf("session from %s to %s", one.Start.Time, one.End.Time)
		}
		for field, v := range one.Values {
			if v.OK() == v.Decimal.IsZero() || v.Cell.IsZero() {
				t.Fatalf("%s: %+v", field, v)
			}
			if v.OK() && !strings.Contains(v.Text, strings.TrimLeft(strings.SplitN(v.Decimal.String(), ".", 2)[0], "-0")) {
				t.Fatalf("%s: %q read as %q", field, v.Text, v.Decimal)
			}
		}
		for i, r := range one.Readings {
			if r.Ordinal != i+1 {
				t.Fatalf("reading %d has ordinal %d", i+1, r.Ordinal)
			}
		}
	}
	if broken > 0 && !issue.HasErrors(findings) {
		t.Fatal("a session is broken and nothing says why")
	}
	again, findingsAgain, err := ReadFS(folder, Options{})
	if err != nil || !reflect.DeepEqual(log, again) || !reflect.DeepEqual(findings, findingsAgain) {
		t.Fatal("reading twice gives two logs")
	}
}

func FuzzSessionsFile(f *testing.F) {
	for _, seed := range []string{
		oneNight, heads, "", "sep=;\n" + heads, row(), row("3/4/2025", "1:30 pm", "25:00", "cut short", "\"1,5\"", "<3"),
		"\xff\xfea\x00", "\xef\xbb\xbf" + row(), "session;date;start;end;status\na;2026-03-29;01:30;\"02:00;x\n",
		heads + "a,2025-10-26,01:30,01:10,done,72.6 kg,135\n,2060-12-31,23:30,05:00,done,7,1\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		folder := logOf(nil)
		folder["sessions.csv"] = &fstest.MapFile{Data: data}
		checkReading(t, folder)
	})
}

func FuzzRowFiles(f *testing.F) {
	for _, seed := range []string{
		"session,time,clock_change,venous_pressure_mmhg\nn,01:40,,140\nn,01:10,,1\nn,01:10,after,1\n",
		"session,time,medicine,kind,dose,dose_unit,rate,rate_unit,until,route\nn,23:00,heparin,anticoagulant,1000,IU,500,IU/h,01:30,circuit\n",
		"session,drawn_date,drawn_time,when,test,value,unit\nn,,22:30,before,urea,<22,mmol/L\nn,3/4/2025,1:2,other,bun,1,mg/dL\n",
		"session,time,kind,what,action\nn,01:30,alarm,\"a\nb\",c\nm,1,2,3,4\n",
	} {
		f.Add([]byte(seed), byte(len(seed)))
	}
	f.Fuzz(func(t *testing.T, data []byte, which byte) {
		folder := logOf(map[string]string{"sessions.csv": "session,date,start,end,status\nn,2025-10-25,22:40,04:55,done\nm,2025-10-27,,,not done\n"})
		folder[string(sheets[1+int(which)%4])+".csv"] = &fstest.MapFile{Data: data}
		checkReading(t, folder)
	})
}

func FuzzAbout(f *testing.F) {
	for _, seed := range []string{aboutOK, aboutTemplate, "", "[log]\nformat=1", "a.b.c = [1, \"x\", {y=2}]\n[[prescription]]\nweekdays=['mon','mon']\n", "[patient]\nbirth_date = 1961-02-03T00:00:00Z\nheight_cm = 1_65.0\n", "\xff\xfe["} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		checkReading(t, fstest.MapFS{aboutFile: {Data: data}, "sessions.csv": {Data: []byte(oneNight)}})
	})
}
