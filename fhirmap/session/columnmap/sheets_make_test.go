package columnmap_test

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// The sheets are of invented people. They are made from one little model, so
// that weights, fluid and times fit together, and each is laid out as people
// and units do lay them out.

type sitting struct {
	day                  time.Time
	start, minutes       int // minutes of the day, length
	before, after, uf    float64
	sys, dia, pulse      [2]int // before, after
	temperature          float64
	flow, venous, artery int
	readings             []reading
}

type reading struct {
	after           int // minutes since the start
	sys, dia, pulse int
	venous, artery  int
	ufSoFar         float64
}

func (s sitting) end() int { return s.start + s.minutes }

func clock(minutes int) string { return fmt.Sprintf("%02d:%02d", minutes/60%24, minutes%60) }

// dice is a linear congruential generator (Knuth's MMIX constants), so that
// the sheets are the same everywhere.
type dice uint64

func (d *dice) roll(sides int) int {
	*d = *d*6364136223846793005 + 1442695040888963407
	return int(uint64(*d>>33) % uint64(sides))
}

func (d *dice) around(mid, width int) int { return mid - width + d.roll(2*width+1) }

// sittings makes a fortnight of treatments on the given weekdays.
func sittings(seed uint64, first time.Time, days []time.Weekday, dry float64, start, minutes int) []sitting {
	d := dice(seed)
	var all []sitting
	for day := range 14 {
		date := first.AddDate(0, 0, day)
		planned := false
		for _, one := range days {
			planned = planned || date.Weekday() == one
		}
		if !planned {
			continue
		}
		s := sitting{day: date, start: d.around(start, 9), minutes: d.around(minutes, 4)}
		gain := float64(d.around(15, 5)) / 10
		s.after = dry + float64(d.around(1, 2))/10
		s.before = s.after + gain
		s.uf = gain + 0.25 + float64(d.around(0, 4))/100
		s.sys, s.dia = [2]int{d.around(146, 9), d.around(129, 8)}, [2]int{d.around(83, 6), d.around(75, 5)}
		s.pulse = [2]int{d.around(72, 6), d.around(78, 6)}
		s.temperature = float64(d.around(364, 3)) / 10
		s.flow, s.venous, s.artery = d.around(330, 3)/10*10, d.around(150, 12), d.around(-150, 12)
		for after := 60; after < s.minutes-5; after += 60 {
			share := float64(after) / float64(s.minutes)
			s.readings = append(s.readings, reading{
				after: after, sys: d.around(134, 9), dia: d.around(78, 6), pulse: d.around(74, 6),
				venous: d.around(152, 10), artery: d.around(-152, 10), ufSoFar: float64(int(s.uf*share*100)) / 100,
			})
		}
		all = append(all, s)
	}
	return all
}

func comma(format string, values ...any) string {
	return strings.ReplaceAll(fmt.Sprintf(format, values...), ".", ",")
}

const sheetsDir = "../../../testdata/sheets"

func writeCSV(t *testing.T, name string, separator rune, rows [][]string) {
	t.Helper()
	var text strings.Builder
	w := csv.NewWriter(&text)
	w.Comma, w.UseCRLF = separator, true
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(sheetsDir, name), []byte(text.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

// makeSheets writes all sheets again.
func makeSheets(t *testing.T) {
	monday := func(day int) time.Time { return time.Date(2025, 11, day, 0, 0, 0, 0, time.UTC) }
	mon, tue, wed, thu, fri, sat := time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday
	makeUnit(t, sittings(11, monday(3), []time.Weekday{mon, tue, thu, sat}, 68, 18*60, 210))
	makeGerman(t, sittings(12, monday(3), []time.Weekday{mon, wed, fri}, 81, 8*60, 270))
	makeWide(t, sittings(13, monday(10), []time.Weekday{mon, wed, fri}, 57, 14*60, 245))
	makeForms(t, sittings(14, monday(10), []time.Weekday{tue, thu, sat}, 74, 9*60, 240))
	makeAmerican(t, sittings(15, monday(3), []time.Weekday{mon, tue, thu, fri, sat}, 83, 19*60, 180))
	makeRows(t, sittings(16, monday(17), []time.Weekday{mon, wed, sat}, 63, 22*60, 420))
}

// makeUnit is a unit's workbook: a title and names above the table, headings
// in two rows with merged cells, a sheet of instructions before it, and a row
// of means and a line for a signature below.
func makeUnit(t *testing.T, all []sitting) {
	f := excelize.NewFile()
	must := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	must(f.SetSheetName("Sheet1", "How to fill in"))
	must(f.SetCellStr("How to fill in", "A1", "Please write every session into the sheet Treatments."))
	const tab = "Treatments"
	_, err := f.NewSheet(tab)
	must(err)
	row := func(n int, values ...any) { must(f.SetSheetRow(tab, fmt.Sprintf("A%d", n), &values)) }
	row(1, "Home dialysis treatment record")
	must(f.MergeCell(tab, "A1", "L1"))
	row(2, "Month:", "November 2025", nil, "Dry weight:", "68 kg")
	row(4, "Session", nil, nil, "Before", nil, nil, "After", nil, nil, "Machine", nil, "Remarks")
	for _, merged := range [][2]string{{"A4", "C4"}, {"D4", "F4"}, {"G4", "I4"}, {"J4", "K4"}} {
		must(f.MergeCell(tab, merged[0], merged[1]))
	}
	row(5, "Date", "On", "Off", "Weight (kg)", "BP", "Pulse", "Weight (kg)", "BP", "Pulse", "UF (mL)", "Qb", nil)
	dates, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	must(err)
	clocks, err := f.NewStyle(&excelize.Style{NumFmt: 20})
	must(err)
	tenths := "0.0"
	weights, err := f.NewStyle(&excelize.Style{CustomNumFmt: &tenths})
	must(err)
	for i, s := range all {
		n := 6 + i
		row(n, float64(s.day.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours()/24), float64(s.start)/1440, float64(s.end())/1440,
			s.before, fmt.Sprintf("%d/%d", s.sys[0], s.dia[0]), s.pulse[0],
			s.after, fmt.Sprintf("%d/%d", s.sys[1], s.dia[1]), s.pulse[1], int(s.uf*1000), s.flow, nil)
		for _, styled := range []struct {
			columns string
			style   int
		}{{"A", dates}, {"BC", clocks}, {"DG", weights}} {
			for _, c := range styled.columns {
				must(f.SetCellStyle(tab, fmt.Sprintf("%c%d", c, n), fmt.Sprintf("%c%d", c, n), styled.style))
			}
		}
		if i == 2 {
			must(f.SetCellStr(tab, fmt.Sprintf("F%d", n), "omitted"))
			must(f.SetCellStr(tab, fmt.Sprintf("L%d", n), "arm a little sore"))
		}
	}
	last := 6 + len(all)
	must(f.SetCellStr(tab, fmt.Sprintf("A%d", last), "Mean"))
	must(f.SetCellFormula(tab, fmt.Sprintf("D%d", last), fmt.Sprintf("AVERAGE(D6:D%d)", last-1)))
	must(f.SetCellStr(tab, fmt.Sprintf("A%d", last+1), "Signature of the nurse:"))
	must(f.SaveAs(filepath.Join(sheetsDir, "unit", "november.xlsx")))
}

// makeGerman is a CSV file as German spreadsheets save it: semicolons, decimal
// commas, days first with two digits of the year, Windows-1252.
func makeGerman(t *testing.T, all []sitting) {
	rows := [][]string{{"Datum", "Beginn", "Ende", "Gewicht vor (kg)", "Gewicht nach (kg)", "RR vor", "RR nach", "Puls vor", "Temp. vor (°C)", "UF (l)", "Blutfluss (ml/min)", "Dauer (h:mm)", "Kalium vor (mmol/l)", "Bemerkungen", "Unterschrift"}}
	for i, s := range all {
		potassium, temperature, note := "", comma("%.1f", s.temperature), ""
		if i == 0 {
			potassium, note = "5,2", "Nadel links etwas schmerzhaft"
		}
		if i == 3 {
			temperature = "nicht gemessen"
		}
		rows = append(rows, []string{
			s.day.Format("02.01.06"), clock(s.start) + " Uhr", clock(s.end()) + " Uhr", comma("%.1f", s.before), comma("%.1f", s.after),
			fmt.Sprintf("%d/%d", s.sys[0], s.dia[0]), fmt.Sprintf("%d/%d", s.sys[1], s.dia[1]), fmt.Sprint(s.pulse[0]), temperature,
			comma("%.2f", s.uf), fmt.Sprint(s.flow), fmt.Sprintf("%d:%02d", (s.minutes-2)/60, (s.minutes-2)%60), potassium, note, "MK",
		})
	}
	rows = append(rows, []string{"Mittelwert", "", "", comma("%.1f", all[0].before), "", "", "", "", "", "", "", "", "", "", ""})
	writeCSV(t, "german/protokoll.csv", ';', rows)
	name := filepath.Join(sheetsDir, "german", "protokoll.csv")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var latin []byte
	for _, r := range string(text) {
		latin = append(latin, byte(r)) // all its letters are in Latin-1
	}
	if err := os.WriteFile(name, latin, 0o644); err != nil {
		t.Fatal(err)
	}
}

// makeWide has the readings of a session beside each other, by the hour.
func makeWide(t *testing.T, all []sitting) {
	head := []string{"No", "Date", "Start", "Finish", "Pre weight kg", "Post weight kg", "UF L"}
	for hour := 1; hour <= 4; hour++ {
		head = append(head, fmt.Sprintf("BP %dh", hour), fmt.Sprintf("HR %dh", hour), fmt.Sprintf("VP %dh", hour), fmt.Sprintf("AP %dh", hour))
	}
	rows := [][]string{append(head, "Comments")}
	for i, s := range all {
		row := []string{fmt.Sprint(i + 41), s.day.Format("2 Jan 2006"), clock(s.start), clock(s.end()), fmt.Sprintf("%.1f", s.before), fmt.Sprintf("%.1f", s.after), fmt.Sprintf("%.2f", s.uf)}
		for hour := range 4 {
			if hour >= len(s.readings) || i == 1 && hour == 2 {
				row = append(row, "", "", "", "")
				continue
			}
			r := s.readings[hour]
			row = append(row, fmt.Sprintf("%d/%d", r.sys, r.dia), fmt.Sprint(r.pulse), fmt.Sprint(r.venous), fmt.Sprint(r.artery))
		}
		rows = append(rows, append(row, ""))
	}
	writeCSV(t, "wide/readings.csv", '\t', rows)
}

// makeForms has one sheet for each session, filled in like a paper form in
// French, with a block of readings.
func makeForms(t *testing.T, all []sitting) {
	f := excelize.NewFile()
	for i, s := range all {
		tab := s.day.Format("2 Jan")
		if i == 0 {
			if err := f.SetSheetName("Sheet1", tab); err != nil {
				t.Fatal(err)
			}
		} else if _, err := f.NewSheet(tab); err != nil {
			t.Fatal(err)
		}
		put := func(cell string, value any) {
			if err := f.SetCellValue(tab, cell, value); err != nil {
				t.Fatal(err)
			}
		}
		put("A1", "Séance de dialyse à domicile")
		put("A3", "Date :")
		put("B3", s.day.Format("02/01/2006"))
		put("A4", "Début :")
		put("B4", fmt.Sprintf("%dh%02d", s.start/60, s.start%60))
		put("C4", "Fin :")
		put("D4", fmt.Sprintf("%dh%02d", s.end()/60, s.end()%60))
		put("A6", "Poids avant (kg)")
		put("B6", comma("%.1f", s.before))
		put("C6", "Poids après (kg)")
		put("D6", comma("%.1f", s.after))
		put("A7", "Tension avant")
		put("B7", fmt.Sprintf("%d-%d", s.sys[0], s.dia[0]))
		put("C7", "Tension après")
		put("D7", fmt.Sprintf("%d-%d", s.sys[1], s.dia[1]))
		put("A8", "UF totale (ml)")
		put("B8", int(s.uf*1000))
		for j, title := range []string{"Heure", "Tension", "Pouls", "PV", "PA", "UF cumulée (ml)"} {
			put(fmt.Sprintf("%c10", 'A'+j), title)
		}
		for j, r := range s.readings {
			n := 11 + j
			at := s.start + r.after
			put(fmt.Sprintf("A%d", n), fmt.Sprintf("%dh%02d", at/60, at%60))
			put(fmt.Sprintf("B%d", n), fmt.Sprintf("%d-%d", r.sys, r.dia))
			put(fmt.Sprintf("C%d", n), r.pulse)
			put(fmt.Sprintf("D%d", n), r.venous)
			put(fmt.Sprintf("E%d", n), r.artery)
			put(fmt.Sprintf("F%d", n), int(r.ufSoFar*1000))
		}
		put("A18", "Infirmière :")
		put("B18", "ext. 214")
	}
	if err := f.SaveAs(filepath.Join(sheetsDir, "forms", "seances.xlsx")); err != nil {
		t.Fatal(err)
	}
}

// makeAmerican is a sheet in pounds, °F and month first, with the bath in
// mEq/L and blood results in mg/dL.
func makeAmerican(t *testing.T, all []sitting) {
	rows := [][]string{
		{"My treatment log"},
		{"Date", "Time on", "Time off", "Pre wt (lb)", "Post wt (lb)", "Pre BP", "Post BP", "Pre temp (°F)", "UF removed (mL)", "BFR", "K bath (mEq/L)", "Ca bath (mEq/L)", "BUN pre (mg/dL)", "BUN post (mg/dL)", "Completed?", "Notes"},
	}
	for i, s := range all {
		bunPre, bunPost, done, note := "", "", "Y", ""
		if i == 4 {
			bunPre, bunPost = "62", "31"
		}
		if i == 7 {
			done, note = "early", "cramps, stopped early"
			s.minutes -= 20
		}
		twelve := func(minutes int) string {
			return time.Date(2025, 1, 1, 0, minutes, 0, 0, time.UTC).Format("3:04 PM")
		}
		rows = append(rows, []string{
			s.day.Format("1/2/2006"), twelve(s.start), twelve(s.end()), fmt.Sprintf("%.1f", s.before/0.45359237), fmt.Sprintf("%.1f", s.after/0.45359237),
			fmt.Sprintf("%d/%d", s.sys[0], s.dia[0]), fmt.Sprintf("%d/%d", s.sys[1], s.dia[1]), fmt.Sprintf("%.1f", s.temperature*9/5+32),
			fmt.Sprint(int(s.uf * 1000)), fmt.Sprint(s.flow), "2.0", "2.5", bunPre, bunPost, done, note,
		})
	}
	writeCSV(t, "american/log.csv", ',', rows)
}

// makeRows has a row for each reading; what holds for the whole session stands
// in its first row only, in stones and kPa as one British person kept it.
func makeRows(t *testing.T, all []sitting) {
	rows := [][]string{{"Date", "On", "Off", "Wt before (st lb)", "Wt after (st lb)", "UF (L)", "Time", "Systolic (kPa)", "Diastolic (kPa)", "Pulse", "Venous", "Arterial"}}
	stones := func(kg float64) string {
		pounds := int(kg/0.45359237*2+0.5) / 2
		return fmt.Sprintf("%d st %d lb", pounds/14, pounds%14)
	}
	for _, s := range all {
		for i, r := range s.readings {
			row := []string{"", "", "", "", "", ""}
			if i == 0 {
				row = []string{s.day.Format("02/01/2006"), clock(s.start), clock(s.end()), stones(s.before), stones(s.after), fmt.Sprintf("%.2f", s.uf)}
			}
			rows = append(rows, append(row, clock(s.start+r.after), fmt.Sprintf("%.1f", float64(r.sys)/7.50062), fmt.Sprintf("%.1f", float64(r.dia)/7.50062),
				fmt.Sprint(r.pulse), fmt.Sprint(r.venous), fmt.Sprint(r.artery)))
		}
	}
	writeCSV(t, "rows/nights.csv", ',', rows)
}
