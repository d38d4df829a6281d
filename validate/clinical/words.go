package clinical

import (
	"strconv"

	"runsheet.example/validate/resources"
)

func written(q resources.Quantity) string { return string(q.Text) + " " + string(q.Unit) }

func between(low, high float64, unit string) string {
	return number(low) + " to " + number(high) + " " + unit
}

// number formats a number for people, with no more digits than necessary.
func number(x float64) string {
	const enough = 4 // significant digits
	short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', enough, 64), 64)
	if err != nil {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strconv.FormatFloat(short, 'f', -1, 64)
}

func amount(x float64, unit string) string { return number(x) + " " + unit }
