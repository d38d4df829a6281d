package validate

import (
	"bytes"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// trace adds to the findings from one index on the log cells of their
// resources, from a manifest.
func (d *document) trace(from int) {
	if d.manifest == nil {
		return
	}
	for i := from; i < len(d.found); i++ {
		d.traceOne(&d.found[i])
	}
}

func (d *document) traceOne(f *issue.Finding) {
	if f.File != d.name || len(f.Cells) > 0 {
		return
	}
	if f.Session == "" {
		f.Session = d.session
	}
	res := d.resourceAt(f)
	if res == nil {
		return
	}
	f.Cells = d.cells(res)
}

// cells returns the log cells of a resource.
func (d *document) cells(res *resources.Resource) []issue.Cell {
	for _, id := range [...][]byte{res.FullURL, res.Identity, res.ID} {
		id, _ = bytes.CutPrefix(id, []byte("urn:uuid:"))
		if cells := d.manifest.Cells(string(id)); len(id) > 0 && len(cells) > 0 {
			return cells
		}
	}
	return nil
}

// resourceAt returns the resource of a finding: that of the Bundle entry, or
// the outermost one.
func (d *document) resourceAt(f *issue.Finding) *resources.Resource {
	if !d.read || len(d.rec.Resources) == 0 || f.Expression == "" {
		return nil
	}
	at, inEntry := f.Entry()
	if !inEntry {
		return &d.rec.Resources[0]
	}
	if entries := d.entryResources(); at < len(entries) && entries[at] != resources.Nowhere {
		return &d.rec.Resources[entries[at]]
	}
	return nil
}

// names are the names by which findings about the document's resources are
// accepted: first those of the outermost one, then those of the resource of
// each entry.
func (d *document) names() [][]string {
	if !d.read || len(d.rec.Resources) == 0 {
		return nil
	}
	all := [][]string{namesOf(&d.rec.Resources[0])}
	for _, i := range d.entryResources() {
		var names []string
		if i != resources.Nowhere {
			names = namesOf(&d.rec.Resources[i])
		}
		all = append(all, names)
	}
	return all
}

func namesOf(res *resources.Resource) (names []string) {
	if len(res.ID) > 0 {
		names = append(names, res.Type+"/"+string(res.ID))
	}
	if len(res.FullURL) > 0 {
		names = append(names, string(res.FullURL))
	}
	return names
}

// namesAt are the names of the resource of a finding.
func (o *outcome) namesAt(f *issue.Finding) []string {
	at, inEntry := f.Entry()
	if inEntry {
		at++
	}
	if at >= len(o.names) {
		return nil
	}
	return o.names[at]
}

// entryResources returns the resource of each entry of the outermost Bundle.
// The first finding of a document that needs it builds the list.
func (d *document) entryResources() []int {
	if len(d.entries) > 0 {
		return d.entries
	}
	for range d.doc.Count(d.doc.Get(d.doc.Root(), "entry")) {
		d.entries = append(d.entries, resources.Nowhere)
	}
	for i := range d.rec.Resources {
		res := &d.rec.Resources[i]
		if at := d.doc.Index(res.Entry); res.Bundle == 0 && res.Owner == resources.Nowhere && at < len(d.entries) {
			d.entries[at] = i
		}
	}
	return d.entries
}
