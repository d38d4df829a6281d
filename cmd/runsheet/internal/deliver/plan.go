package deliver

import (
	"fmt"
	"slices"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
)

// Plan is the difference between a log and what a server has of it.
type Plan struct {
	// Sessions are the sessions with changes, in the order of the log; then
	// sessions removed from the log, and last the records without a session.
	Sessions []SessionPlan
	// Kept are the labels of sessions at the server that have errors in the
	// log: they stay unchanged until the errors are corrected.
	Kept []string
	// Compared is the number of resources on both sides.
	Compared int
	// Unfinished are amendments that lack their Provenance, in sessions
	// without other changes.
	Unfinished int
}

// SessionPlan is the changes of one session.
type SessionPlan struct {
	Session Session // with every resource of the log; empty for a removed session
	Label   string
	New     []fhirmap.Resource
	// Shared are resources that sessions share and the server lacks.
	Shared  []fhirmap.Resource
	Correct []Correction
	// Withdraw are resources that should never have existed.
	Withdraw []receipt.Entry
	// Provenance reports that the amendment creates one; a new session has its
	// own among New.
	Provenance bool
}

// beside is the place of a record among those without a session, -1 for a
// session.
func (p SessionPlan) beside() int { return slices.Index(fhirmap.Besides, p.Label) }

// Empty reports that server and log agree.
func (p Plan) Empty() bool { return len(p.Sessions) == 0 && p.Unfinished == 0 }

// Counts sums up a plan in the form of the tally after it.
func (p Plan) Counts() Tally {
	var t Tally
	t.Created = p.Unfinished
	for _, s := range p.Sessions {
		t.Created += len(s.Shared) + len(s.New)
		if s.Provenance {
			t.Created++
		}
		for _, c := range s.Correct {
			if c.Kind == receipt.Amended {
				t.Amended++
			} else {
				t.Corrected++
			}
		}
		t.Withdrawn += len(s.Withdraw)
	}
	return t
}

// MakePlan compares the sessions of a log with the receipt. leftOut are the
// labels of sessions that could not be mapped.
//
// Decision 22. The plan shown before sending equals the result
// (TestPlanIsResult): it reads the server as sending does. It does not trust
// the receipt either: it first reads a hundred resources spread over it, and
// compares identifiers, since a restored server may assign ids again.
func MakePlan(r *receipt.Receipt, sessions []Session, leftOut []string, opts AmendOptions) Plan {
	var plan Plan
	seen := map[string]bool{}
	inLog := map[string]bool{}
	bySession := map[string][]receipt.Entry{}
	for _, e := range r.All() {
		bySession[e.Session] = append(bySession[e.Session], e)
	}
	for _, session := range sessions {
		inLog[session.Identity] = true
		p, compared := planSession(r, session, bySession[session.Identity], seen)
		plan.Compared += compared
		if len(p.New)+len(p.Correct)+len(p.Withdraw) > 0 {
			plan.Sessions = append(plan.Sessions, p)
		}
	}
	plan.Sessions = slices.DeleteFunc(plan.Sessions, func(s SessionPlan) bool { return s.closed(plan.Sessions, opts.Days) })
	plan.gone(r, inLog, leftOut)
	slices.SortStableFunc(plan.Sessions, func(a, b SessionPlan) int { return a.beside() - b.beside() }) // they depend on all sessions
	plan.besides(r, opts)
	return plan
}

// closed reports whether the changes are those of a report before the last
// session of the log whose sessions did not change. It stays as it was handed
// over: what was written later, such as a question for the next visit or the rest
// of its last week, belongs to a later report.
func (p SessionPlan) closed(all []SessionPlan, days map[string]time.Time) bool {
	if p.Label != fhirmap.ReportLabel || len(p.Correct) == 0 {
		return false
	}
	span, _ := fhirmap.SpanOf(p.Session.Resources[len(p.Session.Resources)-1].Role) // the report comes last
	before := span.To.AddDate(0, 0, 1-reportDays)
	if span.From.Before(before) {
		before = span.From
	}
	last := time.Time{}
	for _, day := range days {
		if day.After(last) {
			last = day
		}
	}
	return last.After(span.To) && !slices.ContainsFunc(all, func(s SessionPlan) bool {
		day, known := days[s.Label]
		return known && !day.Before(before) && !day.After(span.To)
	})
}

// reportDays is the number of days up to the last one of a report that its table
// counts, however short the report is.
const reportDays = 56

// Reports are the days of the reports that the server has: an amendment makes
// each again.
func Reports(r *receipt.Receipt) []fhirmap.Span {
	var out []fhirmap.Span
	for _, e := range r.All() {
		if span, ok := fhirmap.SpanOf(e.Role); ok && e.Status != receipt.Withdrawn {
			out = append(out, span)
		}
	}
	return out
}

// besides plans what accompanies the changes: the shared resources they need,
// and a Provenance for each session.
func (p *Plan) besides(r *receipt.Receipt, opts AmendOptions) {
	if opts.Messages {
		return
	}
	planned := map[string]bool{}
	touched := map[string]bool{}
	for i := range p.Sessions {
		s := &p.Sessions[i]
		_, known := r.Of(s.Session.Identity)
		s.Provenance = known && opts.hasProvenance()
		touched[s.Session.Identity] = true
		for _, resource := range s.needed(opts) {
			if _, there := r.Of(resource.Identity); !there && !planned[resource.Identity] {
				planned[resource.Identity] = true
				s.Shared = append(s.Shared, resource)
			}
		}
	}
	for _, a := range r.Amending {
		if touched[a.Session] || !opts.hasProvenance() || len(done(r, a)) == 0 {
			continue
		}
		touched[a.Session] = true
		p.Unfinished++
		if s := opts.Software; s != nil && !planned[s.Identity] {
			if _, there := r.Of(s.Identity); !there {
				planned[s.Identity] = true
				p.Unfinished++
			}
		}
	}
}

// needed are the shared resources that the changes of a session refer to, and
// the program, to which its Provenance refers.
func (s SessionPlan) needed(opts AmendOptions) []fhirmap.Resource {
	named := map[string]bool{}
	changed := s.New
	for _, c := range s.Correct {
		changed = append(changed[:len(changed):len(changed)], c.Resource)
	}
	for _, r := range changed {
		for _, identity := range references(r.JSON) {
			named[identity] = true
		}
	}
	var out []fhirmap.Resource
	for _, r := range s.Session.Resources {
		if named[r.Identity] && r.Shared() {
			out = append(out, r)
		}
	}
	if opts.Software != nil && s.Provenance && !named[opts.Software.Identity] {
		out = append(out, *opts.Software)
	}
	return out
}

// planSession compares one session with its entries. It sends shared resources
// only with a resource that needs them, so that a new version of the program
// alone changes nothing.
func planSession(r *receipt.Receipt, session Session, there []receipt.Entry, seen map[string]bool) (SessionPlan, int) {
	p := SessionPlan{Session: session, Label: session.Label}
	compared := 0
	mapped := map[string]bool{}
	patient := session.patientIdentity()
	changed := begunChanges(r, session.Identity)
	for _, resource := range session.Resources {
		mapped[resource.Identity] = true
		e, known := r.Of(resource.Identity)
		shared := resource.Shared()
		switch {
		case !known && shared:
			continue // see needed
		case !known:
			p.New = append(p.New, resource)
			changed[resource.Identity] = more
			continue
		case resource.Type == "Provenance" || resource.Type == "Patient" || shared && seen[resource.Identity]:
			continue // a Provenance describes an earlier event
		}
		seen[resource.Identity] = true
		compared++
		if e.Status == receipt.Withdrawn || e.SHA256 != Digest(resource.JSON, patient) {
			c := p.correction(e, resource, changed) // inputs come before values computed from them
			p.Correct = append(p.Correct, c)
			changed[resource.Identity] = c.change()
		}
	}
	for _, e := range there {
		if !mapped[e.Identity] && withdrawable(e) {
			p.Withdraw = append(p.Withdraw, e)
			compared++
		}
	}
	return p, compared
}

// gone plans the withdrawal of sessions that the log no longer has.
func (p *Plan) gone(r *receipt.Receipt, inLog map[string]bool, leftOut []string) {
	held := map[string]bool{}
	for _, label := range leftOut {
		held[label] = true
	}
	at := map[string]int{}
	kept := map[string]bool{}
	for _, e := range r.All() {
		switch {
		case e.Session == "" || inLog[e.Session] || !withdrawable(e):
		case held[e.Label]:
			if !kept[e.Label] {
				kept[e.Label] = true
				p.Kept = append(p.Kept, e.Label)
			}
		default:
			i, ok := at[e.Session]
			if !ok {
				i = len(p.Sessions)
				at[e.Session] = i
				p.Sessions = append(p.Sessions, SessionPlan{Session: Session{Identity: e.Session, Label: e.Label}, Label: e.Label})
			}
			p.Sessions[i].Withdraw = append(p.Sessions[i].Withdraw, e)
			p.Compared++
		}
	}
}

// RefilePlan withdraws everything that the server has of a record filed under
// another patient, that patient's devices included, because they also refer to
// the patient.
func RefilePlan(r *receipt.Receipt, opts AmendOptions) Plan {
	var plan Plan
	plan.gone(r, nil, nil)
	for _, e := range r.All() {
		if e.Type == "Device" && e.Status != receipt.Withdrawn && e.Role != fhirmap.RoleSoftware && len(plan.Sessions) > 0 {
			plan.Sessions[0].Withdraw = append(plan.Sessions[0].Withdraw, e)
		}
	}
	plan.besides(r, opts)
	return plan
}

// withdrawable reports whether an entry can be marked as entered in error and
// is not marked yet.
func withdrawable(e receipt.Entry) bool {
	switch e.Type {
	case "Observation", "Procedure", "MedicationAdministration", "Device", reportType, logType:
		return e.Session != "" && e.Status != receipt.Withdrawn
	default:
		return false
	}
}

// fewCompared is the number of resources that a plan may change without a
// question.
const fewCompared = 10

// Doubt returns why a plan is probably a mistake: it changes more than half of
// what the server has. It is nil without doubt.
func (p Plan) Doubt() error {
	t := p.Counts()
	changed := t.Corrected + t.Amended + t.Withdrawn
	if changed <= fewCompared || 2*changed <= p.Compared {
		return nil
	}
	return fmt.Errorf("%d of the %d records at the server would be changed or withdrawn: is it another month's log, or was the export made with other options (such as --no-notes)? If it is right all the same, add --many", changed, p.Compared)
}
