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
	if entries := r.entries(); at < len(entries) && entries[at] != record.Nowhere {
		return &r.rec.Resources[entries[at]]
	}
	return nil
}

// entries lists the resource of each entry of the outermost Bundle. It is made
// when the first finding of a document asks for it.
func (r *run) entries() []int {
	if len(r.current.entries) > 0 {
		return r.current.entries
	}
	for range r.doc.Count(r.doc.Get(r.doc.Root(), "entry")) {
		r.current.entries = append(r.current.entries, record.Nowhere)
	}
	for i := range r.rec.Resources {
		res := &r.rec.Resources[i]
		if at := r.doc.Index(res.Entry); res.Bundle == 0 && res.Owner == record.Nowhere && at < len(r.current.entries) {
			r.current.entries[at] = i
		}
	}
	return r.current.entries
}
