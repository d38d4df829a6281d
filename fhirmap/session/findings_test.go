package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"runsheet.example/validate/issue"
)

const heads = "session,date,start,end,status,weight_before_kg,bp_before_systolic_mmhg\n"

// row makes a sessions file of one row, of the given cells in place of sound
// ones: date, start, end, status, weight, blood pressure.
func row(cells ...string) string {
	sound := []string{"2025-11-03", "18:30", "21:30", "done", "72.6", "135"}
	copy(sound, cells)
	return heads + "a," + strings.Join(sound, ",") + "\n"
}

// A medicine and an event without a time are only noted: the cell may be empty.
func TestTimesThatMayBeEmpty(t *testing.T) {
	for file, content := range map[string]string{
		"medicines.csv": "session,time,medicine,dose,dose_unit\na,,heparin,2000,IU\n",
		"events.csv":    "session,time,kind,what\na,,symptom,cramp\n",
	} {
		_, findings := read(t, map[string]string{"sessions.csv": row(), file: content})
		if len(findings) != 1 || findings[0].Rule != "log-time-missing" || findings[0].Severity != issue.Information {
			t.Errorf("%s: %+v", file, findings)
		}
	}
}

// manyRows are ten sessions from a day of November 2025 on, with their day in
// the name and as a date in a form.
func manyRows(form string, day int) string {
	var rows strings.Builder
	for d := day; d < day+10; d++ {
		fmt.Fprintf(&rows, "2025-11-%02da,"+form+",18:30,21:30,done,72.6,135\n", d, d)
	}
	return rows.String()
}

// TestEachFaultAtItsCell gives each fault of reading its rule and cell. A
// fault with the cell "" is about the file.
func TestEachFaultAtItsCell(t *testing.T) {
	const readingHeads = "session,time,clock_change,venous_pressure_mmhg\n"
	tests := []struct {
		name  string
		files map[string]string
		want  []string
	}{
		{"number with a letter", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "done", "7O.6")}, []string{"log-number sessions.csv F2 (weight_before_kg)"}},
		{"decimal comma in a file of points", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "done", `"72,6"`)}, []string{"log-decimal-mark sessions.csv F2 (weight_before_kg)"}},
		{"thousands", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "done", `"1,200"`)}, []string{"log-thousands sessions.csv F2 (weight_before_kg)"}},
		{"thousands by a space", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "done", "1 200")}, []string{"log-thousands sessions.csv F2 (weight_before_kg)"}},
		{"another unit in the cell", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "done", "160 lb")}, []string{"log-number sessions.csv F2 (weight_before_kg)"}},
		{"sign before a measured number", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "done", "72.6", "<90")}, []string{"log-comparator sessions.csv G2 (bp_before_systolic_mmhg)"}},
		{"two numbers in one cell", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "done", "72.6", "142/82")}, []string{"log-two-numbers sessions.csv G2 (bp_before_systolic_mmhg)"}},
		{"two numbers that are no blood pressure", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "done", "72/71")}, []string{"log-number sessions.csv F2 (weight_before_kg)"}},
		{"escape in a note", map[string]string{"sessions.csv": "session,date,start,end,status,notes\n2025-11-03a,2025-11-03,18:30,21:30,done,turned \x1b[2Jover\n"}, []string{"log-control sessions.csv F2 (notes)"}},
		{"escape in a session's name", map[string]string{"sessions.csv": "session,date,start,end,status\na\x1bb,2025-11-03,18:30,21:30,done\n"}, []string{"log-control sessions.csv A2 (session)"}},
		{"status misspelt", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "dnoe")}, []string{"log-choice sessions.csv E2 (status)"}},
		{"status missing", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "")}, []string{"log-cell-missing sessions.csv E2 (status)"}},
		{"date missing", map[string]string{"sessions.csv": row("")}, []string{"log-cell-missing sessions.csv B2 (date)"}},
		{"start missing", map[string]string{"sessions.csv": row("2025-11-03", "")}, []string{"log-cell-missing sessions.csv C2 (start)"}},
		{"no such day", map[string]string{"sessions.csv": row("2025-02-30")}, []string{"log-date sessions.csv B2 (date)"}},
		{"ambiguous date", map[string]string{"sessions.csv": row("03/04/2025")}, []string{"log-date-ambiguous sessions.csv B2 (date)"}},
		{"date in another style", map[string]string{"sessions.csv": row("25/10/2025")}, []string{"log-date-style sessions.csv B2 (date)"}},
		{"day number of a spreadsheet", map[string]string{"sessions.csv": row("45964")}, []string{"log-date sessions.csv B2 (date)"}},
		{"far future", map[string]string{"sessions.csv": row("2205-11-03")}, []string{"log-date-absurd sessions.csv B2 (date)"}},
		{"time without colon", map[string]string{"sessions.csv": row("2025-11-03", "1830")}, []string{"log-time sessions.csv C2 (start)"}},
		{"hour 24", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "24:00")}, []string{"log-time sessions.csv D2 (end)"}},
		{"end before start", map[string]string{"sessions.csv": row("2025-11-03", "18:30", "16:00")}, []string{"log-end-before-start sessions.csv D2 (end)"}},
		{"start in the missing hour", map[string]string{"sessions.csv": row("2026-03-29", "01:30", "04:30")}, []string{"log-time-missing-hour sessions.csv C2 (start)"}},
		{"end in the missing hour, next day", map[string]string{"sessions.csv": row("2026-03-28", "22:30", "01:30")}, []string{"log-time-missing-hour sessions.csv D2 (end)"}},
		{"start in the repeated hour", map[string]string{"sessions.csv": row("2025-10-26", "01:30", "04:30")}, []string{"log-time-repeated-hour sessions.csv C2 (start)"}},
		{"no name", map[string]string{"sessions.csv": heads + ",2025-11-03,18:30,21:30,done,72.6,135\n"}, []string{"log-session-derived sessions.csv A2 (session)"}},
		{"name twice", map[string]string{"sessions.csv": row() + "a,2025-11-04,18:30,21:30,done,72.6,135\n"}, []string{"log-session-twice sessions.csv A3 (session)"}},
		{"unknown column", map[string]string{"sessions.csv": "session,date,start,end,status,weight_befor_kg\na,2025-11-03,18:30,21:30,done,72.6\n"}, []string{"log-heading-unknown sessions.csv F1 (weight_befor_kg)"}},
		{"missing column", map[string]string{"sessions.csv": "session,date,start,status\na,2025-11-03,18:30,done\n"}, []string{"log-heading-missing sessions.csv row 1"}},
		{"column twice, agreeing", map[string]string{"sessions.csv": "session,date,start,end,status,Date\na,2025-11-03,18:30,21:30,done,2025-11-03\n"}, []string{"log-heading-twice sessions.csv F1 (Date)"}},
		{"column twice, disagreeing", map[string]string{"sessions.csv": "session,date,start,end,status,Date\na,2025-11-03,18:30,21:30,done,2025-11-04\n"}, []string{"log-heading-twice sessions.csv F1 (Date)", "log-two-values sessions.csv F2 (Date)"}},
		{"two units, one of them filled", map[string]string{"sessions.csv": "session,date,start,end,status,weight_before_kg,weight_before_lb,temperature_before_f,temperature_before_c\na,2025-11-03,18:30,21:30,done,,154.3,,36.4\n"}, nil},
		{"two units that agree", map[string]string{"sessions.csv": "session,date,start,end,status,weight_before_kg,weight_before_lb,temperature_before_f,temperature_before_c\na,2025-11-03,18:30,21:30,done,70.0,154.3,97.5,36.4\n"}, nil},
		{"two weights in units that disagree", map[string]string{"sessions.csv": "session,date,start,end,status,weight_before_kg,weight_before_lb\na,2025-11-03,18:30,21:30,done,70.0,154.5\n"}, []string{"log-two-values sessions.csv G2 (weight_before_lb)"}},
		{"two units that disagree", map[string]string{"sessions.csv": "session,date,start,end,status,dialysate_flow_ml_min,dialysate_flow_l_h\na,2025-11-03,18:30,21:30,done,170,12\n"}, []string{"log-two-values sessions.csv G2 (dialysate_flow_l_h)"}},
		{"row too long", map[string]string{"sessions.csv": heads + "a,2025-11-03,18:30,21:30,done,72,6,135\n"}, []string{"log-row-too-long sessions.csv F2 (weight_before_kg)"}},
		{"a total below the sessions", map[string]string{"sessions.csv": row() + "Sum,,,,,72.6,\n"}, []string{"log-row-foreign sessions.csv A3 (session)"}},
		{"a total without a label", map[string]string{"sessions.csv": row() + ",,,,,72.6,\n"}, []string{"log-row-foreign sessions.csv F3 (weight_before_kg)"}},
		{"averages of times too", map[string]string{"sessions.csv": row() + "Mittelwert:,,18:30,21:30,,72.6,135\n"}, []string{"log-row-foreign sessions.csv A3 (session)"}},
		{"a count in place of the date", map[string]string{"sessions.csv": row() + "n = 1,,,,,1,\n"}, []string{"log-row-foreign sessions.csv A3 (session)"}},
		{"label of a total among dates", map[string]string{"sessions.csv": row() + ",Total,,,,72.6,\n"}, []string{"log-row-foreign sessions.csv B3 (date)"}},
		{"a session named like a total", map[string]string{"sessions.csv": row() + "total,2025-11-04,18:30,21:30,done,72.6,135\n"}, nil},
		{"a session without date and status", map[string]string{"sessions.csv": row() + "b1,,,,,72.6,135\n"}, []string{"log-cell-missing sessions.csv B3 (date)", "log-cell-missing sessions.csv E3 (status)"}},
		{"a session without name, date and status", map[string]string{"sessions.csv": row() + ",,18:30,,,72.6,135\n"}, []string{"log-cell-missing sessions.csv B3 (date)", "log-cell-missing sessions.csv E3 (status)"}},
		{"headings again", map[string]string{"sessions.csv": row() + heads}, []string{"log-row-foreign sessions.csv A3 (session)"}},
		{"some headings again", map[string]string{"sessions.csv": row() + "Session,Date,,,,kg,\n"}, []string{"log-row-foreign sessions.csv A3 (session)"}},
		{"units below the headings", map[string]string{"sessions.csv": heads + ",yyyy-mm-dd,hh:mm,hh:mm,,kg,mmHg\n" + strings.TrimPrefix(row(), heads)}, []string{"log-row-foreign sessions.csv B2 (date)"}},
		{"headings among the readings", map[string]string{"sessions.csv": row(), "readings.csv": readingHeads + "a,19:00,,140\n" + readingHeads}, []string{"log-row-foreign readings.csv A3 (session)"}},
		{"total of the readings", map[string]string{"sessions.csv": row(), "readings.csv": readingHeads + "a,19:00,,140\n,,,140\n"}, []string{"log-row-foreign readings.csv D3 (venous_pressure_mmhg)"}},
		{"reading without a session", map[string]string{"sessions.csv": row(), "readings.csv": readingHeads + ",19:00,,140\n"}, []string{"log-cell-missing readings.csv A2 (session)"}},
		{"reading of no session", map[string]string{"sessions.csv": row(), "readings.csv": readingHeads + "b2,,,140\n"}, []string{"log-session-unknown readings.csv A2 (session)"}},
		{"total of the doses", map[string]string{"sessions.csv": row(), "medicines.csv": "session,time,medicine,dose,dose_unit\n,,Total,2000,IU\n"}, []string{"log-row-foreign medicines.csv C2 (medicine)"}},
		{"dose of no session", map[string]string{"sessions.csv": row(), "medicines.csv": "session,time,medicine,dose,dose_unit\n,,heparin,2000,IU\n"}, []string{"log-cell-missing medicines.csv A2 (session)"}},
		{"check of no session", map[string]string{"sessions.csv": row(), "checks.csv": "session,time,what,value,unit\n,,total chlorine,0.03,mg/L\n"}, []string{"log-cell-missing checks.csv A2 (session)"}},
		{"a reading among the events", map[string]string{"sessions.csv": row(), "events.csv": "session,time,kind,what,action\na,19:20,135,82,350\n"}, []string{"log-row-foreign events.csv A2 (session)"}},
		{"row shifted to the left", map[string]string{"sessions.csv": row(), "readings.csv": "session,time,bp_systolic_mmhg,arterial_pressure_mmhg,venous_pressure_mmhg,conductivity_ms_cm,dialysate_temperature_c,pulse_per_min\na,19:00,-160,140,14.0,36.5,76,\n"}, []string{"log-row-shifted readings.csv C2 (bp_systolic_mmhg)"}},
		{"row shifted to the right over a value that is lost", map[string]string{"sessions.csv": row(), "readings.csv": "session,time,blood_flow_ml_min,dialysate_flow_ml_min,arterial_pressure_mmhg,venous_pressure_mmhg,tmp_mmhg,uf_rate_l_h,uf_so_far_l\na,19:00,380,171,-184,162,46,0.41,0.27\na,19:30,,380,170,-190,178,49,0.41\na,20:00,380,171,-192,173,57,0.41,0.66\n"}, []string{"log-row-shifted readings.csv C3 (blood_flow_ml_min)"}},
		{"lot that became a date", map[string]string{"sessions.csv": row(), "checks.csv": "session,what,lot,expires\na,dialyser,28. Mrz,\na,needles,2028-03-01,2028-05\na,lines,MAR-28,\n"}, []string{"log-text-changed checks.csv C2 (lot)", "log-text-changed checks.csv C3 (lot)"}},
		{"serial number that became a number", map[string]string{aboutFile: aboutOK + "\n[[device]]\nkind = \"machine\"\nserial = \"1,2E+11\"\n", "sessions.csv": row()}, []string{"log-text-changed log.toml row 22 (device.serial)"}},
		{"semicolon in a note", map[string]string{"sessions.csv": "session;date;start;end;status;notes;weight_before_kg\na;2025-11-03;18:30;21:30;done;well; slept;72.6\n"}, []string{"log-row-too-long sessions.csv F2 (notes)"}},
		{"decimal commas between commas", map[string]string{"sessions.csv": row(), "readings.csv": "session,time,conductivity_ms_cm,dialysate_temperature_c\na,19:00,14,0,36,5\na,19:30,14,1,36,5\na,20:00,13,9,36,6\n"}, []string{"log-not-csv readings.csv"}},
		{"row with two cells too many", map[string]string{"sessions.csv": heads + "a,2025-11-03,18:30,21:30,done,72.6,135,a,b\n"}, []string{"log-row-too-long sessions.csv H2"}},
		{"quotation mark", map[string]string{"sessions.csv": heads + "a,2025-11-03,18:30,21:30,done,72\"6,135\n"}, []string{"log-quote sessions.csv row 2"}},
		{"quotation mark never closed", map[string]string{"sessions.csv": heads + "a,2025-11-03,18:30,21:30,done,\"72.6,135\nb,2025-11-04,18:30,21:30,done,72.6,135\n"}, []string{"log-quote sessions.csv row 2"}},
		{"line break in a note", map[string]string{"sessions.csv": "session,date,start,end,status,notes,weight_before_kg\na,2025-11-03,18:30,21:30,done,slept\nwell,72.6\nb,2025-11-04,18:30,21:30,done,,72.6\n"}, []string{"log-quote sessions.csv F2 (notes)"}},
		{"line breaks in the last note", map[string]string{"sessions.csv": row(), "readings.csv": "session,time,note\na,19:00,slept\nwell\nand long\na,19:30,\n"}, []string{"log-quote readings.csv C2 (note)"}},
		{"no line of headings", map[string]string{"sessions.csv": row(), "readings.csv": "a,19:00,,140\na,19:30,,141\n"}, []string{"log-heading-missing readings.csv row 1"}},
		{"rows that name sessions without any", map[string]string{"sessions.csv": "session,date,start,status\na,2025-11-03,18:30,done\n", "readings.csv": readingHeads + "a,19:00,,140\n"}, []string{"log-heading-missing sessions.csv row 1"}},
		{"decimal mark of no number", map[string]string{aboutFile: strings.NewReplacer("decimal_mark = \".\"", "decimal_mark = \",\"", `"10.0"`, "10.0").Replace(aboutOK), "sessions.csv": heads + manyRows("2025-11-%02d", 3)}, []string{"about-form log.toml row 7 (log.decimal_mark)"}},
		{"order of no date", map[string]string{aboutFile: strings.Replace(aboutOK, `"iso"`, `"mdy"`, 1), "sessions.csv": heads + manyRows("%d/11/2025", 8)}, []string{"about-form log.toml row 6 (log.date_style)"}},
		{"order of dates not declared", map[string]string{aboutFile: strings.Replace(aboutOK, "date_style = \"iso\"", "", 1), "sessions.csv": heads + manyRows("%d/11/2025", 8)}, []string{"about-form log.toml row 2 (log.date_style)"}},
		{"order of dates by their names", map[string]string{aboutFile: strings.Replace(aboutOK, `"iso"`, `"dmy"`, 1), "sessions.csv": heads + manyRows("11/%d/2025", 3)}, []string{"about-form log.toml row 6 (log.date_style)"}},
		{"no rows", map[string]string{"sessions.csv": heads}, []string{"log-empty sessions.csv"}},
		{"optional files that nobody filled in", map[string]string{"sessions.csv": row(), "checks.csv": "\ufeff", "readings.csv": "", "medicines.csv": "\n", "labs.csv": " , ,\r\n\r\n", "events.csv": "session,time,kind,what,action\n", "answers.csv": ";;\n"}, nil},
		{"a heading below an empty line", map[string]string{"sessions.csv": row(), "readings.csv": ",,,\n\n" + readingHeads + "a,19:00,,140\n"}, nil},
		{"nothing at all", map[string]string{"sessions.csv": ""}, []string{"log-heading-missing sessions.csv"}},
		{"workbook by another name", map[string]string{"sessions.csv": "PK\x03\x04 and so on"}, []string{"log-not-csv sessions.csv"}},
		{"zero bytes", map[string]string{"sessions.csv": heads + "a,2025-11-03,18:30\x00,21:30,done,72.6,135\n"}, []string{"log-not-csv sessions.csv"}},
		{"Windows-1252", map[string]string{"sessions.csv": "session,date,start,end,status,notes\na,2025-11-03,18:30,21:30,done,caf\xe9\n"}, []string{"log-encoding sessions.csv"}},
		{"unused byte of Windows-1252", map[string]string{"sessions.csv": "session,date,start,end,status,notes\na,2025-11-03,18:30,21:30,done,caf\xe9 \x81\n"}, []string{"log-encoding sessions.csv", "log-encoding-broken sessions.csv"}},
		{"unknown file", map[string]string{"sessions.csv": row(), "reading.csv": "x"}, []string{"log-file-unknown reading.csv"}},
		{"second ending", map[string]string{"sessions.csv": row(), "readings.csv.txt": "x"}, []string{"log-file-unknown readings.csv.txt"}},
		{"another ending", map[string]string{"sessions.csv": row(), "Labs (1).tsv": "x", "session-photos.txt": "x"}, []string{"log-file-unknown Labs (1).tsv"}},
		{"unknown session", map[string]string{"sessions.csv": row(), "readings.csv": readingHeads + "b,19:00,,140\n"}, []string{"log-session-unknown readings.csv A2 (session)"}},
		{"no session", map[string]string{"sessions.csv": row(), "readings.csv": readingHeads + ",19:00,,140\n"}, []string{"log-cell-missing readings.csv A2 (session)"}},
		{"no time", map[string]string{"sessions.csv": row(), "readings.csv": readingHeads + "a,,,140\n"}, []string{"log-time-missing readings.csv B2 (time)"}},
		{"marker misspelt", map[string]string{"sessions.csv": row(), "readings.csv": readingHeads + "a,19:00,befor,140\n"}, []string{"log-choice readings.csv C2 (clock_change)"}},
		{"doses without the columns for them", map[string]string{"sessions.csv": row(), "medicines.csv": "session,time,medicine\na,18:35,heparin\n"}, nil},
		{"dose without a column for its unit", map[string]string{"sessions.csv": row(), "medicines.csv": "session,time,medicine,dose\na,18:35,heparin,2000\n"}, []string{"log-cell-missing medicines.csv row 2"}},
		{"dose without unit", map[string]string{"sessions.csv": row(), "medicines.csv": "session,time,medicine,dose,dose_unit\na,18:35,heparin,2000,\n"}, []string{"log-cell-missing medicines.csv E2 (dose_unit)"}},
		{"unknown unit", map[string]string{"sessions.csv": row(), "medicines.csv": "session,time,medicine,dose,dose_unit\na,18:35,heparin,2000,U\n"}, []string{"log-unit medicines.csv E2 (dose_unit)"}},
		{"infusion that ends before it begins", map[string]string{"sessions.csv": row(), "medicines.csv": "session,time,medicine,dose,dose_unit,until\na,18:35,heparin,2000,IU,2025-11-03 18:00\n"}, []string{"log-end-before-start medicines.csv F2 (until)"}},
		{"unknown test", map[string]string{"sessions.csv": row(), "labs.csv": "session,drawn_time,when,test,value,unit\na,18:20,before,potasium,5.3,mmol/L\n"}, []string{"log-test-name labs.csv D2 (test)"}},
		{"unknown laboratory unit", map[string]string{"sessions.csv": row(), "labs.csv": "session,drawn_time,when,test,value,unit\na,18:20,before,urea,22,mmol\n"}, []string{"log-unit labs.csv F2 (unit)"}},
		{"check in words", map[string]string{"sessions.csv": row(), "checks.csv": "session,what,value,unit\na,total chlorine,0.05,per cent\n"}, []string{"log-check-words checks.csv C2 (value)"}},
		{"prescription of no name", map[string]string{"sessions.csv": "session,date,start,end,status,prescription\na,2025-11-03,18:30,21:30,done,holiday\n"}, []string{"log-prescription-unknown sessions.csv F2 (prescription)"}},
		{"zone of no list", map[string]string{"sessions.csv": "session,date,start,end,status,time_zone\na,2025-11-03,18:30,21:30,done,Madeira\n"}, []string{"log-time-zone sessions.csv F2 (time_zone)"}},
		{"zone not known", map[string]string{"sessions.csv": "session,date,start,end,status,time_zone\na,2025-11-03,18:30,21:30,done,?\n"}, []string{"log-time-zone sessions.csv F2 (time_zone)"}},
		{"event without a word", map[string]string{"sessions.csv": row(), "events.csv": "session,time,kind,what\na,19:20,alarm,\n"}, []string{"log-cell-missing events.csv D2 (what)"}},

		{"no log.toml value", map[string]string{aboutFile: strings.Replace(aboutOK, `identifier_value = "HHD-1"`, "", 1), "sessions.csv": row()}, []string{"about-identifier log.toml row 8 (patient.identifier_value)"}},
		{"bare identifier system", map[string]string{aboutFile: strings.Replace(aboutOK, `"urn:oid:2.25.1234"`, `"our clinic"`, 1), "sessions.csv": row()}, []string{"about-identifier log.toml row 9 (patient.identifier_system)"}},
		{"sex that is no word for it", map[string]string{aboutFile: strings.Replace(aboutOK, `sex = "female"`, `sex = "yes"`, 1), "sessions.csv": row()}, []string{"about-value log.toml row 11 (patient.sex)"}},
		{"no zone", map[string]string{aboutFile: strings.Replace(aboutOK, "Europe/London", "Local", 1), "sessions.csv": row()}, []string{"about-time-zone log.toml row 5 (log.time_zone)"}},
		{"no id", map[string]string{aboutFile: strings.Replace(aboutOK, "0b2f3f8e-", "", 1), "sessions.csv": row()}, []string{"about-log-id log.toml row 4 (log.id)"}},
		{"later format", map[string]string{aboutFile: strings.Replace(aboutOK, "format = 1", "format = 2", 1), "sessions.csv": row()}, []string{"about-format log.toml row 3 (log.format)"}},
		{"unknown name", map[string]string{aboutFile: strings.Replace(aboutOK, "height_cm", "hight_cm", 1), "sessions.csv": row()}, []string{"about-unknown log.toml row 13 (patient.hight_cm)"}},
		{"unknown table", map[string]string{aboutFile: aboutOK + "[medicine]\nname = \"x\"\n", "sessions.csv": row()}, []string{"about-unknown log.toml row 19 (medicine)"}},
		{"no TOML", map[string]string{aboutFile: "[log\nformat = 1\n", "sessions.csv": row()}, []string{"about-syntax log.toml row 1"}},
		{"name twice in TOML", map[string]string{aboutFile: strings.Replace(aboutOK, "format = 1", "format = 1\nformat = 1", 1), "sessions.csv": row()}, []string{"about-syntax log.toml row 4"}},
		{"number in words", map[string]string{aboutFile: strings.Replace(aboutOK, "70.50", `"seventy"`, 1), "sessions.csv": row()}, []string{"about-number log.toml row 17 (prescription.dry_weight_kg)"}},
		{"number with exponent", map[string]string{aboutFile: strings.Replace(aboutOK, "70.50", "7e1", 1), "sessions.csv": row()}, []string{"about-number log.toml row 17 (prescription.dry_weight_kg)"}},
		{"two prescriptions from one day", map[string]string{aboutFile: aboutOK + "\n[[prescription]]\nvalid_from = 2025-01-01\n", "sessions.csv": row()}, []string{"about-same-day log.toml row 21 (prescription.valid_from)"}},
		{"prescription without a day", map[string]string{aboutFile: strings.Replace(aboutOK, "valid_from = 2025-01-01", "", 1), "sessions.csv": row()}, []string{"about-required log.toml row 14 (prescription.valid_from)"}},
		{"birth date that is none", map[string]string{aboutFile: strings.Replace(aboutOK, "1961-02-03", `"1961"`, 1), "sessions.csv": row()}, []string{"about-date log.toml row 12 (patient.birth_date)"}},
	}
	raised := map[string]bool{"log-file-missing": true, "log-more": true, "log-too-large": true, "log-time-order": true,
		"log-row-empty": true, "log-answer-void": true, "log-answer-reason": true, "log-time-marker": true, "log-dialyser-unknown": true, "log-unit-in-cell": true, "log-date-time": true, "log-weekday": true, "log-record": true, "about-empty": true, "log-form-item": true} // in tests of their own
	for _, rule := range []string{"log-cell-error", "log-cell-comment", "log-cell-rounded", "log-cell-struck", "log-heading-unit", "log-formula", "log-formula-empty", "log-formula-stale", "log-heading-changed",
		"log-merged", "log-sheet-hidden", "log-sheet-missing", "log-sheet-unknown", "log-workbook"} {
		raised[rule] = true // in the tests of package workbook
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			log, findings := read(t, tt.files)
			got := said(findings)
			if !slices.Equal(got, tt.want) {
				t.Errorf("found %q, want %q", got, tt.want)
			}
			for _, f := range findings {
				raised[f.Rule] = true
				if f.Value != "" && len(f.Value) > 3 && strings.Contains(f.Details.String(), f.Value) && !strings.HasPrefix(f.Rule, "about-") {
					t.Errorf("details hold the value: %q", f.Details)
				}
				if strings.HasSuffix(f.Details.String(), ".") || f.Details.String() == "" {
					t.Errorf("details %q", f.Details)
				}
			}
			checkBroken(t, log, findings)
		})
	}
	for _, r := range issue.Rules() {
		if r.Layer == issue.LayerLog && !raised[r.ID] && !strings.HasPrefix(r.ID, "map-") { // those are in the tests of package columnmap
			t.Errorf("no test raises %s", r.ID)
		}
	}
}

// checkBroken holds that a session is broken if and only if an error names
// it, or one is about the whole log.
func checkBroken(t *testing.T, log *Log, findings []issue.Finding) {
	t.Helper()
	all := false
	named := map[string]bool{}
	for _, f := range findings {
		if f.Severity == issue.Error {
			named[f.Session] = true
			all = all || strings.HasPrefix(f.Rule, "about-") || f.Rule == "log-not-csv" || f.Rule == "log-heading-missing"
		}
	}
	for _, one := range log.Sessions {
		if want := all || named[one.ID] && one.ID != ""; one.Broken != want && one.ID != "" {
			t.Errorf("session %s: broken %v, want %v", one.ID, one.Broken, want)
		}
	}
}

func TestInformationIsNoComplaint(t *testing.T) {
	_, findings := read(t, map[string]string{
		"sessions.csv": "session,date,start,end,status,clock_change,weight_before_kg\na,2025-11-03,18:30,21:30,done,before,72.6 kg\n,,,,,,\n",
	})
	var got []string
	for _, f := range findings {
		if f.Severity == issue.Information {
			got = append(got, f.Rule)
		}
	}
	slices.Sort(got)
	if want := []string{"log-row-empty", "log-time-marker", "log-unit-in-cell"}; !slices.Equal(got, want) || len(said(findings)) > 0 {
		t.Errorf("found %q, want %q", got, want)
	}
}

func TestFilesMissing(t *testing.T) {
	folder := logOf(nil)
	_, findings, err := ReadFS(folder, Options{})
	if err != nil || !slices.Equal(said(findings), []string{"log-file-missing sessions.csv"}) {
		t.Errorf("without sessions.csv: %q, %v", said(findings), err)
	}
	delete(folder, aboutFile)
	if _, _, err := ReadFS(folder, Options{}); !errors.Is(err, ErrNoLog) {
		t.Errorf("empty folder: %v", err)
	}
	folder = logOf(map[string]string{"sessions.csv": row()})
	delete(folder, aboutFile)
	log, findings, err := ReadFS(folder, Options{})
	if err != nil || !slices.Equal(said(findings), []string{"log-file-missing log.toml"}) || !log.Sessions[0].Broken {
		t.Errorf("without log.toml: %q, %v", said(findings), err)
	}
}

func TestCouldNotRead(t *testing.T) {
	dir := t.TempDir()
	if _, _, err := ReadFolder(filepath.Join(dir, "none"), Options{}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no folder: %v", err)
	}
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, err := ReadFolder(file, Options{}); err == nil || strings.Count(err.Error(), file) != 1 {
		t.Errorf("a file for a folder: %v", err)
	}
	if err := os.Mkdir(filepath.Join(dir, "sessions.csv"), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, _, err := ReadFolder(dir, Options{}); err == nil {
		t.Error("a folder named sessions.csv was read")
	}
}

// forbidden is a folder whose named file the system refuses to open, as it
// refuses one without permission; root could read that one all the same.
type forbidden struct {
	fs.FS
	name string
}

func (f forbidden) Open(name string) (fs.File, error) {
	if name == f.name {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrPermission}
	}
	return f.FS.Open(name)
}

func TestNoPermission(t *testing.T) {
	files := logOf(map[string]string{"sessions.csv": row()})
	for _, name := range []string{"sessions.csv", "log.toml", "."} {
		if _, _, err := ReadFS(forbidden{files, name}, Options{}); !errors.Is(err, fs.ErrPermission) {
			t.Errorf("%s without permission: %v", name, err)
		}
	}
}

func TestLimits(t *testing.T) {
	one := "b,2025-11-03,18:30,21:30,done,72.6,135\n"
	rows := maxCells / (rowCells + 7)
	readings := "session,time,pulse_per_min\n" + strings.Repeat("b,18:40,70\n", rows/2)
	for name, files := range map[string]map[string]string{
		"log-too-large sessions.csv row 32610": {"sessions.csv": heads + strings.Repeat(one, rows+1)},
		"log-too-large readings.csv row 19738": {"sessions.csv": heads + strings.Repeat(one, rows/2+1), "readings.csv": readings + strings.Repeat("b,18:50,70\n", rows)},
		"log-too-large sessions.csv row 46877": {"sessions.csv": heads + strings.Repeat(",,,,,,\n", maxCells/rowCells+1)},
		"log-too-large sessions.csv":           {"sessions.csv": heads + one + strings.Repeat(" ", MaxBytes)},
		"log-too-large readings.csv":           {"sessions.csv": heads + one + strings.Repeat(" ", MaxBytes/2), "readings.csv": readings + strings.Repeat(" ", MaxBytes/2)},
	} {
		log, findings := read(t, files)
		if got := said(findings); !slices.Equal(got, []string{name}) || len(log.Sessions) > 0 {
			t.Errorf("found %q and %d sessions, want %s and none", got, len(log.Sessions), name)
		}
		if _, _, err := ReadGrid(logOf(files)); err == nil {
			t.Errorf("%s: a log that is too large was copied as far as it was read", name)
		}
	}
	wide := "session" + strings.Repeat(",x", 5000) + "\n"
	if _, findings := read(t, map[string]string{"sessions.csv": wide}); len(findings) > 3 {
		t.Errorf("%d findings for one very wide row", len(findings))
	}
	long := row() + strings.Repeat("b,2025-13-03,18:30,21:30,done,72.6,135\n", 3000)
	_, findings := read(t, map[string]string{"sessions.csv": long})
	listed := 0
	for _, f := range findings {
		if f.Rule == "log-date" {
			listed++
		}
	}
	more := findings[slices.IndexFunc(findings, func(f issue.Finding) bool {
		return f.Rule == "log-more" && strings.Contains(f.Details.String(), "log-date")
	})]
	if listed != maxOfOneRule || !strings.Contains(more.Details.String(), "2000 more") {
		t.Errorf("%d listed, %q", listed, more.Details)
	}
}

// TestEncodingsAndDelimiters reads the same rows in every dialect.
func TestEncodingsAndDelimiters(t *testing.T) {
	plain := "session,date,start,end,status,weight_before_kg,notes\r\na,2025-11-03,18:30,21:30,done,72.50,Zoë\r\n"
	units := utf16.Encode([]rune("\uFEFF" + plain))
	le, be := make([]byte, 0), make([]byte, 0)
	for _, u := range units {
		le = append(le, byte(u), byte(u>>8))
		be = append(be, byte(u>>8), byte(u))
	}
	comma := strings.ReplaceAll(strings.ReplaceAll(plain, ",", ";"), "72.50", "72,50")
	about := strings.Replace(aboutOK, `decimal_mark = "."`, "", 1)
	tests := map[string]struct {
		text, encoding string
		delimiter      rune
		mark           rune
	}{
		"utf-8":                {plain, "utf-8", ',', '.'},
		"utf-8 with BOM":       {"\uFEFF" + plain, "utf-8", ',', '.'},
		"utf-16le":             {string(le), "utf-16le", ',', '.'},
		"utf-16be":             {string(be), "utf-16be", ',', '.'},
		"windows-1252":         {strings.Replace(plain, "ë", "\xeb", 1), "windows-1252", ',', '.'},
		"semicolon and comma":  {comma, "utf-8", ';', ','},
		"tab":                  {strings.ReplaceAll(plain, ",", "\t"), "utf-8", '\t', '.'},
		"sep line":             {"sep=;\r\n" + comma, "utf-8", ';', ','},
		"headings in capitals": {strings.Replace(plain, "session,date,start", " Session ,DATE,\"Start\"", 1), "utf-8", ',', '.'},
		"old line ends":        {strings.ReplaceAll(plain, "\r\n", "\r"), "utf-8", ',', '.'},
	}
	for name, tt := range tests {
		log, findings := read(t, map[string]string{aboutFile: about, "sessions.csv": tt.text})
		for _, f := range said(findings) {
			if f != "log-encoding sessions.csv" {
				t.Errorf("%s: %s", name, f)
			}
		}
		one := log.Sessions[0]
		if got := one.Value("weight_before").Decimal.String(); got != "72.50" {
			t.Errorf("%s: weight %q", name, got)
		}
		if got := one.Texts["notes"].Text; got != "Zoë" {
			t.Errorf("%s: notes %q", name, got)
		}
		source := log.Sources[1]
		if source.Encoding != tt.encoding || source.Delimiter != tt.delimiter || source.DecimalMark != tt.mark || source.Rows != 1 || len(source.SHA256) != 64 {
			t.Errorf("%s: source %+v", name, source)
		}
	}
}

// TestDecimalMarkPerFile settles the mark once for a file: never by the cell.
func TestDecimalMarkPerFile(t *testing.T) {
	about := strings.Replace(aboutOK, `decimal_mark = "."`, "", 1)
	three := "session;date;start;end;status;weight_before_kg;uf_removed_l\n"
	tests := []struct {
		name, rows string
		want       []string
		weight     string
	}{
		{"commas", "a;2025-11-03;18:30;21:30;done;72,6;2,150\n", nil, "72.6"},
		{"only three digits behind", "a;2025-11-03;18:30;21:30;done;72;2,150\n", []string{"log-decimal-mark sessions.csv G2 (uf_removed_l)"}, "72"},
		{"nought before three digits", "a;2025-11-03;18:30;21:30;done;72;0,950\n", nil, "72"},
		{"both, points more", "a;2025-11-03;18:30;21:30;done;72.6;2,15\nb;2025-11-04;18:30;21:30;done;72.1;2.15\n", []string{"log-decimal-mark sessions.csv G2 (uf_removed_l)"}, "72.6"},
		{"both alike", "a;2025-11-03;18:30;21:30;done;72.6;2,15\n", []string{"log-decimal-mark sessions.csv F2 (weight_before_kg)", "log-decimal-mark sessions.csv G2 (uf_removed_l)"}, ""},
		{"both in one number", "a;2025-11-03;18:30;21:30;done;1.072,6;2,15\n", []string{"log-thousands sessions.csv F2 (weight_before_kg)"}, ""},
		{"none", "a;2025-11-03;18:30;21:30;done;72;2\n", nil, "72"},
	}
	for _, tt := range tests {
		log, findings := read(t, map[string]string{aboutFile: about, "sessions.csv": three + tt.rows})
		if got := said(findings); !slices.Equal(got, tt.want) {
			t.Errorf("%s: found %q, want %q", tt.name, got, tt.want)
		}
		if got := log.Sessions[0].Value("weight_before").Decimal.String(); got != tt.weight {
			t.Errorf("%s: weight %q, want %q", tt.name, got, tt.weight)
		}
	}
}

func TestAbsencesAreDifferent(t *testing.T) {
	for text, want := range map[string]Absence{
		"": NotRecorded, "-": NotRecorded, "–": NotRecorded, "n/a": NotApplicable, "NA": NotApplicable,
		"?": AskedUnknown, "not done": NotDone, "Not  Done": NotDone, "0": Present, "none": Unreadable,
	} {
		log, _ := read(t, map[string]string{"sessions.csv": row("2025-11-03", "18:30", "21:30", "done", text)})
		v := log.Sessions[0].Value("weight_before")
		if v.Absence != want || v.Text != text || v.Cell.String() != "sessions.csv F2 (weight_before_kg)" {
			t.Errorf("%q: %+v, want absence %d", text, v, want)
		}
	}
}

func TestRowsAfterLineBreaksInCells(t *testing.T) {
	_, findings := read(t, map[string]string{"sessions.csv": "session,date,start,end,status,notes\n" +
		"a,2025-11-03,18:30,21:30,done,\"two\nlines\"\n\nb,2025-11-04,18:30,25:30,done,x\n"})
	if len(findings) != 1 {
		t.Fatalf("found %q", said(findings))
	}
	// A spreadsheet shows the second session in row 4: heading, first session,
	// empty row. An editor shows it in line 5.
	if f := findings[0]; f.Cells[0].Row != 4 || f.Line != 5 || f.Column != 20 {
		t.Errorf("at %s, line %d, column %d", f.Cells[0], f.Line, f.Column)
	}
}

func TestDerivedNames(t *testing.T) {
	log, findings := read(t, map[string]string{"sessions.csv": heads +
		",2025-11-03,08:30,10:30,done,72.6,135\n,2025-11-03,18:30,7:5,done,72.6,135\n2025-11-04-1,2025-11-04,18:30,21:30,done,72.6,135\n,2025-11-04,12:30,14:30,done,72.6,135\n"})
	var got []string
	for _, one := range log.Sessions {
		got = append(got, one.ID)
	}
	if want := []string{"2025-11-03-1", "2025-11-03-2", "2025-11-04-2", "2025-11-04-1"}; !slices.Equal(got, want) {
		t.Errorf("names %q, want %q", got, want)
	}
	for _, f := range findings {
		if f.Session == "" {
			t.Errorf("%s names no session", f.Rule)
		}
	}
}

// A number alone in its row may be the end of a column that slipped down, so the
// row is not simply to be taken out.
func TestALoneNumberMayHaveSlipped(t *testing.T) {
	for text, want := range map[string]string{
		",,,140\n": "look whether a cell was put into this column further up", ",,130,140\n": "take the row out", "Sum,,,140\n": "take the row out",
	} {
		_, findings := read(t, map[string]string{"sessions.csv": row(), "readings.csv": "session,time,arterial_pressure_mmhg,venous_pressure_mmhg\na,19:00,,140\n" + text})
		at := slices.IndexFunc(findings, func(f issue.Finding) bool { return f.Rule == "log-row-foreign" })
		if at < 0 || !strings.HasPrefix(findings[at].Mend.String(), want) {
			t.Errorf("%q: %v", text, findings)
		}
	}
}
