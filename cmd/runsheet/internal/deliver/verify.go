package deliver

import (
	"context"
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
)

// Drift says in what the server departs from the receipt.
type Drift string

// The ways in which it can.
const (
	// Missing: there is nothing at that id, or no longer.
	Missing Drift = "missing"
	// Another resource stands at that id, as after a server was set up anew.
	Another Drift = "another resource"
	// Changed since by somebody else.
	Changed Drift = "changed"
	// Content: it has the version of the receipt, and not what was sent.
	Content Drift = "other content"
)

// Drifted is one resource that does not stand at the server as the receipt
// says.
type Drifted struct {
	receipt.Entry
	Drift Drift
	// Version is what stands there, where it is another.
	Version string
	// Differences are between the export and what stands there.
	Differences []Difference
	// Repairable says that it is missing and the export has what was sent, or
	// nothing of it, or that it stands there as sent under another version.
	Repairable bool
}

// expected is one resource as the receipt and the export have it.
type expected struct {
	entry receipt.Entry
	// content is what the server was sent; nil where only the receipt tells.
	content []byte
	// session is the label; empty for what the export does not have.
	session string
}

// mostExpected is how many resources are held in memory at once.
const mostExpected = 10 * usualReads

// Verify reads every resource that the receipt names, compares it with the
// export element by element, and lists those that do not stand there so: first
// those of the export, then those that only the receipt knows. Nothing is
// changed. take, which may be nil, gets what the server returned of each
// session, as a collection, to compute the derived values again.
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
	// shared are the devices, which sessions after the first need too.
	shared map[string]json.RawMessage
}

// expect notes what the server must hold of a session.
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
		// What was sent with other content is counted by compare, and what
		// the Patient holds is the clinic's.
		same := e.SHA256 == "" || e.SHA256 == Digest(r.JSON, v.patientID) && e.Status != receipt.Withdrawn
		if content, err := v.content(r.JSON, nil); err == nil && same && r.Type != "Patient" {
			one.content = content
		}
		v.wanted = append(v.wanted, one)
	}
	return nil
}

// read reads what is expected and judges it.
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

// hand gives what stands there of a session to be computed again.
func (v *verification) hand(label string, there []*foundResource) error {
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

// judge holds what stands at the server against the receipt and the export.
func (v *verification) judge(w expected, there *foundResource) {
	d := Drifted{Entry: w.entry, Drift: judge(w.entry, there, v.ours), Version: versionThere(there)}
	switch {
	case there == nil || d.Drift == Another:
		// A Provenance that is lost is told anew, of the log as it is now.
		d.Repairable = w.content != nil || w.session == "" || w.entry.Type == "Patient" || w.entry.Type == "Provenance"
	case w.content != nil:
		d.Differences = differences(there.raw, w.content)
		d.Repairable = d.Drift == Changed && len(d.Differences) == 0
	case w.entry.Status == receipt.Withdrawn:
		if status := statusOf(there.raw); status != "entered-in-error" {
			d.Differences = []Difference{{"status", `"entered-in-error"`, shown(status)}}
		}
	}
	if d.Drift == "" && len(d.Differences) > 0 {
		d.Drift = Content
	}
	if d.Drift != "" {
		v.drifted = append(v.drifted, d)
	}
}

func statusOf(resource []byte) string {
	var r struct {
		Status string `json:"status"`
	}
	_ = json.Unmarshal(resource, &r) // what has none is not withdrawn
	return r.Status
}

// judge holds what stands at the server against the receipt; ours are the
// references of all of it.
func judge(e receipt.Entry, there *foundResource, ours map[string]bool) Drift {
	switch {
	case there == nil:
		return Missing
	case !isOurs(e, there, ours):
		return Another
	case e.Version != "" && there.Meta.VersionID != "" && e.Version != there.Meta.VersionID:
		return Changed
	default:
		return ""
	}
}

// isOurs tells a resource of ours from another that has got its id: by its
// identifier, or, for a Provenance, by what it is about. A Patient is the
// clinic's.
func isOurs(e receipt.Entry, there *foundResource, ours map[string]bool) bool {
	switch e.Type {
	case "Patient":
		return true
	case "Provenance":
		var p struct {
			Target []struct {
				Reference string `json:"reference"`
			} `json:"target"`
		}
		_ = json.Unmarshal(there.raw, &p)
		for _, t := range p.Target {
			if resourceType, id, _, ok := server.Relative(t.Reference); ok && ours[resourceType+"/"+id] {
				return true
			}
		}
		return false
	default:
		return there.has(recordSystem, "urn:uuid:"+e.Identity)
	}
}

func versionThere(r *foundResource) string {
	if r == nil {
		return ""
	}
	return r.Meta.VersionID
}

// Unsent counts the resources of an export that are not in the receipt; those
// that were sent with other content are in the tally.
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
