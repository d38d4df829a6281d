package main

import (
	"fmt"
	"slices"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/profiles"
)

// localCode is one concept of the local code system.
type localCode struct {
	coding     profiles.Coding
	definition string
	units      []string
	sign       int8
}

// localConcepts lists every local code the tables use, each once, in the order
// of the tables.
func localConcepts() []localCode {
	var out []localCode
	add := func(c localCode) {
		if c.coding.System != profiles.Local {
			return
		}
		at := slices.IndexFunc(out, func(have localCode) bool { return have.coding.Code == c.coding.Code })
		if at < 0 {
			out = append(out, c)
			return
		}
		for _, unit := range c.units {
			if !slices.Contains(out[at].units, unit) {
				out[at].units = append(slices.Clone(out[at].units), unit)
			}
		}
	}
	for _, m := range profiles.Measurements() {
		for _, c := range m.Codings {
			add(localCode{c, m.Text, m.Units, m.Sign})
		}
	}
	for _, in := range profiles.Inputs() {
		var units []string
		if in.Unit != "" {
			units = []string{in.Unit}
		}
		add(localCode{in.Coding, in.Coding.Display + ", stated as an input of a computed value", units, 0})
	}
	for _, c := range profiles.Reporting() {
		add(localCode{c, c.Display + ", of the sessions of some days", nil, 0})
	}
	for _, c := range profiles.Gathering() {
		add(localCode{c, c.Display + ", which gathers computed values", nil, 0})
	}
	return out
}

func localCodes() string {
	var b strings.Builder
	b.WriteString(`CodeSystem: RunsheetCodes
Id: runsheet-codes
Title: "Home haemodialysis codes"
Description: "Codes for values, events and inputs of a home haemodialysis session for which no standard code was found. Sent with text, and with display unless a receiver asks for none."
`)
	fmt.Fprintf(&b, "* ^url = %q\n* ^version = %q\n", profiles.Local, profiles.LocalVersion)
	b.WriteString(`* ^content = #complete
* ^caseSensitive = true
* ^versionNeeded = false
* ^experimental = false
* ^property[0].code = #ucum-unit
* ^property[0].description = "UCUM unit the value may be written in, the preferred one first"
* ^property[0].type = #string
* ^property[1].code = #expected-sign
* ^property[1].description = "The sign a value normally has, where it is negative"
* ^property[1].type = #string
`)
	for _, c := range localConcepts() {
		fmt.Fprintf(&b, "* #%s %s %s\n", c.coding.Code, fsh(c.coding.Display), fsh(c.definition))
		n := 0
		property := func(code, value string) {
			fmt.Fprintf(&b, "* #%s ^property[%d].code = #%s\n* #%s ^property[%d].valueString = %s\n",
				c.coding.Code, n, code, c.coding.Code, n, fsh(value))
			n++
		}
		for _, unit := range c.units {
			property("ucum-unit", unit)
		}
		if c.sign < 0 {
			property("expected-sign", "negative")
		}
	}
	return b.String()
}

func algorithms() string {
	var b strings.Builder
	b.WriteString(`CodeSystem: RunsheetAlgorithmCodes
Id: runsheet-algorithm-codes
Title: "Methods of computing"
Description: "One code for each method and version. Methods that compute the same quantity are not interchangeable; a method is given a new version when the same inputs would give another value."
`)
	fmt.Fprintf(&b, "* ^url = %q\n", profiles.Algorithm)
	b.WriteString(`* ^content = #complete
* ^caseSensitive = true
* ^versionNeeded = false
* ^experimental = false
* ^property[0].code = #quantity
* ^property[0].description = "The quantity computed, by its key in the shared vocabulary"
* ^property[0].type = #string
* ^property[1].code = #ucum-unit
* ^property[1].description = "UCUM unit of the value"
* ^property[1].type = #string
`)
	for _, m := range calc.Methods() {
		fmt.Fprintf(&b, "* #%s %s %s\n", m.Code(), fsh(m.Quantity), fsh(m.Formula+". Source: "+m.Source+". Holds for: "+m.Range))
		fmt.Fprintf(&b, "* #%s ^property[0].code = #quantity\n* #%s ^property[0].valueString = %s\n", m.Code(), m.Code(), fsh(m.Key))
		fmt.Fprintf(&b, "* #%s ^property[1].code = #ucum-unit\n* #%s ^property[1].valueString = %s\n", m.Code(), m.Code(), fsh(m.Unit))
	}
	return b.String() + `
ValueSet: RunsheetAlgorithms
Id: runsheet-algorithms
Title: "Methods of computing"
Description: "All of them."
* include codes from system RunsheetAlgorithmCodes
`
}

// fsh writes a string literal of FHIR Shorthand.
func fsh(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(s) + `"`
}
