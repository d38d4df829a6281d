package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/validate/issue"
)

// month is an honest month with sessions named by their day, the row of one
// session in the middle of it, its name, and its readings.
type month struct {
	t        *testing.T
	s, r     *sheetOf
	row      int
	name     string
	readings []int
	others   map[string]string
	// at and heading are the cell to be told.
	at      int
	heading string
}

func newMonth(t *testing.T) *month {
	folder := monthOf(honest[0], 105)
	m := &month{t: t, s: open(t, folder, sessionsFile), r: open(t, folder, readingsFile), others: map[string]string{"log.toml": string(folder["log.toml"].Data)}}
	for i, row := range m.s.rows[1:] {
		m.s.rows[i+1][0] = "2025-" + row[0]
	}
	m.row = m.s.heldRow(t, 8)
	m.name = m.s.rows[m.row-1][0]
	m.r.rows[0] = append(m.r.rows[0], "blood_flow_ml_min")
	for i, row := range m.r.rows[1:] {
		row[0] = "2025-" + row[0]
		m.r.rows[i+1] = append(row, "350")
		if row[0] == m.name {
			m.readings = append(m.readings, i+2)
		}
	}
	return m
}

func (m *month) session(row int, heading string) *string {
	m.at, m.heading = row, heading
	return m.s.cell(m.t, row, heading)
}

func (m *month) reading(n int, heading string) *string {
	m.at, m.heading = m.readings[n], heading
	return m.r.cell(m.t, m.readings[n], heading)
}

// clock is a time of the session, moved by some hours.
func (m *month) clock(heading string, hours float64) string {
	at, err := time.Parse("15:04", *m.s.cell(m.t, m.row, heading))
	if err != nil {
		m.t.Fatal(err)
	}
	return at.Add(time.Duration(hours * float64(time.Hour))).Format("15:04")
}

// day is a day so many after that of the session.
func (m *month) day(days int) string {
	day, err := time.Parse(time.DateOnly, m.name)
	if err != nil {
		m.t.Fatal(err)
	}
	return day.AddDate(0, 0, days).Format(time.DateOnly)
}

// another puts one row into a sheet of its own, and tells the heading.
func (m *month) another(file, headings, row, heading string) {
	m.others[file] = headings + "\n" + row + "\n"
	m.at, m.heading = strings.Count(row, "\n")+2, heading
}

const labHeadings = "session,drawn_date,drawn_time,when,test,value,unit"

func (m *month) sample(days int, hours float64, named string) string {
	return fmt.Sprintf("%s,%s,%s,after,potassium,3.6,mmol/L", named, m.day(days), m.clock("end", hours))
}

func (m *month) held(n int) int { return m.s.heldRow(m.t, n) }

func (m *month) columnOf(heading string) (cells []*string) {
	for row := range m.s.rows {
		if slices.Contains(m.s.rows[row], "done") {
			cells = append(cells, m.s.cell(m.t, row+1, heading))
		}
	}
	return cells
}

func TestSlipsOfPlaceAndTime(t *testing.T) {
	tests := []struct {
		name, rule, expected string
		change               func(m *month)
	}{
		{"none", "", "", func(*month) {}},
		{"start and end half a day off", "clin-clock", "perhaps 18:", func(m *month) {
			*m.session(m.row, "end") = m.clock("end", 12)
			*m.session(m.row, "start") = m.clock("start", 12)
		}},
		{"digits of a flow exchanged", "clin-unlike-own", "perhaps 350", func(m *month) { *m.session(m.row, "blood_flow_ml_min") = "305" }},
		{"a digit wrong in a flow", "clin-unlike-own", "perhaps 350", func(m *month) { *m.session(m.row, "blood_flow_ml_min") = "450" }},
		{"a digit lost in a reading", "clin-decimal-point", "perhaps 350", func(m *month) { *m.reading(1, "blood_flow_ml_min") = "35" }},
		{"a digit lost in the lower pressure", "clin-impossible", "perhaps 70 to 79", func(m *month) { *m.reading(1, "bp_diastolic_mmhg") = "7" }},
		{"litres so far as millilitres", "clin-litres", "perhaps 0.04", func(m *month) {
			for i := range m.readings {
				*m.reading(i, "uf_so_far_l") = fmt.Sprint(40 + 300*i)
			}
			m.reading(0, "uf_so_far_l")
		}},
		{"digits of a weight exchanged", "clin-uf-weights", "perhaps 7", func(m *month) {
			*m.session(m.row, "uf_removed_l"), *m.session(m.row, "weight_after_kg") = "2.35", "70.5"
			*m.session(m.row, "drinks_l"), *m.session(m.row, "rinseback_l") = "0.3", "0.25"
			*m.session(m.row, "weight_before_kg") = "67.3" // and not 76.3, nor 63.7
			*m.session(m.row, "weight_before_kg"), *m.session(m.row, "weight_after_kg") = "72.3", "75.0"
			*m.session(m.row, "weight_after_kg") = "75.0"
		}},
		{"sample in the morning", "clin-sample-time", "perhaps 21:", func(m *month) {
			m.another(labsFile, labHeadings, m.sample(0, -12, m.name), "drawn_time")
		}},
		{"sample in the morning after", "clin-sample-time", "perhaps 2025-10-30 21:", func(m *month) {
			m.another(labsFile, labHeadings, m.sample(1, -12, m.name), "drawn_time")
		}},
		{"sample a day early", "clin-sample-time", "perhaps 2025-", func(m *month) {
			before := strings.Replace(m.sample(0, -4, m.name), "after", "before", 1)
			m.another(labsFile, labHeadings, before+"\n"+m.sample(-1, 0, m.name), "drawn_date")
		}},
		{"sample under another session", "clin-sample-time", "perhaps 2025-", func(m *month) {
			m.another(labsFile, labHeadings, m.sample(0, 0.1, *m.session(m.held(10), "session")), "session")
		}},
		{"infusion after the end", "clin-outside-session", "a time from", func(m *month) {
			m.another(medicinesFile, "session,time,medicine,kind,dose,dose_unit,until",
				fmt.Sprintf("%s,%s,heparin,anticoagulant,2500,IU,%s", m.name, m.clock("start", 0), m.clock("end", 2)), "until")
		}},
		{"alarm in the morning", "clin-outside-session", "perhaps 19:", func(m *month) {
			m.another("events.csv", "session,time,kind,what", fmt.Sprintf("%s,%s,alarm,air", m.name, m.clock("start", 13)), "time")
		}},
		{"times of readings exchanged", "clin-uf-falls", "perhaps 19:", func(m *month) {
			a, b := m.reading(2, "time"), m.reading(1, "time")
			*a, *b = *b, *a
		}},
		{"reading shifted to the left", "log-row-shifted", "", func(m *month) {
			m.reading(1, "bp_systolic_mmhg")
			row := &m.r.rows[m.at-1]
			*row = append(slices.Delete(slices.Clone(*row), 3, 4), "")
		}},
		{"reading shifted to the right", "log-row-shifted", "", func(m *month) {
			m.reading(1, "bp_systolic_mmhg")
			row := &m.r.rows[m.at-1]
			*row = slices.Insert(slices.Clone(*row)[:len(*row)-1], 3, "")
		}},
		{"name of a session mistyped", "log-session-unknown", "perhaps 2025-", func(m *month) { *m.session(m.row, "session") = m.name[:8] + "71" }},
		{"name of the row above", "log-session-twice", "perhaps 2025-", func(m *month) {
			*m.session(m.row, "session") = *m.s.cell(m.t, m.held(7), "session")
		}},
		{"not done marked as done", "clin-done-short", "perhaps not done", func(m *month) {
			m.s.rows = append(m.s.rows, append([]string{"2025-11-02", "2025-11-02", "", "", "", "done", "felt ill"}, make([]string, 16)...))
			m.session(len(m.s.rows), "status")
		}},
		{"reading of a day not done", "clin-not-done", "perhaps 2025-", func(m *month) {
			m.s.rows = append(m.s.rows, append([]string{"2025-11-02", "2025-11-02", "", "", "", "not done", "felt ill"}, make([]string, 16)...))
			*m.reading(0, "session") = "2025-11-02"
		}},
		{"weights sorted alone", "month-column-alone", "", func(m *month) {
			cells := m.columnOf("weight_before_kg")
			var texts []string
			for _, cell := range cells {
				texts = append(texts, *cell)
			}
			slices.Sort(texts)
			for i, cell := range cells {
				*cell = texts[len(texts)-1-i]
			}
			m.session(m.held(1), "weight_before_kg")
		}},
		{"dates sorted alone", "month-column-alone", "perhaps 2025-", func(m *month) {
			rows := m.s.rows[1:]
			for i := range len(rows) / 2 {
				a, b := m.session(i+2, "date"), m.s.cell(m.t, len(rows)-i+1, "date")
				*a, *b = *b, *a
			}
			m.session(2, "date")
		}},
		{"fluid removed slipped up", "month-column-slipped", "", func(m *month) {
			rows := len(m.s.rows)
			for row := m.row; row < rows; row++ {
				*m.session(row, "uf_removed_l") = *m.s.cell(m.t, row+1, "uf_removed_l")
			}
			*m.session(rows, "uf_removed_l") = ""
			m.at = 0
		}},
		{"starts dragged down", "month-copied", "the times the readings say", func(m *month) {
			second, third := m.held(9), m.held(10)
			*m.s.cell(m.t, third, "start"), *m.s.cell(m.t, third, "end") = m.clock("start", 2), "10:40"
			*m.session(second, "start") = m.clock("start", 1)
			at := time.Date(2025, 1, 1, 8, 0, 0, 0, time.UTC)
			for _, row := range m.r.rows[1:] {
				if row[0] == m.s.rows[third-1][0] {
					row[1] = at.Format("15:04")
					at = at.Add(30 * time.Minute)
				}
			}
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := newMonth(t)
			tt.change(m)
			folder := fstest.MapFS{}
			for file, text := range m.others {
				folder[file] = &fstest.MapFile{Data: []byte(text)}
			}
			m.s.save(folder, sessionsFile)
			m.r.save(folder, readingsFile)
			findings := checkFolder(t, folder)
			told := func(f issue.Finding) bool {
				return f.Rule == tt.rule && (m.at == 0 || f.Cells[0].Row == m.at) && f.Cells[0].Heading == m.heading && strings.HasPrefix(f.Expected.String(), tt.expected)
			}
			if tt.rule == "" && len(findings) == 0 {
				return
			}
			once := len(findings) == 1 || tt.rule == "clin-litres" || tt.rule == "month-column-slipped"
			if !once || !slices.ContainsFunc(findings, told) {
				t.Errorf("want %s at %s %d", tt.rule, m.heading, m.at)
				for _, f := range findings {
					t.Errorf("found %s at %v: %q, %s, expected %q", f.Rule, f.Cells, f.Value, f.Details, f.Expected)
				}
			}
		})
	}
}

// A date whose digits are exchanged is told where the order of the rows shows it.
func TestDateOutOfOrder(t *testing.T) {
	folder := monthOf(honest[0], 105)
	s := open(t, folder, sessionsFile)
	for i, row := range s.rows {
		if row[1] != "2025-11-10" {
			continue
		}
		row[1] = "2025-11-01"
		s.save(folder, sessionsFile)
		cell := issue.Cell{File: sessionsFile, Row: i + 1, Column: 2, Heading: "date"}
		wantFinding(t, folder, cell, "month-date-name", "", "perhaps 2025-11-10")
	}
}

func TestOneSlipOfThePen(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want bool
	}{
		{"303", "330", true}, {"180", "80", true}, {"22", "220", true}, {"305", "350", true}, {"310", "330", true},
		{"330", "330", false}, {"300", "250", false}, {"33", "303", true}, {"1", "300", false}, {"", "3", true},
	} {
		if oneSlip(tt.a, tt.b) != tt.want || oneSlip(tt.b, tt.a) != tt.want {
			t.Errorf("%s and %s: want %v", tt.a, tt.b, tt.want)
		}
	}
}
