// Package export reads and checks a log in any of its shapes ([Input]) and
// converts it to the files that a clinic receives. Each session passes a gate
// first: it is mapped, its record is validated, and only valid records are
// written. [Check] runs the same gate without writing.
//
// The package maps, validates and writes sessions one by one, so that memory
// does not grow with their number, except in the forms that are one Bundle
// ([Collection], [Document]). It writes files under temporary names and
// renames them in one step (package output).
package export

import (
	"bytes"
	"context"
	"io"
	"slices"
	"time"

	"filippo.io/age"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/hl7v2"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// Form is the format of the exported files.
type Form string

// The forms.
const (
	Sessions   Form = "sessions"   // a folder, one transaction Bundle for each session, one for the weeks, one for a report
	NDJSON     Form = "ndjson"     // a folder, one file for each resource type
	Collection Form = "collection" // one collection Bundle
	Document   Form = "document"   // one document Bundle
	HL7v2      Form = "hl7v2"      // a folder, one HL7 v2 message for each session, one for the weeks, one for a report, and one file of all
)

// OneBundle reports whether the form is one Bundle in one file.
func (f Form) OneBundle() bool { return f == Collection || f == Document }

// Options control the content and place of an export.
type Options struct {
	Mapping fhirmap.Options
	Form    Form
	Pretty  bool // indent Bundles
	// From and To are the first and the last day of the sessions to write;
	// zero means no limit. Computed values still use the other sessions.
	From, To time.Time
	// Report adds a report for a visit, unless it is nil.
	Report Page
	// Out is the folder or file; empty writes one file to Stdout: the one Bundle,
	// or a zip of the folder.
	Out    string
	Stdout io.Writer
	Force  bool
	// Recipients, if any, are the keys to encrypt one file for: the one
	// Bundle, or a zip of the folder.
	Recipients []age.Recipient
	// Kept is told of each message of the form [HL7v2].
	Kept Keeper
}

// Keeper keeps what messages were written.
type Keeper interface {
	// Begin discards what was kept: the messages begin anew.
	Begin()
	// Keep is called before a message is written; an error ends the export.
	Keep(fhirmap.SessionRecord, hl7v2.Message) error
}

// Result is the result of an export.
type Result struct {
	Sessions int // written
	LeftOut  int // held back
	Outcome  output.Outcome
}

// Write exports a log that was read and checked; findings are the findings so
// far. It returns them with those of the gate, sorted, without those of
// sessions outside the requested days. If no session passes, it writes
// nothing.
func Write(ctx context.Context, log *session.Log, findings []issue.Finding, opts Options) (Result, []issue.Finding, error) {
	w := &writer{log: log, opts: opts}
	g := gate{log: log, opts: opts.Mapping, wanted: w.wanted, schema: true, partly: !opts.From.IsZero() || !opts.To.IsZero()}
	if opts.Report != nil {
		g.reports = []Page{opts.Report}
	}
	g.findings = w.inDays(findings)
	defer w.close()
	findings, err := g.run(ctx, w.begin, w.take)
	if err != nil {
		return Result{}, nil, err
	}
	result := Result{Sessions: w.sessions, LeftOut: len(g.leftOut())}
	if result.Sessions == 0 {
		return result, findings, nil
	}
	if err := w.finish(g.leftOut(), findings); err != nil {
		return Result{}, nil, err
	}
	result.Outcome, err = w.place.Commit()
	return result, findings, err
}

// writer writes sessions into the files of a form.
type writer struct {
	log  *session.Log
	opts Options
	// place and form are nil until a session passes.
	place    place
	form     form
	sessions int
}

// wanted reports whether a session is within the requested days.
func (w *writer) wanted(s *session.Session) bool {
	if !s.Date.OK() {
		return w.opts.From.IsZero() && w.opts.To.IsZero()
	}
	day := s.Date.Time.Format(time.DateOnly)
	return (w.opts.From.IsZero() || day >= w.opts.From.Format(time.DateOnly)) &&
		(w.opts.To.IsZero() || day <= w.opts.To.Format(time.DateOnly))
}

// inDays removes the findings about sessions outside the requested days.
func (w *writer) inDays(findings []issue.Finding) []issue.Finding {
	other := map[string]bool{}
	for _, s := range w.log.Sessions {
		if !w.wanted(s) {
			other[s.ID] = true
		}
	}
	var out []issue.Finding
	for _, f := range findings {
		if f.Session == "" || !other[f.Session] {
			out = append(out, f)
		}
	}
	return out
}

// begin discards the files written so far.
func (w *writer) begin() error {
	if w.place == nil {
		return nil
	}
	w.sessions, w.form = 0, newForm(w)
	return w.place.Clear()
}

func (w *writer) take(r ready) error {
	if w.place == nil {
		place, err := newPlace(w.opts)
		if err != nil {
			return err
		}
		w.place, w.form = place, newForm(w)
	}
	if r.record.Session != nil {
		w.sessions++
	}
	return w.form.add(r)
}

func (w *writer) close() {
	if w.place != nil {
		w.place.Close()
	}
}

// finish writes the files that follow the sessions, and the manifest last.
func (w *writer) finish(leftOut []*session.Session, findings []issue.Finding) error {
	listed, err := w.form.finish()
	if err != nil || w.opts.Form.OneBundle() {
		return err
	}
	whole := fhirmap.NewManifest(w.log, w.opts.Mapping, listed.files, leftOut, findings)
	whole.Bulk = listed.bulk
	if !w.opts.From.IsZero() || !w.opts.To.IsZero() {
		whole.Period = &manifest.Period{From: dayOf(w.opts.From), To: dayOf(w.opts.To)}
	}
	file, err := w.place.Create(manifest.Name)
	if err != nil {
		return err
	}
	if err := listed.write(file, whole); err != nil {
		return err
	}
	return file.Close()
}

func dayOf(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

// FileName returns the file name of a record's Bundle, from its identity: a
// file name contains nothing that the person wrote.
//
// Decision 10. File names carry no words of the log. Bundles are named by
// identity, and the manifest ties them to sessions.
func FileName(s fhirmap.SessionRecord) string {
	return nameFor(s, ".json")
}

func nameFor(s fhirmap.SessionRecord, ending string) string {
	if s.Session != nil {
		return fileName("", s.ID, ending)
	}
	return fileName(s.Label(), s.ID, ending)
}

func fileName(label, identity, ending string) string {
	if !slices.Contains(fhirmap.Besides, label) {
		label = "session"
	}
	return label + "-" + identity + ending
}

// IsBundle recognises an older export that is one Bundle: resources of ours
// carry our record identifier.
func IsBundle(head []byte) bool {
	return bytes.HasPrefix(head, []byte("{")) && bytes.Contains(head, []byte(`"Bundle"`)) &&
		bytes.Contains(head, []byte(profiles.RecordIdentifier))
}
