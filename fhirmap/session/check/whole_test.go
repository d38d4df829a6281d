package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

// whole is an honest month whose rows repeat the dry weight of log.toml, with
// the flows prescribed and a supply that expires.
type whole struct {
	t        *testing.T
	about    string
	sessions *sheetOf
	readings *sheetOf
	checks   string
}

func newWhole(t *testing.T) *whole {
	folder := monthOf(honest[0], 905)
	w := &whole{t: t, about: string(folder["log.toml"].Data) + "dialysate_flow_ml_min = 165\nblood_flow_ml_min = 350\n",
		sessions: open(t, folder, sessionsFile), readings: open(t, folder, readingsFile), checks: "session,what,lot,expires\n"}
	for i, row := range w.sessions.rows {
		if i > 0 {
			row[0] = "2025-" + row[0]
			w.checks += row[0] + ",dialyser,TUI-9,2028-05-31\n"
		}
		w.sessions.rows[i] = append(row, []string{"dry_weight_kg", "70.5"}[min(i, 1)])
	}
	for _, row := range w.readings.rows[1:] {
		row[0] = "2025-" + row[0]
	}
	return w
}

func (w *whole) folder() fstest.MapFS {
	folder := fstest.MapFS{"log.toml": {Data: []byte(w.about)}, "checks.csv": {Data: []byte(w.checks)}}
	w.sessions.save(folder, sessionsFile)
	w.readings.save(folder, readingsFile)
	return folder
}

// all changes a column of the sessions.
func (w *whole) all(heading string, change func(string) string) {
	for row := 2; row <= len(w.sessions.rows); row++ {
		cell := w.sessions.cell(w.t, row, heading)
		*cell = change(*cell)
	}
}

// late is a date some days later.
func late(days int) func(string) string {
	return func(date string) string {
		day, _ := time.Parse(time.DateOnly, date)
		return day.AddDate(0, 0, days).Format(time.DateOnly)
	}
}

// another is a row with the times of a session only.
func (w *whole) another(date string) {
	row := make([]string, len(w.sessions.rows[0]))
	for i, heading := range w.sessions.rows[0] {
		row[i] = map[string]string{"session": date + "a", "date": date, "start": "18:30", "end": "21:20", "status": "done"}[heading]
	}
	w.sessions.rows = append(w.sessions.rows, row)
}

// TestSlipsOfTheWholeLog puts one slip that many cells tell of into the month,
// and wants one finding.
func TestSlipsOfTheWholeLog(t *testing.T) {
	if found := checkFolder(t, newWhole(t).folder()); len(found) > 0 {
		t.Fatalf("before the slip: %+v", found)
	}
	for _, tt := range []struct {
		name                    string
		slip                    func(*whole)
		rule, heading, expected string
	}{
		{"dry weight that no row has", func(w *whole) { w.about = strings.Replace(w.about, "= 70.5", "= 75.0", 1) },
			"clin-unlike-plan", "prescription.dry_weight_kg", "perhaps 70.5 kg"},
		{"flows of the prescription exchanged", func(w *whole) { w.about = strings.NewReplacer("= 165", "= 350", "= 350", "= 165").Replace(w.about) },
			"clin-exchanged", "prescription.dialysate_flow_ml_min", "perhaps 165 and 350"},
		{"access of no row", func(w *whole) {
			w.about += "[[access]]\nvalid_from = 2025-01-01\nkind = \"catheter\"\n"
			for i, row := range w.sessions.rows {
				w.sessions.rows[i] = append(row, []string{"access", "fistula"}[min(i, 1)])
			}
		}, "clin-unlike-plan", "access.kind", "perhaps fistula, as in the sessions"},
		{"headings of the weights exchanged", func(w *whole) {
			before, after := w.sessions.cell(t, 1, "weight_before_kg"), w.sessions.cell(t, 1, "weight_after_kg")
			*before, *after = *after, *before
		}, "clin-weights-swapped", "weight_before_kg", ""},
		{"heading of a weight misspelt", func(w *whole) { *w.sessions.cell(t, 1, "weight_after_kg") = "weight_aftre_kg" },
			"log-heading-unknown", "weight_aftre_kg", "weight_after_kg"},
		{"column of a weight emptied", func(w *whole) { w.all("weight_after_kg", func(string) string { return "" }) },
			"clin-weight-missing", "session", ""},
		{"row of a session taken out", func(w *whole) {
			row := w.sessions.heldRow(t, 6)
			w.sessions.rows = slices.Delete(w.sessions.rows, row-1, row)
		}, "log-session-unknown", "session", ""},
		{"all dates four years and a day late", func(w *whole) { w.all("date", late(ofWorkbook1904)) },
			"month-year", "date", "perhaps 2025-10-20"},
		{"one date years late", func(w *whole) {
			date := w.sessions.cell(t, w.sessions.heldRow(t, 6), "date")
			*date = strings.Replace(*date, "2025", "2035", 1)
		}, "month-date-far", "date", "perhaps 2025-10-27"},
		{"rows of another month below", func(w *whole) { w.another("2025-10-07"); w.another("2025-10-08") },
			"month-date-far", "date", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w := newWhole(t)
			tt.slip(w)
			var found []string
			for _, f := range checkFolder(t, w.folder()) {
				if f.Rule == "month-session-absent" && strings.HasPrefix(tt.name, "row of a session") {
					continue // the session is absent
				}
				found = append(found, strings.Join([]string{f.Rule, f.Cells[0].Heading, f.Expected.String()}, "|"))
			}
			if want := tt.rule + "|" + tt.heading + "|" + tt.expected; len(found) != 1 || !strings.HasPrefix(found[0], want) {
				t.Errorf("found %q, want %q", found, want)
			}
		})
	}
}

// Rows that come last with something measured are sessions, and so are those of
// times only after the others.
func TestRowsBelowThatBelong(t *testing.T) {
	for name, add := range map[string]func(*whole){
		"measured": func(w *whole) {
			w.another("2025-10-07")
			*w.sessions.cell(t, len(w.sessions.rows), "weight_before_kg") = "71.5"
		},
		"later": func(w *whole) { w.another("2025-11-17") },
	} {
		w := newWhole(t)
		add(w)
		for _, f := range checkFolder(t, w.folder()) {
			if f.Rule == "month-date-far" {
				t.Errorf("%s: %s", name, f.Details)
			}
		}
	}
}

// A dry weight that one session has is that of a prescription.
func TestADryWeightThatARowHas(t *testing.T) {
	w := newWhole(t)
	w.about = strings.Replace(w.about, "= 70.5", "= 71.0", 1)
	*w.sessions.cell(t, 5, "dry_weight_kg") = "71.0"
	for _, f := range checkFolder(t, w.folder()) {
		if f.Rule == "clin-unlike-plan" {
			t.Errorf("%s at %v", f.Rule, f.Cells)
		}
	}
}

// Nearly all cells of a column in another unit are one finding at its heading;
// three cells, or fewer than four of five, are told one by one.
func TestWholeColumnsAtTheirLimits(t *testing.T) {
	for _, c := range []struct {
		heading  string
		in, of   int
		n        int
		expected string
	}{
		{"urine_l", 4, 4, 1, "perhaps 0.25 L"}, {"urine_l", 3, 3, 0, ""}, {"urine_l", 4, 5, 1, "perhaps 0.25 L"}, {"urine_l", 7, 9, 0, ""},
		{"temperature_before_f", 4, 4, 1, "perhaps 97.7 °F"}, {"temperature_before_c", 4, 5, 1, "perhaps 36.5 °C"},
	} {
		values := map[string][2]string{"urine_l": {"250", "0.25"}, "temperature_before_f": {"36.5", "97.7"}, "temperature_before_c": {"97.7", "36.5"}}[c.heading]
		row := func(i int) string {
			if i < c.in {
				return values[0]
			}
			return values[1]
		}
		found := ruleIn(t, "clin-heading-unit", "", map[string]string{sessionsFile: mondays(c.of, c.heading, row)})
		expectations(t, fmt.Sprintf("%+v", c), found, c.n, "", c.expected)
		if c.n > 0 && (found[0].Cells[0].Row != 1 || len(found[0].Cells) != c.in+1) {
			t.Errorf("%+v: %+v", c, found[0].Cells)
		}
	}
}

// Both weights in the other unit are told at their headings where the dry weight
// and the fluid removed bear it out, and never at the dry weight.
func TestBothWeightsInAnotherUnit(t *testing.T) {
	const plan = "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 1\ndry_weight_%s\n"
	for _, c := range []struct {
		unit, row, plan, want string
	}{
		{"lb", "79.4,77.4,2.0", "lb = 170.0", "perhaps a heading in kg, or numbers such as 175 lb"}, {"lb", "79.4,77.4,2.0", "kg = 77.1", "perhaps a heading in kg, or numbers such as 175 lb"},
		{"lb", "175.0,170.6,2.0", "kg = 77.1", ""}, {"kg", "175.0,170.6,2.0", "kg = 77.1", "perhaps a heading in lb, or numbers such as 79.4 kg"},
		{"kg", "79.4,77.4,2.0", "kg = 77.1", ""}, {"kg", "175.0,170.6,4.4", "kg = 77.1", ""}, {"kg", "175.0,170.6,", "kg = 77.1", ""},
	} {
		files := map[string]string{sessionsFile: mondays(4, "weight_before_"+c.unit+",weight_after_"+c.unit+",uf_removed_l", everyRow(c.row))}
		got := ""
		for _, f := range ruleIn(t, "clin-heading-unit", fmt.Sprintf(plan, c.plan), files) {
			got += f.Expected.String()
		}
		if got != c.want {
			t.Errorf("%+v: %q", c, got)
		}
	}
}

// A line of a prescription that no session has: a slip of the pen away from what
// they have, or more than a quarter.
func TestPrescriptionThatNoSessionHas(t *testing.T) {
	log := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "treated_min,blood_flow_ml_min,dialysate_flow_ml_min,dialysate_l,weight_after_kg", everyRow("180,300,150,27,70.0"))}
	}
	for line, expected := range map[string]string{
		"duration_min = 180": "", "duration_min = 108": "perhaps 180 min, as in the sessions", "duration_min = 189": "", "duration_min = 190": "perhaps 180 min, as in the sessions",
		"duration_min = 225": "", "duration_min = 226": "perhaps 180 min, as in the sessions",
		"blood_flow_ml_min = 330": "perhaps 300 mL/min, as in the sessions", "blood_flow_ml_min = 310": "",
		"dialysate_flow_ml_min = 510": "perhaps 150 mL/min, as in the sessions", "dialysate_flow_l_h = 9.0": "", "dialysate_flow_l_h = 6.0": "perhaps 9.0 L/h, as in the sessions",
		"dialysate_l = 72": "perhaps 27 L, as in the sessions", "dialysate_l = 30": "",
		"dry_weight_kg = 73.0": "perhaps 70.0 kg, as in the sessions", "dry_weight_kg = 71.0": "", "dry_weight_kg = 66.5": "",
	} {
		about := "[[prescription]]\nvalid_from = 2024-01-01\n" + line + "\n"
		found := ruleIn(t, "clin-unlike-plan", about, log(7))
		if expected == "" && len(found) > 0 || expected != "" && (len(found) != 1 || found[0].Expected.String() != expected || found[0].File != "log.toml") {
			t.Errorf("%s: %+v, want %q", line, found, expected)
		}
		if found := ruleIn(t, "clin-unlike-plan", about, log(6)); len(found) > 0 {
			t.Errorf("%s, six sessions: %+v", line, found)
		}
	}
	weights := map[string]string{sessionsFile: mondays(8, "weight_after_kg", func(i int) string {
		return []string{"84.4", "84.2", "84.4", "84.3", "84.9", "84.2", "84.4", "84.3"}[i]
	})}
	for line, expected := range map[string]string{
		"dry_weight_kg = 89.5": "perhaps 84.5 kg, as in the sessions", "dry_weight_kg = 94.5": "perhaps 84.5 kg, as in the sessions",
		"dry_weight_kg = 87.5": "", "dry_weight_kg = 90.1": "", // less than a twenty-fifth, and no slip
	} {
		found := ruleIn(t, "clin-unlike-plan", "[[prescription]]\nvalid_from = 2024-01-01\n"+line+"\n", weights)
		if expected == "" && len(found) > 0 || expected != "" && (len(found) != 1 || found[0].Expected.String() != expected) {
			t.Errorf("%s: %+v, want %q", line, found, expected)
		}
	}
	varied := map[string]string{sessionsFile: mondays(8, "treated_min", func(i int) string { return []string{"180", "150"}[i%2] })}
	for line, n := range map[string]int{"duration_min = 108": 1, "duration_min = 150": 0, "duration_min = 300": 1} {
		expectations(t, line, ruleIn(t, "clin-unlike-plan", "[[prescription]]\nvalid_from = 2024-01-01\n"+line+"\n", varied), n, "", "")
	}
}
