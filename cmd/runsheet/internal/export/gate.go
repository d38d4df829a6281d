package export

import (
	"context"
	"errors"
	"runtime"
	"slices"
	"strings"
	"sync"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// Check runs the gate of an export without writing: it maps and validates each
// ready session. It marks a session that fails as broken and reports it at its
// cell in the log, so that an export writes every session that is ready after
// Check. It returns the findings so far with its own, sorted.
//
// It writes nothing, so it leaves out the published JSON Schema, the slowest
// check: what that refuses, the structure layer refuses too.
func Check(ctx context.Context, log *session.Log, findings []issue.Finding, opts fhirmap.Options) ([]issue.Finding, error) {
	g := gate{log: log, opts: opts, wanted: every, findings: slices.Clone(findings)}
	return g.run(ctx, func() error { return nil }, func(ready) error { return nil })
}

// Month is the sessions of a log that pass the gate, as resources, with its
// reports, and the findings so far with those of the gate, sorted.
func Month(ctx context.Context, log *session.Log, findings []issue.Finding, opts fhirmap.Options, reports ...Page) (*fhirmap.Month, []issue.Finding, error) {
	var month fhirmap.Month
	g := gate{log: log, opts: opts, wanted: every, schema: true, findings: slices.Clone(findings), reports: reports}
	findings, err := g.run(ctx,
		func() error { month = fhirmap.Month{}; return nil },
		func(r ready) error { month.Add(r.record); return nil })
	month.LeftOut = g.leftOut()
	return &month, findings, err
}

func every(*session.Session) bool { return true }

// gate passes the sessions without errors from the whole validator, so that we
// deliver nothing that we would refuse ourselves. It checks transaction Bundles for every form: a form
// changes references, never content.
type gate struct {
	log    *session.Log
	opts   fhirmap.Options
	wanted func(*session.Session) bool
	schema bool // runs the published JSON Schema as well
	// findings are those of the log so far, and then those of the gate.
	findings []issue.Finding
	// partly reports that only some days were requested; then the weeks, which
	// cover the whole log, are left out.
	partly bool
	// reports are the reports for a visit to write.
	reports []Page
}

// ready is a mapped and validated session.
type ready struct {
	record fhirmap.SessionRecord
	// bundle is the record as a transaction Bundle, as delivered.
	bundle []byte
	found  []issue.Finding // errors only, at cells of the log
}

// leftOut lists the requested sessions that do not pass.
func (g *gate) leftOut() []*session.Session {
	var out []*session.Session
	for _, s := range g.log.Sessions {
		if s.Broken && g.wanted(s) {
			out = append(out, s)
		}
	}
	return out
}

// run passes each valid session to take, in order. If one is not valid, run
// marks it as broken and starts again, since values of later sessions use it;
// again discards what was taken.
func (g *gate) run(ctx context.Context, again func() error, take func(ready) error) ([]issue.Finding, error) {
	for {
		taken := false
		found, err := g.pass(ctx, func(r ready) error { taken = true; return take(r) })
		held := len(found) > 0
		if err == nil && !held && taken {
			found, err = g.besides(take)
		}
		if err != nil {
			return nil, err
		}
		for _, f := range found {
			if g.blame(f) {
				held = true
			} else {
				g.findings = append(g.findings, f)
			}
		}
		if !held {
			issue.Sort(g.findings)
			return g.findings, nil
		}
		if err := again(); err != nil {
			return nil, err
		}
	}
}

// blame makes an error of the warning that a record fails for: one about a cell
// that the record is made from, or else about a number of log.toml, which
// concerns every session. It reports false where no warning explains it.
func (g *gate) blame(f issue.Finding) bool {
	cause, rank := -1, 0
	for i, k := range g.findings {
		if len(k.Cells) == 0 || !strings.HasPrefix(k.Rule, "clin-") || k.Severity != issue.Warning && k.Severity != issue.Error {
			continue
		}
		r := 0
		switch first := slices.Contains(f.Cells, k.Cells[0]); {
		case first && strings.HasPrefix(k.Expected.String(), "perhaps "):
			r = 4
		case first:
			r = 3
		case slices.ContainsFunc(k.Cells, func(cell issue.Cell) bool { return slices.Contains(f.Cells, cell) }):
			r = 2
		case k.Session == "" && strings.HasPrefix(k.Cells[0].Heading, "prescription."):
			r = 1
		}
		if r > rank {
			cause, rank = i, r
		}
	}
	if cause < 0 {
		return false
	}
	g.findings[cause].Severity, g.findings[cause].Accepted = issue.Error, nil
	for _, s := range g.log.Sessions {
		s.Broken = s.Broken || g.findings[cause].Session == "" || s.ID == g.findings[cause].Session
	}
	return true
}

// besides passes the records without a session to take, after the sessions.
func (g *gate) besides(take func(ready) error) (found []issue.Finding, err error) {
	var all []recordOf
	if !g.partly {
		all = append(all, (*fhirmap.Mapping).Weeks)
	}
	for _, page := range g.reports {
		all = append(all, func(m *fhirmap.Mapping) (*fhirmap.SessionRecord, error) { return page.mapped(m, g.log) })
	}
	if !g.partly && g.opts.AttachLog {
		for at := range g.log.Sources {
			all = append(all, func(m *fhirmap.Mapping) (*fhirmap.SessionRecord, error) { return m.LogFile(at) })
		}
	}
	for _, of := range all {
		more, err := g.beside(of, take)
		if err != nil {
			return nil, err
		}
		found = append(found, more...)
	}
	return found, nil
}

// Page makes a report for a visit from a log whose sessions with errors are
// marked; nil if none is in its days.
type Page func(*session.Log) (*fhirmap.Report, error)

// mapped makes and maps the report.
func (p Page) mapped(m *fhirmap.Mapping, log *session.Log) (*fhirmap.SessionRecord, error) {
	page, err := p(log)
	if page == nil || err != nil {
		return nil, err
	}
	return m.Report(*page)
}

// Report is the report of a log as a transaction Bundle, checked like the
// Bundles of an export, and the findings so far with those of the checks; nil
// if there is none.
func Report(ctx context.Context, log *session.Log, findings []issue.Finding, opts fhirmap.Options, page Page) (bundle []byte, _ []issue.Finding, err error) {
	if findings, err = Check(ctx, log, findings, opts); err != nil {
		return nil, nil, err
	}
	g := gate{log: log, opts: opts, schema: true}
	found, err := g.beside(
		func(m *fhirmap.Mapping) (*fhirmap.SessionRecord, error) { return page.mapped(m, log) },
		func(r ready) error { bundle = append(r.bundle, '\n'); return nil })
	if err == nil && len(found) > 0 {
		err = errors.New(found[0].Details.String())
	}
	return bundle, findings, err
}

// recordOf makes a record without a session; nil if there is none.
type recordOf func(*fhirmap.Mapping) (*fhirmap.SessionRecord, error)

// beside passes a record without a session to take. If it is not valid it
// leaves it out and reports that at the cells of its first invalid resource.
func (g *gate) beside(of recordOf, take func(ready) error) ([]issue.Finding, error) {
	mappings, err := newMappings(g.log, g.checked(), g.opts)
	if err != nil {
		return nil, err
	}
	record, err := of(mappings.checked)
	if err != nil || record == nil {
		return nil, err
	}
	bundle, err := record.Transaction()
	if err != nil {
		return nil, err
	}
	for _, f := range validate.New(validate.Options{Schema: g.schema, Codes: g.opts.Map}).Bytes(bundle, FileName(*record)) {
		if f.Severity == issue.Error {
			out := withCells(issue.At("log-record"), f, *record)
			switch record.Label() {
			case fhirmap.ReportLabel:
				out.Details = issue.T("the report for the visit breaks the rule {}, so it is left out", f.Rule)
			case fhirmap.LogLabel:
				out.Details = issue.T("the attached log breaks the rule {}, so it is left out", f.Rule)
			default:
				out.Details = issue.T("what is computed for a week breaks the rule {}, so the weeks are left out", f.Rule)
			}
			out.Mend = issue.T("look at the prescription (residual clearance, dialyser), at the blood samples and at the numbers of the week")
			return []issue.Finding{out}, nil
		}
	}
	if mappings.other != nil {
		if record, err = of(mappings.other); err != nil {
			return nil, err
		}
		if bundle, err = record.Transaction(); err != nil {
			return nil, err
		}
	}
	return nil, take(ready{record: *record, bundle: bundle})
}

// checked are the options for validating Bundles: with the local codes, since
// computed values are recomputed by them.
func (g *gate) checked() fhirmap.Options {
	checked := g.opts
	checked.References, checked.LogicalPatient, checked.CodesOnly = fhirmap.ByURN, false, false
	return checked
}

// task is one session for a worker.
type task struct {
	at   int
	done chan ready
}

// pass sends each session through one of several workers and receives them in
// order. The number of sessions in memory is limited to the workers and a few
// that wait.
func (g *gate) pass(ctx context.Context, take func(ready) error) ([]issue.Finding, error) {
	mappings, err := newMappings(g.log, g.checked(), g.opts)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithCancel(ctx)
	var workers sync.WaitGroup
	defer workers.Wait()
	defer cancel()
	n := runtime.GOMAXPROCS(0)
	tasks, ordered := make(chan task, n), make(chan task, 2*n)
	now := Progress{Rows: g.log.Tally.Rows}
	for _, s := range g.log.Sessions {
		if !s.Broken && g.wanted(s) {
			now.Of++
		}
	}
	workers.Go(func() {
		defer close(ordered)
		defer close(tasks)
		for i, s := range g.log.Sessions {
			if s.Broken || !g.wanted(s) {
				continue
			}
			t := task{i, make(chan ready, 1)}
			for _, to := range []chan task{tasks, ordered} {
				select {
				case to <- t:
				case <-ctx.Done():
					return
				}
			}
		}
	})
	for range n {
		workers.Go(func() {
			v := validate.New(validate.Options{Schema: g.schema, Codes: g.opts.Map})
			for t := range tasks {
				t.done <- mappings.session(v, t.at)
			}
		})
	}
	return g.collect(ctx, ordered, now, take)
}

// collect receives the results of the workers. It marks sessions as broken
// only when no worker reads them any more.
func (g *gate) collect(ctx context.Context, ordered <-chan task, now Progress, take func(ready) error) ([]issue.Finding, error) {
	watch := WatchOf(ctx)
	var findings []issue.Finding
	var broken []int
	for t := range ordered {
		var r ready
		select {
		case r = <-t.done:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
		now.Sessions++
		now.Resources += len(r.record.Resources)
		watch(now)
		if len(r.found) > 0 {
			findings, broken = append(findings, r.found...), append(broken, t.at)
		}
		if len(broken) > 0 {
			continue
		}
		if err := take(r); err != nil {
			return nil, err
		}
	}
	for _, at := range broken {
		g.log.Sessions[at].Broken = true
	}
	return findings, ctx.Err()
}

// mappings map a log for validation, and for delivery where that differs.
type mappings struct {
	log     *session.Log
	checked *fhirmap.Mapping
	other   *fhirmap.Mapping
}

func newMappings(log *session.Log, checked, delivered fhirmap.Options) (*mappings, error) {
	m := &mappings{log: log}
	var err error
	if m.checked, err = fhirmap.NewMapping(log, checked); err == nil && checked != delivered {
		m.other, err = fhirmap.NewMapping(log, delivered)
	}
	return m, err
}

// session maps and validates one session.
func (m *mappings) session(v *validate.Validator, at int) ready {
	record, err := m.checked.Session(at)
	var bundle []byte
	if err == nil {
		bundle, err = record.Transaction()
	}
	if err != nil {
		return ready{found: unmapped(m.log.Sessions[at], err)}
	}
	var found []issue.Finding
	for _, f := range v.Bytes(bundle, FileName(record)) {
		if f.Severity == issue.Error { // the checks of the log report the others
			found = append(found, forLog(f, record))
		}
	}
	if m.other != nil && len(found) == 0 {
		if record, err = m.other.Session(at); err == nil {
			bundle, err = record.Transaction()
		}
		if err != nil {
			found = unmapped(m.log.Sessions[at], err)
		}
	}
	return ready{record, bundle, found}
}

func unmapped(s *session.Session, err error) []issue.Finding {
	f := refused(s)
	f.Details = issue.T("no record can be made from this session: {}", err.Error())
	return []issue.Finding{f}
}

func refused(s *session.Session) issue.Finding {
	f := issue.At("log-record")
	f.Session, f.File, f.Cells = s.ID, s.Cell.File, []issue.Cell{s.Cell}
	return f
}

// forLog converts a finding about a record to one about the log: it is at the
// cells of the resource and has a text for the person who keeps the log.
func forLog(f issue.Finding, record fhirmap.SessionRecord) issue.Finding {
	out := withCells(refused(record.Session), f, record)
	out.Details = issue.T("the record made from this breaks the rule {}, so the session cannot be sent", f.Rule)
	if strings.HasPrefix(f.Rule, "clin-record-") { // a value, not its format
		out.Mend = issue.T("one of the numbers that this is or is computed from is wrong; look at the cells named, at log.toml and at the other findings")
	}
	return out
}

// withCells returns the finding out with the cells of the resource of f.
func withCells(out, f issue.Finding, record fhirmap.SessionRecord) issue.Finding {
	if entry, ok := f.Entry(); ok && entry < len(record.Resources) {
		if cells := record.Resources[entry].Cells; len(cells) > 0 {
			out.Cells = slices.Clone(cells)
			out.File = cells[0].File
		}
	}
	return out
}
