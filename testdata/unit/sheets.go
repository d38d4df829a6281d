package unit

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// cell is a heading of a sheet and the text below it.
type cell struct{ heading, text string }

// decimal writes a number with some of its digits behind the decimal mark.
func (p Person) decimal(number, digits int) string {
	unit := 1
	for range digits {
		unit *= 10
	}
	mark := "."
	if p.comma {
		mark = ","
	}
	return fmt.Sprintf("%d%s%0*d", number/unit, mark, digits, number%unit)
}

// clock writes minutes after midnight, also those past the next one.
func clock(minutes int) string { return fmt.Sprintf("%02d:%02d", minutes/60%24, minutes%60) }

// weight and temperature write a value under the heading of its unit.
func (p Person) weight(heading string, hundredGrams int) cell {
	if p.pounds { // 1 lb = 0.45359237 kg
		return cell{heading + "_lb", p.decimal((hundredGrams*100000000+45359237/2)/45359237, 1)}
	}
	return cell{heading + "_kg", p.decimal(hundredGrams, 1)}
}

func (p Person) temperature(tenths int) cell {
	if p.pounds {
		return cell{"temperature_before_f", p.decimal((tenths*9+2)/5+320, 1)}
	}
	return cell{"temperature_before_c", p.decimal(tenths, 1)}
}

// sheets are the rows of our own sheets by their names.
func (p Person) sheets(version int) map[string][][]cell {
	out := map[string][][]cell{}
	for i, n := range p.nights(version) {
		day := n.day.Format(time.DateOnly)
		name := cell{"session", day + "a"}
		row := []cell{name, {"date", day}, {"status", n.status}, {"reason", n.reason}}
		if n.status != "not done" {
			row = append(row, p.done(n)...)
			for _, r := range n.readings {
				out["readings"] = append(out["readings"], append([]cell{name}, p.reading(r)...))
			}
			if p.index%2 == 0 {
				out["medicines"] = append(out["medicines"], []cell{name, {"time", clock(n.start + 2)}, {"medicine", "heparin"}, {"kind", "anticoagulant"}, {"dose", fmt.Sprint(1000 + 500*(p.index%3))}, {"dose_unit", "IU"}, {"route", "circuit"}})
			}
		}
		if i == 2 && version == 1 {
			p.mistaken(row)
		}
		out["sessions"] = append(out["sessions"], append(row, cell{"notes", n.notes}))
	}
	if p.index%4 == 0 && !p.child {
		name := out["sessions"][1][0]
		out["labs"] = append(out["labs"],
			[]cell{name, {"when", "before"}, {"test", "urea"}, {"value", p.decimal(170+p.index, 1)}, {"unit", "mmol/L"}},
			[]cell{name, {"when", "after"}, {"test", "urea"}, {"value", p.decimal(80+p.index, 1)}, {"unit", "mmol/L"}})
	}
	return out
}

func (p Person) done(n night) []cell {
	row := []cell{
		{"start", clock(n.start)}, {"end", clock(n.start + n.minutes)},
		p.weight("weight_before", n.before), p.weight("weight_after", n.after),
		{"bp_before_systolic_mmhg", fmt.Sprint(n.bp[0][0])}, {"bp_before_diastolic_mmhg", fmt.Sprint(n.bp[0][1])},
		{"bp_after_systolic_mmhg", fmt.Sprint(n.bp[1][0])}, {"bp_after_diastolic_mmhg", fmt.Sprint(n.bp[1][1])},
		{"uf_removed_l", p.decimal(n.ufML/10, 2)}, {"blood_flow_ml_min", fmt.Sprint(p.bloodFlow)},
	}
	if p.index%3 > 0 {
		row = append(row, p.temperature(n.temperature), cell{"pulse_before_per_min", fmt.Sprint(n.pulse[0])}, cell{"pulse_after_per_min", fmt.Sprint(n.pulse[1])})
	}
	if p.index%4 == 2 {
		row = append(row, cell{"entered_at", clock(n.start + n.minutes + 25)})
	}
	return row
}

func (p Person) reading(r reading) []cell {
	return []cell{
		{"time", clock(r.at)}, {"bp_systolic_mmhg", fmt.Sprint(r.systolic)}, {"bp_diastolic_mmhg", fmt.Sprint(r.diastolic)}, {"pulse_per_min", fmt.Sprint(r.pulse)},
		{"arterial_pressure_mmhg", fmt.Sprint(r.arterial)}, {"venous_pressure_mmhg", fmt.Sprint(r.venous)}, {"uf_so_far_l", p.decimal(r.ufML/10, 2)},
	}
}

// mistaken writes the mistake of the person into a row.
func (p Person) mistaken(row []cell) {
	for i, c := range row {
		switch {
		case p.mistake == 1 && strings.HasPrefix(c.heading, "weight_before"):
			row[i].text = strings.Replace(c.text, c.text[1:2], "O", 1)
		case p.mistake == 2 && c.heading == "start":
			row[i].text = "25:10"
		case p.mistake == 3 && c.heading == "bp_before_systolic_mmhg":
			row[i].text = "14O"
		}
	}
}

// headings are those of all rows of a sheet.
func headings(rows [][]cell) (out []string) {
	for _, row := range rows {
		for _, c := range row {
			if !slices.Contains(out, c.heading) {
				out = append(out, c.heading)
			}
		}
	}
	return out
}

func table(rows [][]cell) [][]string {
	out := [][]string{headings(rows)}
	for _, row := range rows {
		line := make([]string, len(out[0]))
		for _, c := range row {
			line[slices.Index(out[0], c.heading)] = c.text
		}
		out = append(out, line)
	}
	return out
}

func lines(rows [][]string, separator rune) string {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.Comma = separator
	if err := w.WriteAll(rows); err != nil {
		panic(err) // of a buffer
	}
	return out.String()
}

// folder is the log as a folder of CSV files.
func (p Person) folder(version int) map[string]string {
	separator := ','
	if p.comma {
		separator = ';'
	}
	out := map[string]string{"log.toml": p.about()}
	for name, rows := range p.sheets(version) {
		out[name+".csv"] = lines(table(rows), separator)
	}
	return out
}

// parts are what log.toml says, in its order.
func (p Person) parts() [][]cell {
	mark, language, sex := ".", "en", []string{"female", "male"}[p.index%2]
	if p.comma {
		mark, language = ",", "de"
	}
	return [][]cell{
		{{"log", ""}, {"format", "1"}, {"id", p.logID}, {"time_zone", p.zone}, {"date_style", "iso"}, {"decimal_mark", mark}, {"language", language}},
		{{"patient", ""}, {"identifier_system", System}, {"identifier_value", p.Number}, {"sex", sex}, {"birth_date", p.birth}, {"height_cm", fmt.Sprint(p.height)}},
		{{"clinic", ""}, {"name", "Saltmere Kidney Unit, home team"}},
		{{"[prescription]", ""}, {"valid_from", "2025-10-01"}, {"sessions_per_week", fmt.Sprint(p.perWeek)}, {"duration_min", fmt.Sprint(p.minutes)}, {"dry_weight_kg", fmt.Sprintf("%d.%d", p.dry/10, p.dry%10)}, {"blood_flow_ml_min", fmt.Sprint(p.bloodFlow)}},
		{{"[access]", ""}, {"valid_from", "2023-05-15"}, {"kind", "fistula"}, {"side", "left"}},
		{{"[device]", ""}, {"kind", "scales"}, {"name", "bathroom scales"}, {"serial", fmt.Sprint("SC-", p.index)}},
	}
}

// bare reports that a value of log.toml stands there without quotation marks.
func bare(key string) bool {
	return key == "format" || key == "sessions_per_week" || strings.HasSuffix(key, "_min") || strings.HasSuffix(key, "_kg") || strings.HasSuffix(key, "_cm")
}

func (p Person) about() string {
	var out strings.Builder
	for _, part := range p.parts() {
		fmt.Fprintf(&out, "[%s]\n", part[0].heading)
		for _, c := range part[1:] {
			if bare(c.heading) {
				fmt.Fprintf(&out, "%s = %s\n", c.heading, c.text)
			} else {
				fmt.Fprintf(&out, "%s = %q\n", c.heading, c.text)
			}
		}
	}
	return out.String()
}

// response is the log as answers to the form of 'runsheet new form.json'.
func (p Person) response(t testing.TB, version int) string {
	t.Helper()
	var groups []any
	add := func(name string, cells []cell) {
		items := []any{}
		for _, c := range cells {
			value := map[string]any{"valueString": c.text}
			if bare(c.heading) && !strings.Contains(c.text, ",") {
				value = map[string]any{"valueDecimal": json.RawMessage(c.text)}
			}
			if c.text != "" {
				items = append(items, map[string]any{"linkId": name + "." + c.heading, "answer": []any{value}})
			}
		}
		groups = append(groups, map[string]any{"linkId": name, "item": items})
	}
	for _, part := range p.parts() {
		add(strings.Trim(part[0].heading, "[]"), part[1:])
	}
	sheets := p.sheets(version)
	for _, name := range slices.Sorted(maps.Keys(sheets)) {
		for _, row := range sheets[name] {
			add(name, row)
		}
	}
	text, err := json.Marshal(map[string]any{"resourceType": "QuestionnaireResponse", "questionnaire": "https://runsheet.example/fhir/Questionnaire/runsheet-log|1", "status": "completed", "item": groups})
	must(t, err)
	return string(text)
}

// foreign is the log as a sheet of another shape, with the map of testdata/sheets
// for it and a log.toml.
func (p Person) foreign(t testing.TB, version int) map[string]string {
	t.Helper()
	_, here, _, _ := runtime.Caller(0)
	columnMap, err := os.ReadFile(filepath.Join(filepath.Dir(here), "..", "sheets", p.form, "map.toml"))
	must(t, err)
	text, _, _ := strings.Cut(string(columnMap), "[log]")
	out := map[string]string{"map.toml": text, "log.toml": p.about()}
	var rows [][]cell
	for i, n := range p.nights(version) {
		if n.status != "not done" {
			rows = append(rows, foreignRows[p.form](p, i, n)...)
		}
	}
	switch p.form {
	case "german":
		out["protokoll.csv"] = lines(table(rows), ';')
	case "wide":
		out["readings.csv"] = lines(table(rows), '\t')
	case "unit":
		out["november.xlsx"] = p.unitBook(t, rows)
	default:
		out["log.csv"] = lines(table(rows), ',')
	}
	return out
}

func slash(bp [2]int) string { return fmt.Sprintf("%d/%d", bp[0], bp[1]) }

// foreignRows write a treatment in the shape of each sheet.
var foreignRows = map[string]func(p Person, i int, n night) [][]cell{
	"german": func(p Person, _ int, n night) [][]cell {
		p.comma = true
		return [][]cell{{
			{"Datum", n.day.Format("02.01.06")}, {"Beginn", clock(n.start) + " Uhr"}, {"Ende", clock(n.start+n.minutes) + " Uhr"},
			{"Gewicht vor (kg)", p.decimal(n.before, 1)}, {"Gewicht nach (kg)", p.decimal(n.after, 1)},
			{"RR vor", slash(n.bp[0])}, {"RR nach", slash(n.bp[1])}, {"Puls vor", fmt.Sprint(n.pulse[0])},
			{"Temp. vor (°C)", p.decimal(n.temperature, 1)}, {"UF (l)", p.decimal(n.ufML/10, 2)}, {"Blutfluss (ml/min)", fmt.Sprint(p.bloodFlow)},
			{"Dauer (h:mm)", fmt.Sprintf("%d:%02d", n.minutes/60, n.minutes%60)}, {"Kalium vor (mmol/l)", ""}, {"Bemerkungen", n.notes}, {"Unterschrift", "MK"},
		}}
	},
	"american": func(p Person, _ int, n night) [][]cell {
		p.pounds, p.comma = true, false
		return [][]cell{{
			{"Date", n.day.Format("1/2/2006")}, {"Time on", american(n.start)}, {"Time off", american(n.start + n.minutes)},
			{"Pre wt (lb)", p.weight("", n.before).text}, {"Post wt (lb)", p.weight("", n.after).text}, {"Pre BP", slash(n.bp[0])}, {"Post BP", slash(n.bp[1])},
			{"Pre temp (°F)", p.temperature(n.temperature).text}, {"UF removed (mL)", fmt.Sprint(n.ufML)}, {"BFR", fmt.Sprint(p.bloodFlow)},
			{"K bath (mEq/L)", "2.0"}, {"Ca bath (mEq/L)", "2.5"}, {"BUN pre (mg/dL)", ""}, {"BUN post (mg/dL)", ""},
			{"Completed?", map[string]string{"done": "Y", "cut short": "early"}[n.status]}, {"Notes", n.notes},
		}}
	},
	"wide": func(p Person, i int, n night) [][]cell {
		p.comma = false
		row := []cell{
			{"No", fmt.Sprint(i + 1)}, {"Date", n.day.Format("2 Jan 2006")}, {"Start", clock(n.start)}, {"Finish", clock(n.start + n.minutes)},
			{"Pre weight kg", p.decimal(n.before, 1)}, {"Post weight kg", p.decimal(n.after, 1)}, {"UF L", p.decimal(n.ufML/10, 2)},
		}
		for at, r := range n.readings {
			hour := fmt.Sprint(at+1) + "h"
			row = append(row, cell{"BP " + hour, slash([2]int{r.systolic, r.diastolic})}, cell{"HR " + hour, fmt.Sprint(r.pulse)}, cell{"VP " + hour, fmt.Sprint(r.venous)}, cell{"AP " + hour, fmt.Sprint(r.arterial)})
		}
		return [][]cell{append(row, cell{"Comments", n.notes})}
	},
	"rows": func(p Person, _ int, n night) (out [][]cell) {
		p.comma = false
		first := []cell{
			{"Date", n.day.Format("02/01/2006")}, {"On", clock(n.start)}, {"Off", clock(n.start + n.minutes)}, {"Wt before (st lb)", stones(n.before)},
			{"Wt after (st lb)", stones(n.after)}, {"UF (L)", p.decimal(n.ufML/10, 2)},
		}
		for _, r := range n.readings {
			out = append(out, append(first, cell{"Time", clock(r.at)}, cell{"Systolic (kPa)", kPa(r.systolic)}, cell{"Diastolic (kPa)", kPa(r.diastolic)}, cell{"Pulse", fmt.Sprint(r.pulse)}, cell{"Venous", fmt.Sprint(r.venous)}, cell{"Arterial", fmt.Sprint(r.arterial)}))
			first = nil
		}
		return out
	},
	"unit": func(p Person, _ int, n night) [][]cell {
		p.comma = false
		return [][]cell{{
			{"Session / Date", n.day.Format(time.DateOnly)}, {"Session / On", clock(n.start)}, {"Session / Off", clock(n.start + n.minutes)},
			{"Before / Weight (kg)", p.decimal(n.before, 1)}, {"Before / BP", slash(n.bp[0])}, {"Before / Pulse", fmt.Sprint(n.pulse[0])},
			{"After / Weight (kg)", p.decimal(n.after, 1)}, {"After / BP", slash(n.bp[1])}, {"After / Pulse", fmt.Sprint(n.pulse[1])},
			{"Machine / UF (mL)", fmt.Sprint(n.ufML)}, {"Machine / Qb", fmt.Sprint(p.bloodFlow)}, {"Remarks", n.notes},
		}}
	},
}

func american(minutes int) string {
	return time.Date(2025, 1, 1, 0, minutes, 0, 0, time.UTC).Format("3:04 PM")
}

// stones writes a weight in stones and pounds; 14 lb are a stone.
func stones(hundredGrams int) string {
	const pound = 4.5359237
	pounds := int(float64(hundredGrams)/pound + 0.5)
	return fmt.Sprintf("%d st %d lb", pounds/14, pounds%14)
}

// kPa writes a pressure; 7.50062 mmHg are 1 kPa.
func kPa(mmHg int) string { return fmt.Sprintf("%.1f", float64(mmHg)/7.50062) }

// unitBook is the unit's own workbook: a title, headings in two rows, the table.
func (p Person) unitBook(t testing.TB, rows [][]cell) string {
	t.Helper()
	book := excelize.NewFile()
	defer book.Close()
	const tab = "Treatments"
	must(t, book.SetSheetName("Sheet1", tab))
	must(t, book.SetCellStr(tab, "A1", "Home treatments, November 2025"))
	for i, row := range table(rows) {
		for j, text := range row {
			group, name, grouped := strings.Cut(text, " / ")
			if i == 0 && grouped {
				must(t, book.SetCellStr(tab, at(t, j, 4), group))
				text = name
			}
			must(t, book.SetCellStr(tab, at(t, j, 5+i), text))
		}
	}
	return written(t, book)
}

func at(t testing.TB, column, row int) string {
	t.Helper()
	name, err := excelize.CoordinatesToCellName(column+1, row)
	must(t, err)
	return name
}

func written(t testing.TB, book *excelize.File) string {
	t.Helper()
	out, err := book.WriteToBuffer()
	must(t, err)
	return out.String()
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
