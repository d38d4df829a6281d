package rules

import (
	"slices"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/ucum"
)

// observation checks the value, and the components, of a measurement in the
// code table.
func (c *unitChecker) observation(res *resources.Resource) {
	if res.Row != nil && string(c.d.Key(res.Value)) == "valueQuantity" && len(res.Row.Units) > 0 && !c.isUsual(res.Value, res.Row.Units) {
		c.quantity(res, res.Value, c.units(res.Row))
	}
	d := c.d
	for part := d.FirstChild(res.Component); part != doc.None; part = d.Next(part) {
		value := d.Get(part, "valueQuantity")
		if value == doc.None {
			continue
		}
		code := d.Get(part, "code")
		switch {
		case c.rec.HasCoding(code, profiles.SystolicCode), c.rec.HasCoding(code, profiles.DiastolicCode):
			c.quantity(res, value, pressureUnits)
		default:
			if in, ok := c.rec.InputOf(code); ok && in.Unit != "" {
				one := [...]string{in.Unit}
				c.quantity(res, value, one[:])
			}
		}
	}
}

// isUsual reports whether a Quantity has one of the UCUM units.
func (c *unitChecker) isUsual(value doc.Node, units []string) bool {
	code := c.d.Str(c.d.Get(value, "code"))
	for _, u := range units {
		if u == string(code) {
			return c.d.Is(c.d.Get(value, "system"), profiles.UCUM)
		}
	}
	return false
}

var pressureUnits = []string{"mm[Hg]"}

// units are the units of all rows with the same principal code: if the table
// has one row for each of two units, both are right.
func (c *unitChecker) units(row *profiles.Measurement) []string {
	principal := row.Principal()
	if len(row.Codings) > 1 {
		return row.Units
	}
	var all []string
	for _, other := range profiles.ByCode(principal.System, principal.Code) {
		for _, u := range other.Units {
			if !slices.Contains(all, u) {
				all = append(all, u)
			}
		}
	}
	return all
}

// quantity checks a Quantity against the units allowed for its code.
func (c *unitChecker) quantity(res *resources.Resource, value doc.Node, units []string) {
	d := c.d
	number, code := d.Get(value, "value"), d.Get(value, "code")
	if number == doc.None {
		return
	}
	system := d.Get(value, "system")
	if !d.Is(system, profiles.UCUM) || d.Kind(code) != doc.String {
		f := d.Finding(value, "unit-missing", issue.T("the number has no UCUM unit"))
		f.Value = string(d.Str(d.Get(value, "unit")))
		f.Expected = issue.Or(units)
		if len(res.Identity) > 0 {
			f.Severity = issue.Error // our own records must meet more than R4 requires
		}
		c.add(f)
		return
	}
	if slices.ContainsFunc(units, func(u string) bool { return u == string(d.Str(code)) }) {
		return
	}
	text := string(d.Str(code))
	unit, err := ucum.Parse(text)
	if err != nil {
		return // already reported
	}
	for _, u := range units {
		if usual, err := ucum.Parse(u); err == nil && usual.Dimension() == unit.Dimension() {
			c.complain(code, "unit-other", issue.T("the unit can be converted, but is not one of the usual ones for this code"), text, issue.Or(units))
			return
		}
	}
	c.complain(code, "unit-dimension", issue.T("the unit measures another kind of quantity than the code"), text, issue.Or(units))
}
