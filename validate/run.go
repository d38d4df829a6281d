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

// run gathers what one call of Paths or Bytes finds, document by document in
// their order, and compares the documents with each other.
type run struct {
	opts   Options
	out    Report
	counts map[Count]int // Count with N left at zero

	month    month.Month
	ledger   *recompute.Ledger // nil for documents each by itself
	expected month.Expected    // as the latest manifest says
	notes    map[string]bool
	// full tells that there is no room for more findings; then those from
	// lesser on are errors.
	full   bool
	lesser int
}

func newRun(opts Options) *run {
	return &run{opts: opts, notes: map[string]bool{}, counts: map[Count]int{}}
}

// reset forgets the documents before, but not the memory they took.
func (r *run) reset() {
	r.out, r.full = Report{}, false
	r.month.Reset()
	clear(r.notes)
	clear(r.counts)
}

// take compares a checked document with those before it and keeps what was
// found.
func (r *run) take(from month.Source, o *outcome) {
	r.out.Resources += o.resources
	r.compare(from, o)
	for i := range o.found {
		if f := &o.found[i]; !r.isTold(f) {
			r.accept(f, o.namesAt(f)...)
			r.keep(*f)
		}
	}
	for _, note := range o.notes {
		r.note(note)
	}
}

// maxNotes is how many notes on what was not checked are kept: an input may name
// another profile on each of its lines.
const (
	maxNotes = 1000
	noteMore = "more of this kind, which is not listed"
)

// note keeps what was not checked, once.
func (r *run) note(text string) {
	if len(r.notes) >= maxNotes && !r.notes[text] {
		text = noteMore
	}
	r.notes[text] = true
}

// isTold reports a finding that says what is not checked, and was told of a
// document before.
func (r *run) isTold(f *issue.Finding) bool {
	return f.Rule == ruleNotChecked && r.notes[noteCodes] || profile.IsNote(*f) && r.notes[f.Details]
}

// limit is how many findings are kept.
func (r *run) limit() int {
	if r.opts.MaxFindings > 0 {
		return r.opts.MaxFindings
	}
	return DefaultMaxFindings
}

// accept marks a finding that the list of accepted findings names; names are
// those of its resource.
func (r *run) accept(f *issue.Finding, names ...string) {
	if r.opts.Accept != nil {
		r.opts.Accept.Apply(f, names...)
	}
}

// keepLast is keep for a finding of no document at hand.
func (r *run) keepLast(f issue.Finding) {
	r.accept(&f)
	r.keep(f)
}

// keep puts a finding into the report, as far as there is room. For an error
// that comes when there is none left, the last finding that is no error goes.
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

// conclude compares the documents and sorts what was found.
func (r *run) conclude() {
	if r.ledger != nil {
		r.ledger.Finish(r.keepLast)
		if r.ledger.Full() {
			r.note(noteElsewhere)
		}
	}
	r.month.Finish(r.expected, max(r.limit()-len(r.out.Findings), 0), r.keepLast)
	if r.opts.Accept != nil {
		r.opts.Accept.Report(r.keep)
	}
	if note := r.month.NotCompared(); note != "" {
		r.note(note)
	}
	issue.Sort(r.out.Findings)
}

// complete fills in what the report says beside the findings.
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
