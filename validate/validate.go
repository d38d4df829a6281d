// Package validate is the entry point of the validator: it reads any FHIR R4
// JSON (a document, a folder, NDJSON, standard input), runs the layers in
// order and collects their findings.
//
// The layers are separate packages: JSON (doc), the structure of R4
// (structure), on request the published JSON Schema (schema), invariants
// (invariant), vital signs (vitals), profiles (profile), references, units,
// codes and origin (rules), clinical limits and arithmetic (clinical), computed
// values (recompute), and all documents together (month). This package defines
// their order and passes each the results it needs.
//
// An empty list of findings means that no check that ran found a fault.
// [Report.NotChecked] lists what was not checked. The package does not judge a
// treatment.
package validate

import (
	"context"
	"io"

	"runsheet.example/profiles"
	"runsheet.example/validate/accept"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/recompute"
	"runsheet.example/validate/resources"
)

// Options selects the checks. The zero value runs every check but the
// published JSON Schema.
type Options struct {
	// Schema also runs the published JSON Schema, a second engine for the
	// structure, independent of ours and slower.
	Schema bool
	// Manifest is the path of a month's manifest.json; "" uses the
	// manifest.json of each given folder, if any.
	Manifest string
	// Packages are searched for profiles, the last one first, before our own
	// package and R4 itself.
	Packages []*profile.Package
	// Profiles are canonical URLs of profiles to apply whether or not a
	// resource claims them; see profile.Options. Known profiles that resources
	// claim always apply.
	Profiles []string
	// Codes are the codes of a receiver: each must stand beside the code of
	// ours that it is mapped from. Nil checks none.
	Codes *profiles.CodeMap
	// MustSupport also reports absent must-support elements of an applied
	// profile.
	MustSupport bool
	// MaxBytes limits one document or one NDJSON line; zero means the limit of
	// the parser, doc.DefaultMaxBytes.
	MaxBytes int
	// MaxFindings limits the findings that a Report keeps; zero means
	// DefaultMaxFindings. Report.Dropped counts the rest. Errors take
	// precedence.
	MaxFindings int
	// Jobs is the number of documents that [Paths] checks concurrently; zero
	// means the number of usable processors. The report does not depend on it.
	Jobs int
	// Accept, if set, marks the accepted findings and reports faults of the
	// list itself.
	Accept *accept.List
	// ListFiles fills Report.FileNames.
	ListFiles bool
	// Flat reads a folder without the folders in it, and follows no link.
	Flat bool
	// Record, if set, receives each resource or Bundle that could be read, with
	// its file. It is called concurrently and in any order; the index is valid
	// until it returns.
	Record func(file string, rec *resources.Index)
	// Value, if set, receives each computed value as compared, in the order of
	// the comparisons.
	Value func(recompute.Row)
	// Watch, if set, receives the progress of [Paths] repeatedly and once at
	// the end. An error from it stops the work.
	Watch func(Progress) error
}

// DefaultMaxFindings is the default limit of findings in a Report: far more
// than a person reads, and small enough for any memory.
const DefaultMaxFindings = 100_000

// Report is the result of a call of [Paths].
type Report struct {
	// Files and Resources count the input; an NDJSON line is a resource of its
	// file, a Bundle counts itself and each entry.
	Files     int
	Resources int
	// FileNames are the files read, as named in findings, on request.
	FileNames []string
	// Counts are of all findings by rule, dropped ones included, worst first.
	Counts []Count
	// Dropped counts findings beyond Options.MaxFindings. DroppedErrors of
	// them are errors that are not accepted, which [Report.HasErrors]
	// includes.
	Dropped       int
	DroppedErrors int
	// NotChecked describes in plain words what no layer could check.
	NotChecked []string
	// Findings are sorted by file, line and rule.
	Findings []issue.Finding
}

// HasErrors reports whether there is an error that is not accepted.
func (r *Report) HasErrors() bool { return r.DroppedErrors > 0 || issue.HasErrors(r.Findings) }

// Paths checks files, folders (every .json and .ndjson below them) and, for
// the path "-", standard input. Folders are walked in lexical order. It
// returns an error only for input that it cannot read; every fault of the data
// is in the Report. It stops with ctx's error when ctx is done.
func Paths(ctx context.Context, paths []string, stdin io.Reader, opts Options) (*Report, error) {
	r := newRun(opts)
	r.ledger = &recompute.Ledger{Values: opts.Value}
	return r.read(ctx, paths, stdin)
}

// Validator checks documents one after another, each by itself, and reuses its
// memory. It is not safe for concurrent use.
type Validator struct {
	r *run
	w *worker
	o outcome
}

// New returns a Validator. It ignores Options.Manifest and the options that
// concern several documents.
func New(opts Options) *Validator {
	r := newRun(opts)
	r.month.Single = true
	return &Validator{r: r, w: r.worker()}
}

// Bytes checks one document and returns its findings, sorted; the slice
// belongs to the caller.
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
