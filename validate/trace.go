package validate

import (
	"bytes"
	"strconv"
	"strings"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/record"
)

// trace gives a finding the log cells that its resource was made from, as far
// as a manifest knows them.
func (r *run) trace(f *issue.Finding) {
	m := r.current.manifest
	if m == nil || f.File != r.current.name || len(f.Cells) > 0 {
		return
	}
	if f.Session == "" {
		f.Session = r.current.session
	}
	res := r.resourceAt(f.Expression)
	if res == nil {
		return
	}
	for _, id := range [...][]byte{res.FullURL, res.Identity, res.ID} {
		id, _ = bytes.CutPrefix(id, []byte("urn:uuid:"))
		if cells := m.Cells(string(id)); len(id) > 0 && len(cells) > 0 {
			f.Cells = cells
			return
		}
	}
}

// resourceAt returns the resource an expression leads into: that of the Bundle
// entry, or the outermost one.
func (r *run) resourceAt(expression string) *record.Resource {
	const entry = "Bundle.entry["
	if !r.current.read || len(r.rec.Resources) == 0 || expression == "" {
		return nil
	}
	rest, ok := strings.CutPrefix(expression, entry)
	if !ok {
		return &r.rec.Resources[0]
	}
	digits, _, ok := strings.Cut(rest, "]")
	at, err := strconv.Atoi(digits)
	if !ok || err != nil {
		return nil
	}
	for i := range r.rec.Resources {
		res := &r.rec.Resources[i]
		if res.Bundle == 0 && res.Owner == record.Nowhere && res.Entry >= 0 && r.doc.Index(res.Entry) == at {
			return res
		}
	}
	return nil
}
