package structure

import "runsheet.example/validate/doc"

// RequiredValueSet returns the URL, without version, of the value set that R4
// binds the value to with strength required, or "". The Checker has already
// checked the value against it.
func (c *Checker) RequiredValueSet(n doc.Node) string {
	if n < 0 || int(n) >= len(c.rows) {
		return ""
	}
	return valueSets[elementTable[c.rows[n]].valueSet].url
}
