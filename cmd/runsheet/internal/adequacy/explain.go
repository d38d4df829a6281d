package adequacy

import (
	"fmt"
	"io"

	"runsheet.example/fhirmap/measure"
)

// explain prints, for every value of every session, the formula with the
// numbers put in, where each number came from, the range it holds for and its
// source.
func (t Table) explain(w io.Writer) {
	for _, s := range t.Sessions {
		if len(s.Values) == 0 {
			continue
		}
		fmt.Fprintf(w, "\n%s\n", date(s))
		for _, v := range s.Values {
			explainValue(w, v)
		}
	}
}

func explainValue(w io.Writer, v measure.Value) {
	name := v.Result.Method.Quantity
	if v.When != "" {
		name += ", " + v.When
	}
	fmt.Fprintf(w, "  %s (%s)\n    %s\n", name, v.Result.Method.Code(), v.Result.Explain())
	for _, in := range v.Inputs {
		fmt.Fprintf(w, "    %s = %s%s%s\n", in.Key, in.Text, unit(in.Unit), from(in))
	}
	fmt.Fprintf(w, "    holds for: %s\n    source: %s\n", v.Result.Method.Range, v.Result.Method.Source)
	for _, note := range v.Result.Notes {
		fmt.Fprintf(w, "    note: %s\n", note)
	}
}

func unit(ucum string) string {
	if ucum == "1" || ucum == "" {
		return ""
	}
	return " " + ucum
}

func from(in measure.Input) string {
	switch {
	case in.Origin == measure.Computed:
		return "  computed by " + in.Method
	case len(in.Cells) == 1:
		return "  " + in.Cells[0].String()
	case len(in.Cells) > 1:
		return fmt.Sprintf("  %s and %d more", in.Cells[0], len(in.Cells)-1)
	default:
		return ""
	}
}
