package vitals

import (
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// profile is the rules that one of the profiles adds to vitalsigns.
type profile struct {
	name  string
	code  string   // LOINC, "" for vitalsigns itself
	units []string // UCUM, of the value; nil if it has no value
	// mustHaveValue requires a value even beside a dataAbsentReason (bmi).
	mustHaveValue bool
	isPanel       bool
	isPressure    bool
}

// LOINC codes of the components of a blood pressure.
const (
	systolic  = "8480-6"
	diastolic = "8462-4"
)

// commonUnits is the value set ucum-vitals-common.
var commonUnits = [...]string{"%", "cm", "[in_i]", "kg", "g", "[lb_av]", "Cel", "[degF]", "mm[Hg]", "/min", "kg/m2", "m2"}

var profileTable = [...]profile{
	{name: "vitalsigns"},
	{name: "vitalspanel", code: "85353-1", isPanel: true},
	{name: "bp", code: "85354-9", isPressure: true},
	{name: "resprate", code: "9279-1", units: []string{"/min"}},
	{name: "heartrate", code: "8867-4", units: []string{"/min"}},
	{name: "oxygensat", code: "2708-6", units: []string{"%"}},
	{name: "bodytemp", code: "8310-5", units: []string{"Cel", "[degF]"}},
	{name: "bodyheight", code: "8302-2", units: []string{"cm", "[in_i]"}},
	{name: "headcircum", code: "9843-4", units: []string{"cm", "[in_i]"}},
	{name: "bodyweight", code: "29463-7", units: []string{"kg", "[lb_av]", "g"}},
	{name: "bmi", code: "39156-5", units: []string{"kg/m2"}, mustHaveValue: true},
}

func byCode(code []byte) *profile {
	if len(code) == 0 {
		return nil
	}
	for i := range profileTable {
		if profileTable[i].code == string(code) {
			return &profileTable[i]
		}
	}
	return nil
}

// Checks reports whether this package checks the profile with that name at the
// end of its URL.
func Checks(name string) bool { return byName([]byte(name)) != nil }

func byName(name []byte) *profile {
	for i := range profileTable {
		if profileTable[i].name == string(name) {
			return &profileTable[i]
		}
	}
	return nil
}

// profile checks the rules that the profile adds.
func (c *checker) profile(n doc.Node, p *profile) {
	if p.code != "" {
		c.code(n, p.code)
	}
	value := c.s.Child(n, "value")
	switch {
	case p.isPressure || p.isPanel:
		if value != doc.None {
			c.report(value, "inv-vs-value", "a blood pressure or panel has a value of its own", "", "values in components or members")
		}
	case value != doc.None && p.units != nil:
		c.quantity(value, p.units)
	case p.mustHaveValue:
		c.report(n, "inv-vs-value", "the profile {} asks for a value", "", "valueQuantity", p.name)
	}
	if p.isPanel && !c.s.Has(n, "hasMember") {
		c.report(n, "inv-vs-member", "a panel of vital signs has no members", "", "hasMember")
	}
	if p.isPressure {
		c.pressure(n, systolic, "systolic")
		c.pressure(n, diastolic, "diastolic")
	}
}

// isPressure reports whether a component is one of the two in the blood
// pressure profile.
func (c *checker) isPressure(component doc.Node) bool {
	code := c.s.Child(component, "code")
	return c.countCode(code, systolic) > 0 || c.countCode(code, diastolic) > 0
}

// code checks that the profile's LOINC code occurs once.
func (c *checker) code(n doc.Node, code string) {
	concept := c.s.Child(n, "code")
	switch found := c.countCode(concept, code); {
	case found == 0:
		c.report(n, "inv-vs-code", "the Observation claims a profile whose LOINC code it does not have", "", code)
	case found > 1:
		c.report(concept, "inv-vs-code", "the LOINC code of the vital sign stands more than once", code, code+" once")
	}
}

func (c *checker) countCode(concept doc.Node, code string) int {
	found := 0
	for k := c.s.First(concept, "coding"); k != doc.None; k = c.d.NextItem(k) {
		if system, text := c.coding(k); string(text) == code && string(system) == profiles.LOINC {
			found++
		}
	}
	return found
}

// quantity checks a value: a Quantity with a number, a display unit and one of
// the UCUM codes.
func (c *checker) quantity(value doc.Node, units []string) {
	if c.s.TypeOf(value) != structure.Quantity {
		c.report(value, "inv-vs-quantity", "the value of the vital sign is no Quantity", c.s.TypeOf(value).String(), "valueQuantity")
		return
	}
	if c.isWhole(value, units) {
		return
	}
	for _, element := range [...]string{"value", "unit", "system", "code"} {
		if !c.s.Has(value, element) {
			c.report(value, "inv-vs-quantity", "the quantity of a vital sign lacks {}", "", element, element)
		}
	}
	if c.s.Has(value, "system") && !c.is(value, "system", profiles.UCUM) {
		c.report(value, "inv-vs-unit", "the unit of a vital sign is not given in UCUM", c.text(value, "system"), profiles.UCUM)
		return
	}
	if c.s.Has(value, "code") && !oneOf(c.d.Str(c.s.Child(value, "code")), units) {
		c.report(value, "inv-vs-unit", "the unit is none that this vital sign may have", c.text(value, "code"), list(units))
	}
}

// isWhole reports whether a Quantity has all required parts, as nearly every
// one has.
func (c *checker) isWhole(value doc.Node, units []string) bool {
	var number, unit, system, code bool
	for m := c.d.FirstChild(value); m != doc.None; m = c.d.Next(m) {
		switch text := c.d.Str(m); string(c.d.Key(m)) {
		case "value":
			number = c.d.Kind(m) == doc.Number
		case "unit":
			unit = len(text) > 0
		case "system":
			system = string(text) == profiles.UCUM
		case "code":
			code = oneOf(text, units)
		}
	}
	return number && unit && system && code
}

// pressure checks the systolic or the diastolic component.
func (c *checker) pressure(n doc.Node, code, name string) {
	found := 0
	for k := c.s.First(n, "component"); k != doc.None; k = c.d.NextItem(k) {
		if c.countCode(c.s.Child(k, "code"), code) == 0 {
			continue
		}
		found++
		if value := c.s.Child(k, "value"); value != doc.None {
			c.quantity(value, []string{"mm[Hg]"})
		}
	}
	switch {
	case found == 0:
		c.report(n, "inv-vs-component", "the {} component of the blood pressure is missing", "", profiles.LOINC+"#"+code, name)
	case found > 1:
		c.report(n, "inv-vs-component", "the {} component of the blood pressure stands more than once", "", profiles.LOINC+"#"+code+" once", name)
	}
}
