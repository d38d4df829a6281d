package columnmap_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/columnmap"
)

// saidOf is what a log holds, without where it stands.
func saidOf(log *session.Log) string {
	var out []string
	values := func(id string, of map[session.Field]session.Value) {
		for field, v := range of {
			if v.Absence != session.NotRecorded {
				out = append(out, fmt.Sprint(id, field, v.Absence, v.Comparator, v.Decimal.String(), v.Unit))
			}
		}
	}
	for _, s := range log.Sessions {
		id := fmt.Sprint(s.ID, " ", s.Date.Time.Format("2006-01-02"), s.Start.Time.Format(" 01-02 15:04"), s.End.Time.Format(" 01-02 15:04 "), s.Status, s.Texts["notes"].Text)
		out = append(out, id)
		values(id, s.Values)
		for _, r := range s.Readings {
			values(id+r.At.Time.Format(" 01-02 15:04 "), r.Values)
		}
		for _, l := range s.Labs {
			out = append(out, fmt.Sprint(id, l.Test.Text, l.When.Text, l.Drawn.Time.Format(" 01-02 15:04 "), l.Value.Decimal.String(), l.Value.Unit, l.Words.Text))
		}
	}
	slices.Sort(out)
	return strings.Join(out, "\n")
}

// The copy of a sheet holds what the drafted map reads from the sheet.
func TestCopyHoldsWhatTheMapReads(t *testing.T) {
	for _, name := range []string{"german/protokoll.csv", "american/log.csv", "rows/nights.csv", "unit/november.xlsx", "forms/seances.xlsx", "wide/readings.csv"} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join("../../../testdata/sheets", name)
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			p, err := columnmap.Propose(data, filepath.Base(name))
			if err != nil {
				t.Fatal(err)
			}
			var choices []string
			sampled := 0
			for _, l := range p.Lines {
				choice := columnmap.LeaveOut
				if l.IsSure && len(l.To) > 0 {
					choice = columnmap.Keep
				}
				choices = append(choices, choice)
				sampled += len(l.Samples)
			}
			if sampled < len(p.Lines) || len(p.Lines) < 5 {
				t.Errorf("%d samples of %d lines", sampled, len(p.Lines))
			}
			grid, _, err := p.Copy(columnmap.Confirmed{Lines: choices}, session.Options{})
			if err != nil {
				t.Fatal(err)
			}
			grid.About = session.NewAbout("id", "0ee84880-ea27-4eaa-a5d9-a0c472f1caf3", "time_zone", "UTC", "decimal_mark", grid.DecimalMark)
			dir := filepath.Join(t.TempDir(), "log")
			if err := session.WriteGrid(dir, grid); err != nil {
				t.Fatal(err)
			}
			got, findings, err := session.ReadFolder(dir, session.Options{})
			if err != nil {
				t.Fatal(err)
			}
			draft, err := columnmap.SuggestFor(data, filepath.Base(name))
			if err != nil {
				t.Fatal(err)
			}
			m, err := columnmap.Parse([]byte(draft.Text), "map.toml")
			if err != nil {
				t.Fatal(err)
			}
			about := &columnmap.About{Name: "log.toml", Text: []byte("[log]\nformat = 1\nid = \"0ee84880-ea27-4eaa-a5d9-a0c472f1caf3\"\ntime_zone = \"UTC\"\n")}
			want, _, err := columnmap.Read(path, m, about, session.Options{})
			if err != nil {
				t.Fatal(err)
			}
			a, b := strings.Split(saidOf(want), "\n"), strings.Split(saidOf(got), "\n")
			for i := range max(len(a), len(b)) {
				if i >= len(a) || i >= len(b) || a[i] != b[i] {
					t.Errorf("line %d of %d and %d: the map reads\n%s\nthe copy holds\n%s", i, len(a), len(b), strings.Join(a[i:min(len(a), i+3)], "\n"), strings.Join(b[i:min(len(b), i+3)], "\n"))
					break
				}
			}
			if t.Failed() {
				for _, f := range findings {
					t.Log(f.Rule, f.Cells, f.Details, f.Value)
				}
			}
		})
	}
}

// A copy has the unit in its heading or the number in the unit of the log; what
// cannot be converted keeps its unit beside it, so that it is no number.
func TestCopyKeepsUnits(t *testing.T) {
	sheet := "Date,On,Off,Pre weight (g),Post weight (g),Duration (h),Pre temp (°F),Systolic before (kPa)\n"
	for day := range 9 {
		sheet += fmt.Sprintf("2025-11-0%d,18:00,22:15,71800,70100,4.25,98.2,18.9\n", day+1)
	}
	sheet += "2025-11-11,18:00,22:15,71800,70100,4.25,98.2,18.9?\n"
	p, err := columnmap.Propose([]byte(sheet), "log.csv")
	if err != nil {
		t.Fatal(err)
	}
	var choices []string
	for i, l := range p.Lines {
		choices = append(choices, []string{columnmap.Keep, columnmap.Keep, columnmap.Keep, "sessions.weight_before@g", "sessions.weight_after@g", "sessions.treated_time@h", "sessions.temperature_before@°F", "sessions.bp_before_systolic@kPa"}[slices.Index(strings.Split(strings.SplitN(sheet, "\n", 2)[0], ","), l.Heading)])
		if i > 7 {
			t.Fatal(l)
		}
	}
	grid, _, err := p.Copy(columnmap.Confirmed{Lines: choices, AllDone: true}, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	table, _ := grid.Table(session.SheetSessions)
	got := map[string]string{}
	for i, heading := range table.Headings {
		got[heading] = table.Rows[0][i]
	}
	for heading, want := range map[string]string{"weight_before_kg": "71.800", "treated_min": "255.00", "temperature_before_f": "98.2", "bp_before_systolic_mmhg": "141.8", "status": "done"} {
		if got[heading] != want {
			t.Errorf("%s is %q, want %q", heading, got[heading], want)
		}
	}
	if last := table.Rows[9][slices.Index(table.Headings, "bp_before_systolic_mmhg")]; last != "18.9? kPa" {
		t.Errorf("what is no number became %q", last)
	}
}
