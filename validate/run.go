package validate

import (
	"slices"

	"runsheet.example/validate/clinical"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
	"runsheet.example/validate/provenance"
	"runsheet.example/validate/recompute"
	"runsheet.example/validate/record"
	"runsheet.example/validate/reference"
	"runsheet.example/validate/schema"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/term"
	"runsheet.example/validate/units"
	"runsheet.example/validate/vitals"
)

// run is one call of Paths or Bytes. What it holds is reused from document to
// document.
type run struct {
	opts Options
	out  Report

	doc        doc.Doc
	structure  structure.Checker
	invariants invariant.Checker
	rec        record.Record
	month      month.Month
	ledger     *recompute.Ledger // nil for documents each by itself

	// current is the document being checked.
	current struct {
		name     string
		line     int // of an NDJSON file, 0 for a document of its own
		manifest *month.Manifest
		session  string
		// read tells that rec holds this document.
		read    bool
		entries []int // see entries
	}
	found     []issue.Finding // in the current document
	expected  month.Expected  // as the latest manifest says
	unchecked *issue.Finding
	notes     map[string]bool
	manifests map[string]*month.Manifest // by path
}

func newRun(opts Options) *run {
	r := &run{opts: opts, notes: map[string]bool{}, manifests: map[string]*month.Manifest{}}
	r.doc.MaxBytes = opts.MaxBytes
	return r
}

// reset forgets the documents before, but not the memory they took.
func (r *run) reset() {
	r.out = Report{}
	r.month.Reset()
	r.unchecked = nil
	clear(r.notes)
}

// document runs all layers over one document.
func (r *run) document(data []byte, name string) {
	r.current.name, r.current.read, r.current.entries = name, false, r.current.entries[:0]
	r.found = r.found[:0]
	r.check(data, name)
	for i := range r.found {
		r.trace(&r.found[i])
		r.keep(r.found[i])
	}
}

func (r *run) check(data []byte, name string) {
	for _, f := range r.doc.Parse(data, name) {
		r.add(f)
	}
	if r.doc.Broken() || r.doc.Root() == doc.None {
		r.skipped(name)
		return
	}
	r.structure.Check(&r.doc, r.add)
	if r.opts.Schema {
		schema.Check(&r.doc, r.add)
	}
	r.rec.Read(&r.doc)
	r.current.read = true
	if root := r.rec.Root(); root == nil || root.Type == "" {
		return // no resource, which the structure says
	}
	for i := range r.rec.Resources {
		if r.rec.Resources[i].Owner == record.Nowhere {
			r.out.Resources++
		}
	}
	r.layers()
}

// layers runs what looks at the document as resources.
func (r *run) layers() {
	r.invariants.Check(&r.structure, r.add)
	vitals.CheckTyped(&r.structure, r.add)
	reference.Check(&r.rec, &r.structure, reference.Options{Line: r.current.line > 0}, r.add)
	units.Check(&r.rec, r.add)
	if code := term.Check(&r.rec, r.add); code != doc.None && r.unchecked == nil {
		f := r.doc.Finding(code, "term-not-checked")
		f.Details = "codes outside the validator's own tables were not looked up; this is the first of them"
		f.Value = string(r.doc.Str(code))
		r.unchecked = &f
		r.add(f)
		r.notes["codes outside the validator's own tables: no terminology server is asked"] = true
	}
	clinical.Check(&r.rec, r.add)
	recompute.Check(&r.rec, r.current.line, r.ledger, r.add)
	provenance.Check(&r.rec, r.add)
	r.month.Add(&r.rec, r.current.name, r.current.line, r.add)
	r.profiles()
	r.alone()
}

// alone notes that the values of a session were not compared with each other
// because each stands on a line of its own.
func (r *run) alone() {
	if r.current.line > 0 && r.rec.Root().PartOf != doc.None {
		r.notes["the values of a session against each other, where they stand on lines of NDJSON"] = true
	}
}

// profiles notes that claimed profiles were not checked.
func (r *run) profiles() {
	for i := range r.rec.Resources {
		profile := r.doc.FirstChild(r.doc.Get(r.rec.Resources[i].Meta, "profile"))
		for ; profile != doc.None; profile = r.doc.Next(profile) {
			const core = "http://hl7.org/fhir/StructureDefinition/"
			if text := r.doc.Str(profile); len(text) < len(core) || string(text[:len(core)]) != core {
				r.notes["profiles claimed in meta.profile, other than those of R4 itself"] = true
				return
			}
		}
	}
}

func (r *run) skipped(name string) {
	f := issue.At("fhir-not-checked")
	f.File = name
	f.Details = "the document could not be read to its end, so only its bytes were checked"
	r.add(f)
	r.notes["documents that could not be read to their end, beyond their bytes"] = true
}

// add notes a finding about the current document.
func (r *run) add(f issue.Finding) {
	if r.current.line > 0 && f.File == r.current.name {
		f.Line = r.current.line + max(f.Line, 1) - 1
	}
	r.found = append(r.found, f)
}

// keep puts a finding into the report, as far as there is room.
func (r *run) keep(f issue.Finding) {
	limit := r.opts.MaxFindings
	if limit == 0 {
		limit = DefaultMaxFindings
	}
	if len(r.out.Findings) >= limit {
		r.out.Dropped++
		if f.Severity == issue.Error {
			r.out.DroppedErrors++
		}
		return
	}
	r.out.Findings = append(r.out.Findings, f)
}

// finish compares the documents and completes the report.
func (r *run) finish() *Report {
	if r.ledger != nil {
		r.ledger.Finish(r.keep)
		if r.ledger.Full() {
			r.notes["computed values whose inputs are in other documents, where many thousand values lie between"] = true
		}
	}
	r.month.Finish(r.expected, r.keep)
	if r.month.Full() {
		r.notes["duplicates across documents, beyond the first million values"] = true
	}
	for note := range r.notes {
		r.out.NotChecked = append(r.out.NotChecked, note)
	}
	slices.Sort(r.out.NotChecked)
	issue.Sort(r.out.Findings)
	return &r.out
}
