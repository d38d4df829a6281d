package validate

import (
	"cmp"
	"maps"
	"slices"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/recompute"
)

// run collects the findings of one call of Paths or Bytes, document by
// document in order, and compares the documents with each other.
type run struct {
	opts   Options
	out    Report
	counts map[Count]int // Count with N set to zero

	month  month.Month
	ledger *recompute.Ledger // nil without a comparison of documents
	notes  map[string]bool
	// full reports that there is no room for more findings; the findings from
	// lesser on are then errors.
	full   bool
	lesser int
}

func newRun(opts Options) *run {
	return &run{opts: opts, notes: map[string]bool{}, counts: map[Count]int{}}
}

// reset clears the run and keeps its memory.
func (r *run) reset() {
	r.out, r.full = Report{}, false
	r.month.Reset()
	clear(r.notes)
	clear(r.counts)
}

// take compares a checked document with earlier ones and keeps its findings.
func (r *run) take(from month.Source, o *outcome) {
	r.out.Resources += o.resources
	r.compare(from, o)
	for i := range o.found {
		if f := &o.found[i]; !r.isRepeated(f) {
			r.accept(f, o.namesAt(f)...)
			r.keep(*f)
		}
	}
	for _, note := range o.notes {
		r.note(note)
	}
}

// maxNotes limits the notes on what was not checked: every line of an input
// may claim another profile.
const (
	maxNotes = 1000
	noteMore = "more of this kind, which is not listed"
)

// note keeps a note once.
func (r *run) note(text string) {
	if len(r.notes) >= maxNotes && !r.notes[text] {
		text = noteMore
	}
	r.notes[text] = true
}

// isRepeated reports a finding about an unevaluated rule that an earlier document
// already reported.
func (r *run) isRepeated(f *issue.Finding) bool {
	return f.Rule == ruleNotChecked && r.notes[noteCodes] || profile.IsNote(*f) && r.notes[f.Details.String()]
}

// limit is the number of findings kept.
func (r *run) limit() int {
	if r.opts.MaxFindings > 0 {
		return r.opts.MaxFindings
	}
	return DefaultMaxFindings
}

// accept marks a finding that the list of accepted findings contains; names
// identify its resource.
func (r *run) accept(f *issue.Finding, names ...string) {
	if r.opts.Accept != nil {
		r.opts.Accept.Apply(f, names...)
	}
}

// keepLast is keep for a finding without a current document.
func (r *run) keepLast(f issue.Finding) {
	r.accept(&f)
	r.keep(f)
}

// keep adds a finding to the report if there is room. Without room, an error
// replaces the last finding that is not an error.
func (r *run) keep(f issue.Finding) {
	r.counts[Count{Rule: f.Rule, Severity: f.Severity, Accepted: f.Accepted != nil}]++
	if len(r.out.Findings) < r.limit() {
		r.out.Findings = append(r.out.Findings, f)
		return
	}
	r.out.Dropped++
	if !r.full {
		r.full, r.lesser = true, len(r.out.Findings)
	}
	if !f.Counts(issue.Error) {
		return
	}
	for r.lesser > 0 {
		r.lesser--
		if !r.out.Findings[r.lesser].Counts(issue.Error) {
			r.out.Findings[r.lesser] = f
			return
		}
	}
	r.out.DroppedErrors++
}

// finish compares the documents and completes the report.
func (r *run) finish() *Report {
	r.conclude()
	r.complete()
	return &r.out
}

// conclude compares the documents and sorts the findings.
func (r *run) conclude() {
	if r.ledger != nil {
		r.ledger.Finish(r.keepLast)
		if r.ledger.Full() {
			r.note(noteElsewhere)
		}
	}
	r.month.Finish(max(r.limit()-len(r.out.Findings), 0), r.keepLast)
	if r.opts.Accept != nil {
		r.opts.Accept.Report(r.keep)
	}
	if note := r.month.NotCompared(); note != "" {
		r.note(note)
	}
	issue.Sort(r.out.Findings)
}

// complete sets the fields of the report other than the findings.
func (r *run) complete() {
	r.out.NotChecked = slices.Sorted(maps.Keys(r.notes))
	r.out.Counts = nil
	for c, n := range r.counts {
		c.N = n
		r.out.Counts = append(r.out.Counts, c)
	}
	slices.SortFunc(r.out.Counts, func(a, b Count) int {
		order := cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(a.Rule, b.Rule))
		if order == 0 && a.Accepted != b.Accepted {
			order = map[bool]int{false: -1, true: 1}[a.Accepted]
		}
		return order
	})
}
