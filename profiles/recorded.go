package profiles

import (
	"slices"
	"sync"
)

// RecordCode is a code that a record can hold as the code of a measurement.
type RecordCode struct {
	Coding
	// Units are the UCUM codes that its value may be written in; empty for one
	// that is no quantity.
	Units []string
}

// RecordCodes lists the codes of the tables, each once for each place, in the
// order of the tables. Statistics of a summary are not among them.
func RecordCodes() []RecordCode {
	var out []RecordCode
	add := func(c Coding, units ...string) { out = append(out, RecordCode{c, units}) }
	for _, m := range Measurements() {
		for _, c := range m.Codings {
			add(c, m.Units...)
		}
	}
	add(PressurePanel)
	add(SystolicCode, "mm[Hg]")
	add(DiastolicCode, "mm[Hg]")
	add(AdequacyPanel)
	for _, in := range Inputs() {
		if in.Unit == "" {
			add(in.Coding)
		} else {
			add(in.Coding, in.Unit)
		}
	}
	for _, c := range append(Reporting(), Gathering()...) {
		add(c)
	}
	return out
}

// MappedCodes lists the LOINC and local codes of a record, each once with all
// its units: those that a [CodeMap] can map. The caller must not change them.
func MappedCodes() []RecordCode { return mappedCodes() }

var mappedCodes = sync.OnceValue(func() []RecordCode {
	var out []RecordCode
	for _, c := range RecordCodes() {
		if c.System != LOINC && c.System != Local {
			continue
		}
		at := slices.IndexFunc(out, func(have RecordCode) bool { return have.bare() == c.bare() })
		if at < 0 {
			out = append(out, RecordCode{c.Coding, slices.Clone(c.Units)})
			continue
		}
		for _, unit := range c.Units {
			if !slices.Contains(out[at].Units, unit) {
				out[at].Units = append(out[at].Units, unit)
			}
		}
	}
	return out
})

// bare is the coding without its display.
func (c Coding) bare() Coding { return Coding{System: c.System, Code: c.Code} }

// String is the coding as SYSTEM|CODE.
func (c Coding) String() string { return c.System + "|" + c.Code }
