// Package validate is the front door of the validator: it takes any FHIR R4
// JSON (a document, a folder, NDJSON, standard input), runs the layers over
// it in order and collects what they find.
//
// The layers are packages of their own: the bytes (doc), structure, the
// published JSON Schema (schema), invariants and vital signs, profiles
// (profile), references and Bundle rules (reference), units (units), codes
// (term), clinical limits and arithmetic (clinical), recomputation of computed
// values (recompute), provenance (provenance) and the month as a whole
// (month). This package knows their order and what each needs from those
// before it, nothing more.
//
// "No finding" means that none of the checks that ran found anything. What
// was not checked is said in [Report.NotChecked]; whether a treatment was any
// good is not a question this package answers.
package validate

import (
	"context"
	"io"

	"runsheet.example/validate/accept"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/recompute"
)

// Options says what to check. The zero value checks everything but the
// published JSON Schema.
type Options struct {
	// Schema also runs the published JSON Schema, a second engine for the
	// structure, independent of ours and slower.
	Schema bool
	// Manifest is the path of a month's manifest.json; "" takes the
	// manifest.json of each folder given, where there is one.
	Manifest string
	// Packages are where profiles are looked for, the last one first, before
	// our own package and R4 itself.
	Packages []*profile.Package
	// Profiles are canonical URLs of profiles that are applied whether or not
	// a resource claims them, see profile.Options. Profiles that resources
	// claim are always applied, as far as they are known.
	Profiles []string
	// MustSupport also tells which must-support elements of an applied
	// profile are absent.
	MustSupport bool
	// MaxBytes limits one document or one NDJSON line; zero means the limit
	// of the parser, see doc.DefaultMaxBytes.
	MaxBytes int
	// MaxFindings limits how many findings a Report keeps; zero means
	// DefaultMaxFindings. What is beyond is counted in Report.Dropped; errors
	// are kept before all others.
	MaxFindings int
	// Jobs is how many documents [Paths] checks at once; zero means as many
	// as there are processors to use. The report is the same for any number.
	Jobs int
	// Accept, when set, marks the findings that are accepted, and adds what is
	// wrong with the list itself.
	Accept *accept.List
	// ListFiles fills in Report.FileNames.
	ListFiles bool
	// Watch, when set, is told by [Paths] how far it has come, again and
	// again and a last time at the end. An error from it ends the work.
	Watch func(Progress) error
}

// DefaultMaxFindings is how many findings a Report keeps when Options do not
// say: many more than a person reads, few enough for any memory.
const DefaultMaxFindings = 100_000

// Report is what a call of [Paths] found.
type Report struct {
	// Files and Resources count what was read; an NDJSON line is a resource
	// of its file, a Bundle counts itself and each entry.
	Files     int
	Resources int
	// FileNames are the files read, as findings name them, if asked for.
	FileNames []string
	// Counts are of all findings by rule, those that were dropped included,
	// the worst first.
	Counts []Count
	// Dropped counts findings beyond Options.MaxFindings. They were errors
	// that nobody accepts in DroppedErrors cases, which count for [Report.HasErrors].
	Dropped       int
	DroppedErrors int
	// NotChecked names in plain words what no layer could check.
	NotChecked []string
	// Findings are sorted by file, line and rule.
	Findings []issue.Finding
}

// HasErrors reports whether anything found is an error that is not accepted.
func (r *Report) HasErrors() bool { return r.DroppedErrors > 0 || issue.HasErrors(r.Findings) }

// Paths checks files, folders (every .json and .ndjson below them) and, for
// the path "-", standard input. Folders are walked in lexical order. It
// returns an error only for what could not be read at all; everything the
// data says is in the Report. It stops with ctx's error when ctx is done.
func Paths(ctx context.Context, paths []string, stdin io.Reader, opts Options) (*Report, error) {
	r := newRun(opts)
	r.ledger = new(recompute.Ledger)
	return r.read(ctx, paths, stdin)
}

// Validator checks one document after the other, each by itself, and keeps its
// memory from one to the next. It must not be used by two goroutines at once.
type Validator struct {
	r *run
	w *worker
	o outcome
}

// New returns a Validator. Options.Manifest is not used, nor what concerns many
// documents.
func New(opts Options) *Validator {
	r := newRun(opts)
	r.month.Single = true
	return &Validator{r: r, w: r.worker()}
}

// Bytes checks one document and returns its findings, sorted; the slice is the
// caller's.
func (v *Validator) Bytes(data []byte, name string) []issue.Finding {
	v.r.reset()
	v.w.unchecked = false
	v.w.doc.begin(name, 0, nil, "")
	v.w.check(v.w.doc, data)
	v.w.finish(&v.o)
	v.r.take(month.Source{File: name}, &v.o)
	v.r.conclude()
	return v.r.out.Findings
}
