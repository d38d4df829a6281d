package deliver

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
)

// Conflict is one resource that somebody else changed or removed at the server
// since we sent it. It stays unchanged, as do all resources that depend on it.
type Conflict struct {
	receipt.Entry
	// Gone reports that the server no longer has it.
	Gone bool
	// Differences are between the log and the server.
	Differences []Difference
	// HeldBack are the resources derived from it, which would contradict it.
	HeldBack []fhirmap.Resource
}

// ErrConflicts reports the resources that an amendment left unchanged.
// Everything else is done.
type ErrConflicts struct{ Conflicts []Conflict }

// References returns those of the resources that somebody else changed.
func (e *ErrConflicts) References() []string {
	var out []string
	for _, c := range e.Conflicts {
		out = append(out, c.Reference())
	}
	return out
}

func (e *ErrConflicts) Error() string {
	held := 0
	for _, c := range e.Conflicts {
		held += len(c.HeldBack)
	}
	return fmt.Sprintf("not changed, since somebody changed or removed it on the server after it was sent: %s; held back, since derived from it: %d. The clinic must look at it; everything else is done",
		strings.Join(e.References(), ", "), held)
}

// add records a conflict: there is the resource at the server, nil for none,
// and ours is its replacement, nil for a withdrawal.
func (e *ErrConflicts) add(entry receipt.Entry, there *found, ours []byte) {
	c := Conflict{Entry: entry, Gone: there == nil}
	if there != nil && ours != nil {
		c.Differences = differences(there.raw, ours)
	}
	e.Conflicts = append(e.Conflicts, c)
}

// plain removes the marks of a later version, its status and the last note,
// which are not differences to report.
func plain(later []byte) []byte {
	list, err := members(later)
	if err != nil {
		return nil // there is none
	}
	var notes []json.RawMessage
	_ = json.Unmarshal(get(list, "note"), &notes) // without notes it is not a later version
	if last := len(notes) - 1; last > 0 {
		text, _ := json.Marshal(notes[:last]) // it was valid JSON before
		list = set(list, "note", text)
	} else if last == 0 {
		list = slices.DeleteFunc(list, func(m member) bool { return m.Name == "note" })
	}
	if status := string(get(list, "status")); status == `"corrected"` || status == `"amended"` {
		list = set(list, "status", quoted(final))
	}
	return object(list)
}

// hold records that a resource is held back because of a conflict.
func (e *ErrConflicts) hold(cause string, r fhirmap.Resource) {
	for i := range e.Conflicts {
		if e.Conflicts[i].Identity == cause {
			e.Conflicts[i].HeldBack = append(e.Conflicts[i].HeldBack, r)
		}
	}
}

// holder decides what to hold back in a session.
type holder struct {
	// from are the inputs of each Observation, by identity.
	from map[string][]string
	// touched maps the identities that stay unchanged at the server, held-back
	// ones included, to the conflict that caused it.
	touched map[string]string
	// absent are the held-back identities that the server does not have.
	absent map[string]bool
	// whole is a conflict that holds back the whole record.
	whole string
}

// holder starts from the conflicts of earlier sessions: the weeks are derived
// from all of them.
func (s *Sender) holder(p SessionPlan, conflicts *ErrConflicts) holder {
	h := holder{from: map[string][]string{}, touched: map[string]string{}, absent: map[string]bool{}}
	if p.Label == fhirmap.ReportLabel && len(conflicts.Conflicts) > 0 { // it rests on all values of its days, and names none
		h.whole = conflicts.Conflicts[0].Identity
	}
	for _, c := range conflicts.Conflicts {
		h.touched[c.Identity] = c.Identity
		for _, r := range c.HeldBack {
			h.touched[r.Identity] = c.Identity
		}
	}
	for _, r := range p.Session.Resources {
		h.from[r.Identity] = factsOf(r).from
	}
	return h
}

// rests reports whether a resource is derived, directly or indirectly, from an
// unchanged one, or refers to one that is not created.
func (h holder) rests(r fhirmap.Resource) (cause string, held bool) {
	if h.whole != "" {
		return h.whole, true
	}
	for _, identity := range references(r.JSON) {
		if h.absent[identity] {
			return h.touched[identity], true
		}
	}
	for _, identity := range h.inputs(r.Identity) {
		if cause, ok := h.touched[identity]; ok {
			return cause, true
		}
	}
	return "", false
}

// inputs are all direct and indirect inputs of an Observation.
func (h holder) inputs(identity string) []string {
	seen := map[string]bool{identity: true}
	var out []string
	for next := []string{identity}; len(next) > 0; next = next[1:] {
		for _, input := range h.from[next[0]] {
			if !seen[input] {
				seen[input] = true
				out, next = append(out, input), append(next, input)
			}
		}
	}
	return out
}

// examine reads the server's versions of everything that a session's amendment
// replaces or is derived from. It removes from the plan what somebody else
// changed and all values derived from it, new ones included: beside the
// clinic's weight our fluid removed would be a contradiction. It records what
// a request with a lost answer did. It returns the resources to replace, with
// their content at the server.
func (s *Sender) examine(ctx context.Context, p *SessionPlan, opts AmendOptions, conflicts *ErrConflicts) ([]replacement, error) {
	h := s.holder(*p, conflicts)
	all := s.replacements(*p)
	inputs := s.inputsOf(*p, h)
	there, err := s.standing(ctx, append(slices.Clone(all), inputs...))
	if err != nil {
		return nil, err
	}
	for i, r := range inputs {
		if now := there[len(all)+i]; now == nil || changedSince(r.entry, now) && !contains(now.raw, r.content) {
			h.conflict(conflicts, r.entry, now, r.content)
		}
	}
	var ours []replacement
	for i, r := range all {
		if there[i] == nil {
			h.conflict(conflicts, r.entry, nil, nil)
			continue
		}
		var done bool
		if r.correction == nil || s.resolvable(r.correction.JSON) {
			if done, err = s.fill(&r, there[i], opts); err != nil {
				return nil, err
			}
		}
		if r.correction == nil && len(h.from[r.entry.Identity]) == 0 || p.beside() >= 0 { // whose session the log may no longer have
			h.from[r.entry.Identity] = append(h.from[r.entry.Identity], s.derivedFrom(there[i].raw)...)
		}
		changed := changedSince(r.entry, there[i])
		switch {
		case done || changed && r.correction != nil && r.content != nil && contains(there[i].raw, r.content):
			s.recordReplaced(p.Session, r, there[i].version())
		case changed:
			h.conflict(conflicts, r.entry, there[i], plain(r.content))
		default:
			r.entry.Version = there[i].version()
			ours = append(ours, r)
		}
	}
	return h.reduce(p, ours, conflicts), nil
}

// resolvable reports whether the server has all that a resource refers to.
func (s *Sender) resolvable(resource []byte) bool {
	return !slices.ContainsFunc(references(resource), func(identity string) bool { return !s.known(identity) })
}

// changedSince reports whether the server's version differs from the
// receipt's.
func changedSince(e receipt.Entry, there *found) bool {
	return e.Version != "" && there.Meta.VersionID != "" && e.Version != there.Meta.VersionID
}

// conflict records a change by somebody else; ours is nil for a withdrawal.
func (h holder) conflict(conflicts *ErrConflicts, e receipt.Entry, there *found, ours []byte) {
	conflicts.add(e, there, ours)
	h.touched[e.Identity] = e.Identity
}

// inputsOf returns the server's versions of all inputs of the session's new
// and corrected values that are not replaced themselves.
func (s *Sender) inputsOf(p SessionPlan, h holder) []replacement {
	seen := map[string]bool{}
	for _, c := range p.Correct {
		seen[c.Identity] = true
	}
	wanted := map[string]bool{}
	for _, r := range append(resourcesOf(p.Correct), p.New...) {
		for _, input := range h.inputs(r.Identity) {
			wanted[input] = !seen[input]
		}
	}
	var out []replacement
	for _, r := range p.Session.Resources {
		if e, known := s.receipt.Of(r.Identity); known && wanted[r.Identity] {
			if content, err := s.content(r.JSON, nil); err == nil { // otherwise it refers to a new resource, which the server does not have
				out = append(out, replacement{entry: e, content: content})
			}
		}
	}
	return out
}

func resourcesOf(corrections []Correction) []fhirmap.Resource {
	var out []fhirmap.Resource
	for _, c := range corrections {
		out = append(out, c.Resource)
	}
	return out
}

// derivedFrom are the inputs of a resource at the server, by identity.
func (s *Sender) derivedFrom(there []byte) []string {
	resource, _ := elementsOf(there) // another type has none
	var out []string
	for _, e := range s.receipt.All() {
		for _, r := range resource.DerivedFrom {
			if r.Reference == e.Reference() || r.Identifier.Value == "urn:uuid:"+e.Identity {
				out = append(out, e.Identity)
			}
		}
	}
	return out
}

// reduce removes from the plan, and from the replacements, all that depends on
// unchanged resources, until nothing more does.
func (h holder) reduce(p *SessionPlan, ours []replacement, conflicts *ErrConflicts) []replacement {
	holds := func(r fhirmap.Resource, absent bool) bool {
		cause, held := h.rests(r)
		if held {
			h.touched[r.Identity], h.absent[r.Identity] = cause, absent
			conflicts.hold(cause, r)
		}
		return held
	}
	for before := -1; before != len(h.touched); {
		before = len(h.touched)
		p.New = slices.DeleteFunc(slices.Clone(p.New), func(r fhirmap.Resource) bool { return holds(r, true) })
		ours = slices.DeleteFunc(ours, func(r replacement) bool {
			one := fhirmap.Resource{Type: r.entry.Type, Identity: r.entry.Identity, Role: r.entry.Role}
			if r.correction != nil {
				one = r.correction.Resource
			}
			return holds(one, false)
		})
	}
	left := map[string]bool{}
	for _, r := range ours {
		left[r.entry.Identity] = true
	}
	p.Correct = slices.DeleteFunc(slices.Clone(p.Correct), func(c Correction) bool { return !left[c.Identity] })
	p.Withdraw = slices.DeleteFunc(slices.Clone(p.Withdraw), func(e receipt.Entry) bool { return !left[e.Identity] })
	return ours
}
