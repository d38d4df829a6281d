package adequacy

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"strings"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/validate/issue"
)

// Row is one computed value for machines.
type Row struct {
	Session  string   `json:"session"`
	Date     string   `json:"date"`
	Key      string   `json:"key"`
	When     string   `json:"when,omitempty"`
	Quantity string   `json:"quantity"`
	Value    string   `json:"value,omitempty"`
	Unit     string   `json:"unit"`
	Method   string   `json:"method"`
	WhyNot   string   `json:"whyNot,omitempty"`
	Explain  string   `json:"explain"`
	Inputs   []RowIn  `json:"inputs"`
	Notes    []string `json:"notes,omitempty"`
	Range    string   `json:"range"`
	Source   string   `json:"source"`
}

// RowIn is one input of a computed value.
type RowIn struct {
	Key   string       `json:"key"`
	Value string       `json:"value"`
	Unit  string       `json:"unit"`
	Cells []issue.Cell `json:"cells,omitempty"`
}

// Rows lists every computed value of the table.
func (t Table) Rows() []Row {
	rows := []Row{}
	for _, s := range t.Sessions {
		for _, v := range s.Values {
			rows = append(rows, row(s, v))
		}
	}
	return rows
}

func row(s measure.Session, v measure.Value) Row {
	method := v.Result.Method
	r := Row{
		Session: s.ID, Date: date(s), Key: v.Key(), When: v.When, Quantity: method.Quantity,
		Value: v.Result.Rounded(), Unit: v.Result.Unit, Method: method.Code(), WhyNot: v.Result.WhyNot,
		Explain: v.Result.Explain(), Inputs: []RowIn{}, Notes: v.Result.Notes, Range: method.Range, Source: method.Source,
	}
	for _, in := range v.Inputs {
		r.Inputs = append(r.Inputs, RowIn{in.Key, in.Text, in.Unit, in.Cells})
	}
	return r
}

// JSON prints the rows as one JSON document with the caution beside them.
func JSON(w io.Writer, rows any) error {
	encoder := json.NewEncoder(w)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	return encoder.Encode(map[string]any{"caution": strings.ReplaceAll(Caution, "\n", " "), "values": rows})
}

// CSV prints the rows as a table for a spreadsheet.
func CSV(w io.Writer, rows []Row) error {
	table := csv.NewWriter(w)
	if err := table.Write([]string{"session", "date", "key", "when", "value", "unit", "method", "why_not", "explain", "source"}); err != nil {
		return err
	}
	for _, r := range rows {
		record := []string{r.Session, r.Date, r.Key, r.When, r.Value, r.Unit, r.Method, r.WhyNot, r.Explain, r.Source}
		for i := range record {
			record[i] = inert(record[i])
		}
		if err := table.Write(record); err != nil {
			return err
		}
	}
	table.Flush()
	return table.Error()
}

// inert keeps a spreadsheet from taking a text for a formula. A number with
// a minus stays a number.
func inert(s string) string {
	if s == "" || !strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return s
	}
	if s[0] == '-' && strings.Trim(s[1:], "0123456789.") == "" {
		return s
	}
	return "'" + s
}
