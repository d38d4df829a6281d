package deliver

import (
	"context"
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/profiles"
)

// Drift is how the server differs from the receipt.
type Drift string

// The kinds of drift.
const (
	// Missing: nothing exists at that id, or no longer.
	Missing Drift = "missing"
	// Another: a different resource has that id, as after a server was set up
	// again.
	Another Drift = "another resource"
	// Changed since by somebody else.
	Changed Drift = "changed"
	// Content: it has the version of the receipt, but not the content sent.
	Content Drift = "other content"
)

// Drifted is one resource at the server that differs from the receipt.
type Drifted struct {
	receipt.Entry
	Drift Drift
	// Version is the version at the server, if it differs.
	Version string
	// Differences are between the export and the server.
	Differences []Difference
	// Repairable reports that the resource is missing and the export has the
	// content sent, or nothing of it, or that it exists with our content under
	// another version.
	Repairable bool
}

// expected is one resource of the receipt and the export.
type expected struct {
	entry receipt.Entry
	// content is the content sent; nil if only the receipt has the resource.
	content []byte
	// session is the label; empty if the export lacks the resource.
	session string
}

// mostExpected limits the resources in memory.
const mostExpected = 10 * usualReads

// Verify reads every resource of the receipt, compares it with the export
// element by element, and returns those that differ: first those of the
// export, then those that only the receipt has. It changes nothing. take,
// which may be nil, receives each session as returned by the server, as a
// collection, to compute the derived values again.
func (s *Sender) Verify(ctx context.Context, folder *Folder, take func(label string, collection []byte) error) ([]Drifted, error) {
	v := verification{Sender: s, take: take, seen: map[string]bool{}, ours: map[string]bool{}, shared: map[string]json.RawMessage{}}
	entries := s.receipt.All()
	for _, e := range entries {
		v.ours[e.Reference()] = true
	}
	for i := range folder.Files {
		session, err := folder.Session(i)
		if err == nil {
			err = v.expect(session)
		}
		if err == nil && (len(v.wanted) >= mostExpected || i == len(folder.Files)-1) {
			err = v.read(ctx)
		}
		if err != nil {
			return v.drifted, err
		}
		s.opts.Progress(i+1, len(folder.Files))
	}
	for _, e := range entries {
		if !v.seen[e.Identity] {
			v.wanted = append(v.wanted, expected{entry: e})
		}
	}
	return v.drifted, v.read(ctx)
}

// verification is one run of [Sender.Verify].
type verification struct {
	*Sender
	take       func(label string, collection []byte) error
	seen, ours map[string]bool
	wanted     []expected
	drifted    []Drifted
	// shared are the devices, which later sessions need too.
	shared map[string]json.RawMessage
}

// expect records what the server must have of a session.
func (v *verification) expect(session Session) error {
	if err := v.admit(session); err != nil {
		return err
	}
	v.patientID = session.patientIdentity()
	for _, r := range session.Resources {
		e, known := v.receipt.Of(r.Identity)
		if !known || v.seen[r.Identity] {
			continue
		}
		v.seen[r.Identity] = true
		one := expected{entry: e, session: session.Label}
		// compare counts resources sent with different content, and the clinic
		// owns the content of the Patient.
		same := e.SHA256 == "" || e.SHA256 == Digest(r.JSON, v.patientID) && e.Status != receipt.Withdrawn
		same = same && (r.Type != reportType || e.Result == factsOf(r).Result) // of another origin
		if content, err := v.content(r.JSON, nil); err == nil && same && r.Type != "Patient" {
			one.content = content
		}
		v.wanted = append(v.wanted, one)
	}
	return nil
}

// read reads the expected resources and compares them.
func (v *verification) read(ctx context.Context) error {
	entries := make([]receipt.Entry, len(v.wanted))
	for i, w := range v.wanted {
		entries[i] = w.entry
	}
	there, err := v.readEntries(ctx, entries)
	if err != nil {
		return err
	}
	for from := 0; from < len(there); {
		to := from
		for ; to < len(there) && v.wanted[to].session == v.wanted[from].session; to++ {
			v.judge(v.wanted[to], there[to])
		}
		if err := v.hand(v.wanted[from].session, there[from:to]); err != nil {
			return err
		}
		from = to
	}
	v.wanted = v.wanted[:0]
	return nil
}

// hand passes on a session as found at the server, to be computed again.
func (v *verification) hand(label string, there []*found) error {
	if v.take == nil || label == "" {
		return nil
	}
	var entries []string
	for _, r := range there {
		if r != nil && r.ResourceType == "Device" {
			v.shared[r.ID] = r.raw
		} else if r != nil {
			entries = append(entries, v.collected(r.ResourceType, r.ID, r.raw))
		}
	}
	for _, id := range slices.Sorted(maps.Keys(v.shared)) {
		entries = append(entries, v.collected("Device", id, v.shared[id]))
	}
	return v.take(label, []byte(`{"resourceType":"Bundle","type":"collection","entry":[`+strings.Join(entries, ",")+`]}`))
}

func (v *verification) collected(resourceType, id string, raw []byte) string {
	return `{"fullUrl":` + string(quoted(v.client.Target().String()+"/"+resourceType+"/"+id)) + `,"resource":` + string(raw) + `}`
}

// judge compares a resource at the server with the receipt and the export.
func (v *verification) judge(w expected, there *found) {
	d := Drifted{Entry: w.entry, Drift: judge(w.entry, there, v.ours), Version: there.version()}
	switch {
	case there == nil || d.Drift == Another:
		// A lost Provenance is created again, from the current log.
		d.Repairable = w.content != nil || w.session == "" || w.entry.Type == "Patient" || w.entry.Type == "Provenance"
	case w.content != nil:
		d.Differences = differences(there.raw, w.content)
		d.Repairable = d.Drift == Changed && len(d.Differences) == 0
	case w.entry.Status == receipt.Withdrawn:
		if now, _ := elementsOf(there.raw); now.Status != "entered-in-error" {
			d.Differences = []Difference{{"status", `"entered-in-error"`, shown(now.Status)}}
		}
	}
	if d.Drift == "" && len(d.Differences) > 0 {
		d.Drift = Content
	}
	if d.Drift != "" {
		v.drifted = append(v.drifted, d)
	}
}

// judge compares a resource at the server with the receipt; ours are the
// references of all our resources.
func judge(e receipt.Entry, there *found, ours map[string]bool) Drift {
	switch {
	case there == nil:
		return Missing
	case !isOurs(e, there, ours):
		return Another
	case changedSince(e, there):
		return Changed
	default:
		return ""
	}
}

// isOurs distinguishes our resource from another with the same id: by its
// identifier or, for a Provenance, by its target. A Patient belongs to the
// clinic.
func isOurs(e receipt.Entry, there *found, ours map[string]bool) bool {
	switch e.Type {
	case "Patient":
		return true
	case "Provenance":
		p, _ := elementsOf(there.raw)
		for _, t := range p.Target {
			if resourceType, id, _, ok := server.Relative(t.Reference); ok && ours[resourceType+"/"+id] {
				return true
			}
		}
		return false
	default:
		return there.has(profiles.RecordIdentifier, "urn:uuid:"+e.Identity)
	}
}

// Unsent counts the resources of an export that are not in the receipt; the
// tally has those sent with different content.
func (s *Sender) Unsent(folder *Folder) (int, error) {
	missing := map[string]bool{}
	for i := range folder.Files {
		session, err := folder.Session(i)
		if err != nil {
			return 0, err
		}
		for _, r := range s.pending(session) {
			missing[r.Identity] = true
		}
		s.compare(session)
	}
	return len(missing), nil
}
