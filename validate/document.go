package validate

import (
	"slices"

	"runsheet.example/profiles"
	"runsheet.example/validate/clinical"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/rules"
	"runsheet.example/validate/schema"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/vitals"
)

// document is one document, from reading to the comparison with others. Its
// memory is reused for the next one.
type document struct {
	name     string
	line     int // of an NDJSON file, 0 for a single document
	manifest *month.Manifest
	session  string

	doc doc.Doc
	rec resources.Index
	// read reports that rec has read this document, resource that it is a
	// resource.
	read, resource bool
	resources      int
	entries        []int // see entryResources
	found          []issue.Finding
	notes          []string
	add            func(issue.Finding)
}

func newDocument(codes *profiles.CodeMap) *document {
	d := &document{}
	d.rec.Codes = codes
	d.add = d.note
	return d
}

// begin resets the document.
func (d *document) begin(name string, line int, m *month.Manifest, session string) {
	d.name, d.line, d.manifest, d.session = name, line, m, session
	d.read, d.resource, d.resources = false, false, 0
	d.entries, d.found, d.notes = d.entries[:0], d.found[:0], d.notes[:0]
}

// note adds a finding about the document.
func (d *document) note(f issue.Finding) {
	if d.line > 0 && f.File == d.name {
		f.Line = d.line + max(f.Line, 1) - 1
	}
	d.found = append(d.found, f)
}

// checker runs the layers that check one document by itself. It reuses its
// memory and is not safe for concurrent use.
type checker struct {
	opts       Options
	structure  structure.Checker
	invariants invariant.Checker
	clinical   clinical.Checker
	rules      rules.Checker
	library    *profile.Library
	profile    *profile.Checker // nil until a document claims a profile or has an extension
	// unchecked reports that an earlier document had a code that was not
	// looked up: only the first such code is reported.
	unchecked bool
}

// check runs the layers over one document.
func (c *checker) check(d *document, data []byte) {
	c.layers(d, data)
	d.trace(0)
}

func (c *checker) layers(d *document, data []byte) {
	for _, f := range c.parse(d, data) {
		d.add(f)
	}
	if d.doc.Broken() || d.doc.Root() == doc.None {
		d.skipped()
		return
	}
	c.structure.Check(&d.doc, d.add)
	if c.opts.Schema {
		known := len(d.found)
		schema.Check(&d.doc, func(f issue.Finding) {
			if !slices.ContainsFunc(d.found[:known], func(g issue.Finding) bool { return g.Expression == f.Expression }) {
				d.add(f) // not reported by the structure layer
			}
		})
	}
	if d.readRecord() {
		c.resources(d)
	}
}

func (c *checker) parse(d *document, data []byte) []issue.Finding {
	d.doc.MaxBytes = c.opts.MaxBytes
	if d.line > 0 {
		d.doc.MaxBytes = c.opts.most(maxLine)
	}
	return d.doc.Parse(data, d.name)
}

// readRecord reads the document as resources and reports whether it is a
// resource.
func (d *document) readRecord() bool {
	d.rec.Read(&d.doc)
	d.read = true
	root := d.rec.Root()
	d.resource = root != nil && root.Type != ""
	return d.resource
}

// resources runs the layers that check the document as resources.
func (c *checker) resources(d *document) {
	for i := range d.rec.Resources {
		if d.rec.Resources[i].Owner == resources.Nowhere {
			d.resources++
		}
	}
	c.invariants.Check(&c.structure, d.add)
	vitals.Check(&c.structure, d.add)
	c.profiles(d)
	if code := c.rules.Check(&d.rec, &c.structure, c.library, d.line > 0, d.add); code != doc.None && !c.unchecked {
		c.unchecked = true
		d.codeNotChecked(code)
	}
	c.clinical.Check(&d.rec, d.add)
	d.alone()
}

// Notes on rules that were not evaluated.
const (
	noteCodes     = "codes outside the validator's own tables: no terminology server is asked"
	noteAlone     = "the values of a session against each other, where they stand on lines of NDJSON"
	noteUnread    = "documents that could not be read to their end, beyond their bytes"
	noteElsewhere = "computed values whose inputs are in other documents, where many thousand values lie between"
)

// ruleNotChecked is raised once for all documents.
const ruleNotChecked = "term-not-checked"

func (d *document) codeNotChecked(code doc.Node) {
	f := d.doc.Finding(code, ruleNotChecked, issue.T("codes outside the validator's own tables were not looked up; this is the first of them"))
	f.Value = string(d.doc.Str(code))
	d.add(f)
	d.notes = append(d.notes, noteCodes)
}

// alone notes that the values of a session were not compared with each other
// because each is on a line of its own.
func (d *document) alone() {
	if d.line > 0 && d.rec.Root().PartOf != doc.None {
		d.notes = append(d.notes, noteAlone)
	}
}

// profiles checks the document against claimed and requested profiles, and
// checks its extensions. It reads definitions on demand.
func (c *checker) profiles(d *document) {
	if len(c.opts.Profiles) == 0 && !profile.IsClaimed(&d.rec) && !profile.HasExtensions(&c.structure) {
		return
	}
	if c.profile == nil {
		asked := profile.Options{Profiles: c.opts.Profiles, MustSupport: c.opts.MustSupport}
		c.profile = profile.New(c.library, asked)
	}
	c.profile.Check(&c.structure, &d.rec, d.add)
	d.notes = append(d.notes, c.profile.Notes()...)
}

func (d *document) skipped() {
	f := issue.At("fhir-not-checked")
	f.File = d.name
	f.Details = issue.T("the document could not be read to its end, so only its bytes were checked")
	d.add(f)
	d.notes = append(d.notes, noteUnread)
}
