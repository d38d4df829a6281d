package structure

import "runsheet.example/validate/doc"

// RequiredValueSet returns the URL, without version, of the value set that R4
// itself requires the value to be from, "" for none. The Checker has checked
// that it is.
func (c *Checker) RequiredValueSet(n doc.Node) string {
	if n < 0 || int(n) >= len(c.rows) {
		return ""
	}
	return valueSets[elementTable[c.rows[n]].valueSet].url
}
