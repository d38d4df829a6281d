package rules

import (
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/ucum"
)

// unitChecker checks the units of a document.
type unitChecker struct{ checked }

// observations checks the measurements in the code table.
func (c *unitChecker) observations() {
	for i := range c.rec.Resources {
		if res := &c.rec.Resources[i]; res.Type == "Observation" {
			c.observation(res)
		}
	}
}

// check checks a code whose system is UCUM, of a Quantity or on its own (a
// Coding), except in resources that define codes.
func (c *unitChecker) check(k *code) {
	if c.rec.Resources[k.at].Defines() {
		return
	}
	text := c.d.Str(k.code)
	if !common(text) {
		if f, found := ucum.Check(string(text)); found {
			c.place(k.code, f)
			return
		}
	}
	c.words(k.object, text)
}

func (c *unitChecker) place(n doc.Node, f issue.Finding) {
	at := c.d.Finding(n, f.Rule, f.Details)
	at.Severity, at.Value, at.Expected = f.Severity, f.Value, f.Expected
	c.add(at)
}

// words compares the display unit with the code if the display unit is itself
// a UCUM code: "g" beside kg is a contradiction, "mmHg" beside mm[Hg] is not.
func (c *unitChecker) words(quantity doc.Node, code []byte) {
	unit := c.d.Get(quantity, "unit")
	text := c.d.Str(unit)
	if len(text) == 0 || string(text) == string(code) {
		return
	}
	if profiles.UnitOf(code).Sent == string(text) || spoken[string(text)] == string(code) {
		return
	}
	words, err := ucum.Parse(string(text))
	if err != nil {
		return // free text, which cannot be checked
	}
	if _, _, doubtful := ucum.Suspicious(string(text)); doubtful && !sameDimension(words.Code(), code) {
		return // "C" as a display unit is a temperature
	}
	if one, convertible := factor(string(text), string(code)); convertible && one {
		return
	}
	c.complain(unit, "unit-text", issue.T("the unit for people is another unit than the code"), string(text), issue.Literal(string(code)))
}

func sameDimension(a string, b []byte) bool { return ucum.Commensurable(a, string(b)) }

// factor reports whether one of a equals one of b.
func factor(a, b string) (one, convertible bool) {
	x, err := ucum.Convert(1, a, b)
	return x == 1, err == nil
}

// spoken maps display units that happen to be UCUM codes of another unit to the
// codes they stand for.
var spoken = map[string]string{"U": "[iU]", "U/h": "[iU]/h", "C": "Cel", "F": "[degF]", "pt": "[pt_us]"}

// common reports whether a code is one of the units of the code table, which
// need no parsing.
func common(code []byte) bool {
	switch string(code) {
	case "kg", "g", "L", "mL", "mL/min", "mL/h", "L/h", "mm[Hg]", "/min", "Cel", "mS/cm", "mmol/L",
		"min", "h", "[iU]", "[iU]/h", "%", "1", "mL/kg/h", "cm", "a", "d", "/wk", "mg", "ug", "mg/dL", "g/dL", "g/L":
		return true
	}
	return false
}
