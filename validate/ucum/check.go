package ucum

import (
	"errors"

	"runsheet.example/validate/issue"
)

// doubt is a code that is valid UCUM but, in a dialysis record, almost always
// a mistake for another.
type doubt struct{ code, means, perhaps string }

// doubts match the whole code: U/L is a correct unit for an enzyme in serum,
// but U is not a unit of a heparin dose.
var doubts = [...]doubt{
	{"U", "the enzyme unit (umol/min)", "[iU]"},
	{"kU", "the enzyme unit (umol/min) times 1000", "k[iU]"},
	{"U/h", "enzyme units per hour", "[iU]/h"},
	{"U/kg", "enzyme units per kilogram", "[iU]/kg"},
	{"U/kg/h", "enzyme units per kilogram and hour", "[iU]/kg/h"},
	{"C", "the coulomb", "Cel"},
	{"F", "the farad", "[degF]"},
	{"ms/cm", "milliseconds per centimetre", "mS/cm"},
	{"[G]", "the gravitational constant", ""},
	{"G", "the gauss", ""},
	{"mL/min/1.73.m2", "mL/min times 73 square metres", "mL/min/{1.73_m2}"},
}

// Suspicious explains a valid code that is commonly a mistake: what it really
// means, and the code probably intended, "" if there is none.
func Suspicious(code string) (means, perhaps string, ok bool) {
	for _, d := range doubts {
		if d.code == code {
			return d.means, d.perhaps, true
		}
	}
	return "", "", false
}

// Check checks a code declared as UCUM. It returns a finding without a place,
// of rule unit-not-ucum or unit-valid-but-suspicious, and false if the code is
// fine.
func Check(code string) (issue.Finding, bool) {
	_, err := Parse(code)
	var syntax *SyntaxError
	if errors.As(err, &syntax) {
		f := issue.At("unit-not-ucum")
		f.Details = issue.T("not a UCUM code: at byte {} {} expected", syntax.Offset, syntax.Expected)
		f.Value, f.Expected = syntax.Code, issue.Literal(syntax.Suggestion)
		return f, true
	}
	if means, perhaps, ok := Suspicious(code); ok {
		f := issue.At("unit-valid-but-suspicious")
		f.Details = issue.T("valid UCUM, but it means {}", means)
		f.Value, f.Expected = code, issue.Literal(perhaps)
		return f, true
	}
	return issue.Finding{}, false
}
