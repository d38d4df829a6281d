package validate

import (
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/recompute"
)

// outcome is the result for one document: its findings, and the data for the
// comparison with other documents, which outlives the document. Its memory is
// reused.
type outcome struct {
	resource  bool
	resources int
	line      int
	found     []issue.Finding
	notes     []string
	cells     []issue.Cell // of the outermost resource
	// names identify the outermost resource and the resource of each entry, if
	// findings are accepted by name.
	names  [][]string
	digest month.Digest
	share  recompute.Share
	// kept is the document, if it is needed again.
	kept *document
}

// worker is a checker that also prepares the comparison of documents, as far
// as that depends on one document.
type worker struct {
	checker
	doc    *document
	month  month.Reader
	values *recompute.Reader // nil without a comparison of documents
	// unknown counts the findings about unknown profiles.
	unknown int
}

// maxUnknown is the number of unknown profiles after which the cache of
// profiles is cleared: every line of an input may claim another one.
const maxUnknown = 50_000

// worker returns a worker for this run.
func (r *run) worker() *worker {
	w := &worker{checker: checker{opts: r.opts, library: profile.NewLibrary(r.opts.Packages...)}, doc: newDocument(r.opts.Codes), month: r.month.Reader()}
	w.rules.Codes = r.opts.Codes
	if r.ledger != nil {
		reader := r.ledger.Reader()
		w.values = &reader
	}
	return w
}

// finish moves the document's results into the outcome.
func (w *worker) finish(into *outcome) {
	d := w.doc
	into.resource, into.resources, into.line = d.resource, d.resources, d.line
	into.cells, into.names = nil, nil
	if w.opts.Accept != nil {
		into.names = d.names()
	}
	if d.resource {
		w.prepare(into)
	}
	w.forgetProfiles(d.found)
	into.found, d.found = d.found, into.found[:0]
	into.notes, d.notes = d.notes, into.notes[:0]
	if into.share.Again() {
		d, into.kept = into.kept, d
		if w.doc = d; d == nil {
			w.doc = newDocument(w.opts.Codes)
		}
	}
}

func (w *worker) forgetProfiles(found []issue.Finding) {
	if w.profile == nil {
		return
	}
	for i := range found {
		if profile.IsNote(found[i]) {
			w.unknown++
		}
	}
	if w.unknown > maxUnknown {
		w.profile, w.unknown = nil, 0
	}
}

// prepare recomputes values that depend on this document alone, and gathers
// the data for the comparison.
func (w *worker) prepare(into *outcome) {
	d := w.doc
	if w.opts.Record != nil {
		w.opts.Record(d.name, &d.rec)
	}
	known := len(d.found)
	if w.values != nil {
		w.values.Read(&into.share, &d.rec, d.line, d.add)
	} else {
		recompute.Check(&d.rec, d.line, nil, d.add)
	}
	w.month.Read(&into.digest, &d.rec, d.line)
	d.trace(known)
	if d.manifest != nil && d.line > 0 {
		into.cells = d.cells(&d.rec.Resources[0])
	}
}

// compare runs the checks that need earlier documents.
func (r *run) compare(from month.Source, o *outcome) {
	if !o.resource {
		return
	}
	switch {
	case r.ledger == nil:
	case o.share.Again():
		d := o.kept
		d.found = d.found[:0]
		recompute.Check(&d.rec, d.line, r.ledger, d.add)
		d.trace(0)
		o.found = append(o.found, d.found...)
	default:
		r.ledger.Take(&o.share, o.line, func(f issue.Finding) {
			f.Session, f.Cells = from.Session, o.cells
			o.found = append(o.found, f)
		})
	}
	r.month.Add(&o.digest, from, func(f issue.Finding) { o.found = append(o.found, f) })
}
