package visit

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"runsheet.example/fhirmap/session"
)

const month = "../../../../testdata/month"

const aboutAdult = `[log]
format = 1
id = "3f0f4d43-3f35-4d0e-8f5c-6a1f1d1b7a55"
time_zone = "Europe/London"
date_style = "iso"
decimal_mark = "."
[patient]
identifier_system = "urn:oid:2.25.331383638406541845489215601853980652438"
identifier_value = "HHD-00077"
sex = "female"
birth_date = "1970-05-11"
height_cm = 166
[clinic]
name = "Saltmere Kidney Unit"
`

const aboutChild = `[log]
format = 1
id = "3f0f4d43-3f35-4d0e-8f5c-6a1f1d1b7a56"
time_zone = "Europe/London"
date_style = "iso"
decimal_mark = "."
[patient]
identifier_system = "urn:oid:2.25.331383638406541845489215601853980652438"
identifier_value = "HHD-00078"
sex = "male"
birth_date = "2017-02-01"
height_cm = 122
`

// prescribed is a prescription from a day on.
func prescribed(from string, minutes int, dry, limit float64) string {
	return fmt.Sprintf("[[prescription]]\nvalid_from = %q\nsessions_per_week = 5\nduration_min = %d\ndry_weight_kg = %.1f\nblood_flow_ml_min = 350\nuf_limit_ml_kg_h = %.1f\n", from, minutes, dry, limit)
}

const fistula = "[[access]]\nvalid_from = \"2023-05-15\"\nkind = \"fistula\"\n"

// row is one line of sessions.csv, by its columns.
type row map[string]string

var sessionColumns = []string{
	"session", "date", "start", "end", "status", "reason", "weight_before_kg", "bp_before_systolic_mmhg", "bp_before_diastolic_mmhg", "weight_after_kg",
	"uf_removed_l", "drinks_l", "saline_l", "rinseback_l", "dialysate_l", "dialysate_flow_ml_min", "blood_flow_ml_min", "treated_min", "recovery_min", "notes", "time_zone",
}

// madeLog is a log to write.
type madeLog struct {
	about    string
	rows     []row
	readings []string
	labs     []string
}

// sessions adds n sessions, five in seven days, whose values all differ as far
// as their decimals allow.
func (l *madeLog) sessions(first string, n int, weight float64) {
	day, err := time.Parse(time.DateOnly, first)
	if err != nil {
		panic(err)
	}
	for i := 0; len(l.rows) < n; i++ {
		if i%7 == 2 || i%7 == 5 {
			continue
		}
		date := day.AddDate(0, 0, i).Format(time.DateOnly)
		wave := math.Sin(float64(i) / 9)
		gain := weight*0.02 + 0.004*float64(i%37)
		l.rows = append(l.rows, row{
			"session": date + "a", "date": date, "start": "18:10", "end": "21:12", "status": "done",
			"weight_before_kg": fmt.Sprintf("%.2f", weight+wave*weight*0.01+gain), "weight_after_kg": fmt.Sprintf("%.2f", weight+wave*weight*0.01),
			"bp_before_systolic_mmhg": fmt.Sprint(138 + int(12*wave) + i%5), "bp_before_diastolic_mmhg": fmt.Sprint(78 + int(6*wave) + i%3),
			"uf_removed_l": fmt.Sprintf("%.2f", gain), "drinks_l": "0.2", "saline_l": "0", "rinseback_l": "0.2", "dialysate_l": "30", "dialysate_flow_ml_min": "170",
			"blood_flow_ml_min": "350", "treated_min": fmt.Sprint(168 + i%11), "recovery_min": fmt.Sprint(20 + 5*(i%13)),
		})
		l.readings = append(l.readings,
			fmt.Sprintf("%sa,18:30,%d,82,350,%d,%d", date, 128+i%9, -140-i%17, 150+i%23),
			fmt.Sprintf("%sa,20:30,%d,76,350,%d,%d", date, 112+i%7, -142-i%17, 154+i%23))
	}
}

// write writes the log into a folder.
func (l *madeLog) write(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	var sessions strings.Builder
	sessions.WriteString(strings.Join(sessionColumns, ",") + "\n")
	for _, r := range l.rows {
		cells := make([]string, len(sessionColumns))
		for i, c := range sessionColumns {
			cells[i] = r[c]
			if strings.ContainsAny(cells[i], ",\"") {
				cells[i] = `"` + strings.ReplaceAll(cells[i], `"`, `""`) + `"`
			}
		}
		sessions.WriteString(strings.Join(cells, ",") + "\n")
	}
	for name, text := range map[string]string{
		"log.toml": l.about, "sessions.csv": sessions.String(),
		"readings.csv": "session,time,bp_systolic_mmhg,bp_diastolic_mmhg,blood_flow_ml_min,arterial_pressure_mmhg,venous_pressure_mmhg\n" + strings.Join(l.readings, "\n") + "\n",
		"labs.csv":     "session,drawn_date,drawn_time,when,test,value,unit,laboratory\n" + strings.Join(l.labs, "\n") + "\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// read reads a log folder as the command does, without the gate of the export.
func read(t testing.TB, dir string) *session.Log {
	t.Helper()
	log, _, err := session.ReadFolder(dir, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return log
}

// year has 300 sessions; day has 370 in 53 weeks, two on some days.
func year() *madeLog {
	l := &madeLog{about: aboutAdult + prescribed("2024-10-01", 170, 62.5, 11) + prescribed("2025-02-03", 172, 63, 10) + prescribed("2025-08-18", 175, 62, 10) + fistula}
	l.sessions("2024-11-04", 300, 62.4)
	l.rows[40]["status"], l.rows[40]["reason"], l.rows[40]["treated_min"], l.rows[40]["end"] = "cut short", "alarm", "95", "19:50"
	for _, i := range []int{7, 150, 151, 290} {
		l.rows[i] = row{"session": l.rows[i]["session"], "date": l.rows[i]["date"], "status": "not done", "reason": "away"}
	}
	for i, month := range []string{"2025-01-06", "2025-04-07", "2025-07-07", "2025-10-06"} {
		for j, test := range []string{"potassium", "phosphate", "haemoglobin", "calcium", "albumin", "ferritin", "bicarbonate", "sodium", "magnesium", "CRP"} {
			unit := []string{"mmol/L", "mmol/L", "g/L", "mmol/L", "g/L", "ug/L", "mmol/L", "mmol/L", "mmol/L", "mg/L"}[j]
			value := []float64{5.1, 1.7, 112, 2.31, 38, 210, 22, 138, 0.91, 4.2}[j] + float64(i)*0.1
			l.labs = append(l.labs, fmt.Sprintf("%sa,%s,18:00,before,%s,%.2f,%s,Saltmere", month, month, test, value, unit))
		}
	}
	return l
}

func daily() *madeLog {
	l := &madeLog{about: aboutAdult + prescribed("2024-10-01", 170, 62.5, 11) + fistula}
	l.sessions("2024-11-04", 260, 62.4)
	for i := range 110 {
		again := row{}
		for k, v := range l.rows[i*2] {
			again[k] = v
		}
		again["session"], again["start"], again["end"] = again["date"]+"b", "06:00", "08:50"
		l.rows = append(l.rows, again)
	}
	return l
}

func child() *madeLog {
	l := &madeLog{about: aboutChild + prescribed("2025-09-01", 170, 24.1, 8) + fistula}
	l.sessions("2025-10-06", 24, 24)
	return l
}

func single() *madeLog {
	l := &madeLog{about: aboutAdult}
	l.sessions("2025-11-03", 1, 62.4)
	l.readings = nil
	return l
}

// nothingDone is a month of sessions that did not take place.
func nothingDone() *madeLog {
	l := &madeLog{about: aboutAdult + prescribed("2025-10-01", 170, 62.5, 11) + fistula}
	l.sessions("2025-11-03", 20, 62.4)
	l.readings = nil
	for i, r := range l.rows {
		l.rows[i] = row{"session": r["session"], "date": r["date"], "status": "not done", "reason": fmt.Sprintf("in hospital, ward %d", i+3)}
	}
	return l
}
