package adequacy

import (
	"io"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// Row is one computed value in machine-readable form.
type Row struct {
	// Scope is "session", "week" or "log"; Date is the day of the session or
	// the Monday of the week.
	Scope    string `json:"scope"`
	Session  string `json:"session,omitempty"`
	Date     string `json:"date,omitempty"`
	Key      string `json:"key"`
	When     string `json:"when,omitempty"`
	Model    string `json:"model,omitempty"`
	Quantity string `json:"quantity"`
	// Value is the number rounded as the method rounds, or the answer of a
	// definition; "" with WhyNot.
	Value       string           `json:"value,omitempty"`
	Unit        string           `json:"unit,omitempty"`
	Method      string           `json:"method"`
	WhyNot      string           `json:"whyNot,omitempty"`
	Explain     string           `json:"explain"`
	Inputs      []RowIn          `json:"inputs"`
	Notes       []string         `json:"notes,omitempty"`
	Sensitivity []RowSensitivity `json:"sensitivity,omitempty"`
	Range       string           `json:"range,omitempty"`
	Source      string           `json:"source"`
}

// RowIn is one input of a computed value. Method is the method of an input
// that is itself computed.
type RowIn struct {
	Key    string       `json:"key"`
	Value  string       `json:"value"`
	Unit   string       `json:"unit"`
	Method string       `json:"method,omitempty"`
	Cells  []issue.Cell `json:"cells,omitempty"`
}

// RowSensitivity is the value with one input changed.
type RowSensitivity struct {
	Input   string `json:"input"`
	Case    string `json:"case"`
	Changed string `json:"changed"`
	Unit    string `json:"unit"`
	Value   string `json:"value,omitempty"`
	WhyNot  string `json:"whyNot,omitempty"`
}

func rowOf(scope string, v measure.Value) Row {
	r := rowOfResult(scope, v.Result)
	r.When = v.When
	r.Inputs = []RowIn{}
	for _, in := range v.Inputs {
		one := RowIn{Key: in.Key, Value: in.Text, Unit: in.Unit, Cells: in.Cells}
		if in.Origin == measure.Computed {
			one.Method, one.Cells = in.Method, nil
		}
		r.Inputs = append(r.Inputs, one)
	}
	return r
}

func rowOfResult(scope string, result calc.Result) Row {
	method := result.Method
	r := Row{
		Scope: scope, Key: method.Key, Quantity: method.Quantity, Value: result.Rounded(), Unit: result.Unit,
		Method: method.Code(), WhyNot: result.WhyNot, Explain: result.Explain(), Inputs: []RowIn{}, Notes: result.Notes,
		Range: method.Range, Source: method.Source,
	}
	for _, in := range result.Inputs {
		r.Inputs = append(r.Inputs, RowIn{Key: in.Key, Value: calc.ShortDecimal(in.Value), Unit: in.Unit})
	}
	return r
}

// Document is the content of the JSON output.
type Document struct {
	Caution string          `json:"caution"`
	Values  any             `json:"values"`
	Figures []FiguresForRow `json:"figures,omitempty"`
}

// JSON prints the table as one JSON document with the caution, and with
// published figures on request.
func (t Table) JSON(w io.Writer, opts Options) error {
	d := Document{Values: t.Rows()}
	if opts.Figures {
		d.Figures = t.figures()
	}
	return d.print(w)
}

func (d Document) print(w io.Writer) error {
	d.Caution = strings.ReplaceAll(Caution, "\n", " ")
	return report.WriteJSON(w, d)
}

// CSV prints the rows as a table for a spreadsheet.
func (t Table) CSV(w io.Writer) error {
	records := [][]string{{"scope", "session", "date", "key", "when", "model", "value", "unit", "method", "why_not", "explain", "notes", "source"}}
	for _, r := range t.Rows() {
		notes := append([]string{}, r.Notes...)
		for _, s := range r.Sensitivity {
			notes = append(notes, s.Input+", "+s.Case+": "+s.Value+s.WhyNot)
		}
		records = append(records, []string{r.Scope, r.Session, r.Date, r.Key, r.When, r.Model, r.Value, r.Unit, r.Method, r.WhyNot, r.Explain, strings.Join(notes, "; "), r.Source})
	}
	return report.WriteCSV(w, false, records)
}
