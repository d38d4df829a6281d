package session

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/validate/issue"
)

// drawnCell is a cell of a random log and what must be read from it.
type drawnCell struct {
	text    string
	absence Absence
}

func drawNumber(t *rapid.T, mark string) drawnCell {
	return rapid.OneOf(
		rapid.Just(drawnCell{"", NotRecorded}),
		rapid.Just(drawnCell{"-", NotRecorded}),
		rapid.Just(drawnCell{"?", AskedUnknown}),
		rapid.Just(drawnCell{"n/a", NotApplicable}),
		rapid.Just(drawnCell{"not done", NotDone}),
		rapid.Custom(func(t *rapid.T) drawnCell {
			text := fmt.Sprint(rapid.IntRange(-999, 999).Draw(t, "whole"))
			if digits := rapid.StringMatching(`[0-9]{0,3}`).Draw(t, "digits"); digits != "" {
				text += mark + digits
			}
			return drawnCell{text, Present}
		}),
	).Draw(t, "number")
}

// TestRoundTrip writes random logs in every dialect and reads every value,
// text and absence back as written.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mark := rapid.SampledFrom([]string{".", ","}).Draw(t, "mark")
		delimiter := rapid.SampledFrom([]rune{',', ';', '\t'}).Draw(t, "delimiter")
		var columns []Column
		for _, c := range Columns {
			// The second column of a field in another unit has a rule of its
			// own; times and choices have their own tests.
			number := c.Kind == KindNumber && c.Name != "dialysate_flow_l_h"
			text := c.Kind == KindText && c.Name != "reason"
			if c.Sheet == SheetSessions && (c.Required || number || text) {
				columns = append(columns, c)
			}
		}
		columns = rapid.Permutation(columns).Draw(t, "columns")
		words := rapid.StringMatching(`[a-zäé€0-9,;. "'\n]{0,20}`)

		var rows [][]string
		var want [][]drawnCell
		for i := range rapid.IntRange(1, 6).Draw(t, "rows") {
			var record []string
			var cells []drawnCell
			for _, c := range columns {
				cell := drawnCell{absence: Present}
				switch c.Name {
				case "session":
					cell.text = fmt.Sprintf("s%d", i)
				case "date":
					cell.text = fmt.Sprintf("2025-11-%02d", i+1)
				case "start":
					cell.text = "18:30"
				case "end":
					cell.text = "21:45"
				case "status":
					cell.text = "done"
				case "prescription", "time_zone":
					cell.absence = NotRecorded // names one of log.toml, or of the IANA list
				default:
					if c.Kind == KindNumber {
						cell = drawNumber(t, mark)
					} else {
						cell.text = strings.TrimSpace(words.Draw(t, "words"))
						cell.absence, _ = absenceOf(cell.text)
					}
				}
				record, cells = append(record, cell.text), append(cells, cell)
			}
			rows, want = append(rows, record), append(want, cells)
		}

		var file bytes.Buffer
		w := csv.NewWriter(&file)
		w.Comma = delimiter
		header := make([]string, len(columns))
		for i, c := range columns {
			header[i] = c.Name
		}
		if err := w.WriteAll(append([][]string{header}, rows...)); err != nil {
			t.Fatal(err)
		}
		about := strings.Replace(aboutOK, `decimal_mark = "."`, fmt.Sprintf("decimal_mark = %q", mark), 1)
		about = strings.Replace(about, "dialysate_flow_l_h = \"10.0\"\n", "", 1)
		folder := logOf(map[string]string{aboutFile: about, "sessions.csv": file.String()})
		log, findings, err := ReadFS(folder, Options{})
		if err != nil || issue.HasErrors(findings) || len(log.Sessions) != len(rows) {
			t.Fatalf("%v, %v, %d sessions of %d", err, findings, len(log.Sessions), len(rows))
		}
		for i, one := range log.Sessions {
			for j, c := range columns {
				text, absence := fieldOf(one, c)
				if text != want[i][j].text || absence != want[i][j].absence {
					t.Fatalf("row %d %s: %q %d, want %q %d", i, c.Name, text, absence, want[i][j].text, want[i][j].absence)
				}
			}
		}
		again, findingsAgain, err := ReadFS(folder, Options{})
		if err != nil || !reflect.DeepEqual(log.Sessions, again.Sessions) || !reflect.DeepEqual(findings, findingsAgain) {
			t.Fatal("reading twice gives two logs")
		}
	})
}

func fieldOf(one *Session, c Column) (string, Absence) {
	switch {
	case c.Kind == KindNumber:
		v := one.Value(c.Field)
		return v.Text, v.Absence
	case c.Name == "session":
		return one.ID, Present
	case c.Name == "date":
		return one.Date.Text, one.Date.Absence
	case c.Name == "start":
		return strings.TrimPrefix(one.Start.Text, one.Date.Text+" "), one.Start.Absence
	case c.Name == "end":
		return strings.TrimPrefix(one.End.Text, one.Date.Text+" "), one.End.Absence
	default:
		return one.Texts[c.Field].Text, one.Texts[c.Field].Absence
	}
}
