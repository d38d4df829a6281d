package deliver

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
)

// Correction is a resource that replaces the version before it.
type Correction struct {
	fhirmap.Resource
	// Kind is [receipt.Corrected] or [receipt.Amended].
	Kind receipt.Status
	// Recomputed reports that only the version of the method changed.
	Recomputed bool
	// Completes reports that the earlier version was not final, so that this
	// one is final, neither corrected nor amended.
	Completes bool
}

// facts are the parts of an Observation that decide how a later version
// differs.
type facts struct {
	// State is its mapped status.
	State string
	// Method is the code of the method with its version; empty for a value
	// that is not computed.
	Method string
	// Result is a digest of its value, components and reason of absence.
	Result string
	// from are the Observations it is derived from.
	from []string
}

// resultBytes is the kept length of the digest of a result: enough to
// distinguish two versions of one value.
const resultBytes = 8

// reportType is the type of a report for a visit, logType that of a file of the
// log. R4 gives neither a note.
const reportType, logType = "DiagnosticReport", "DocumentReference"

// factsOf returns the facts of an Observation, or of a report, whose result is
// its page; other resources have none.
func factsOf(r fhirmap.Resource) facts {
	if r.Type != "Observation" && r.Type != reportType {
		return facts{}
	}
	list, err := members(r.JSON)
	if err != nil {
		return facts{}
	}
	var f facts
	_ = json.Unmarshal(get(list, "status"), &f.State)
	var method struct {
		Coding []struct {
			Code string `json:"code"`
		} `json:"coding"`
	}
	_ = json.Unmarshal(get(list, "method"), &method)
	if len(method.Coding) > 0 {
		f.Method = method.Coding[0].Code
	}
	sum := sha256.New()
	for _, m := range list {
		if m.Name == "component" || m.Name == "dataAbsentReason" || m.Name == "presentedForm" || strings.HasPrefix(m.Name, "value") {
			sum.Write([]byte(m.Name))
			sum.Write(m.Value)
		}
	}
	f.Result = hex.EncodeToString(sum.Sum(nil)[:resultBytes])
	from := get(list, "derivedFrom")
	if r.Type == reportType {
		from = get(list, "result")
	}
	f.from = references(from)
	for _, m := range toSession.FindAllSubmatch(from, -1) {
		f.from = append(f.from, string(m[1]))
	}
	return f
}

// correction decides by the words of FHIR R4's ObservationStatus what a new
// version of a final Observation is: corrected when it was modified to correct
// an error in the result, amended when it was modified in any other way, by
// new information included. A value that a person changes was an error. A
// computed value follows its inputs: corrected if one of them was, amended if
// it only has more inputs or another version of the method. A report is
// corrected if one of its results was.
func (p *SessionPlan) correction(e receipt.Entry, r fhirmap.Resource, changed changes) Correction {
	out := Correction{Resource: r, Kind: receipt.Corrected}
	if r.Type == logType { // the log grows
		out.Kind = receipt.Amended
	}
	if e.Result == "" || e.Status == receipt.Withdrawn {
		return out // the difference is unknown, or the value is restored
	}
	now := factsOf(r)
	out.Completes = now.State == final && e.State != final
	inputs := changed.among(now.from)
	computed, another := now.Method != "" || r.Type == reportType, now.Method != e.Method
	switch {
	case out.Completes, e.Result == now.Result:
		out.Kind = receipt.Amended
	case !computed || inputs[wrong]:
	case another || inputs[more] || inputs[recomputed] || r.Type == reportType:
		out.Kind = receipt.Amended
	}
	out.Recomputed = out.Kind == receipt.Amended && computed && !inputs[wrong] && !inputs[more] && (another || inputs[recomputed])
	return out
}

// final reports a status after which an Observation can only be corrected or
// amended.
const final = "final"

// change is the kind of change of a resource of a session.
type change uint8

const (
	// wrong: corrects an error.
	wrong change = iota
	// more: new, or amended.
	more
	// recomputed: by another version of its method.
	recomputed
)

// changes maps the identities of a session's resources to their changes.
type changes map[string]change

// among returns the kinds of change among some inputs.
func (c changes) among(inputs []string) map[change]bool {
	out := map[change]bool{}
	for _, identity := range inputs {
		if kind, ok := c[identity]; ok {
			out[kind] = true
		}
	}
	return out
}

// change returns the effect of a correction on the values that depend on it.
func (c Correction) change() change {
	switch {
	case c.Recomputed:
		return recomputed
	case c.Kind == receipt.Amended:
		return more
	default:
		return wrong
	}
}

// begunChanges are the changes already made by a session's interrupted
// amendment.
func begunChanges(r *receipt.Receipt, session string) changes {
	out := changes{}
	for _, a := range r.Amending {
		if a.Session != session {
			continue
		}
		for _, c := range done(r, a) {
			e, _ := r.Of(c.Identity)
			out[c.Identity] = Correction{Kind: e.Status, Recomputed: a.Recomputed}.change()
			if e.Status == receipt.Created || e.Status == receipt.Present {
				out[c.Identity] = more
			}
		}
	}
	return out
}
