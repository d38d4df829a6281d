package deliver

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
)

// Correction is a resource that replaces the version before it.
type Correction struct {
	Resource
	// Kind is [receipt.Corrected] or [receipt.Amended].
	Kind receipt.Status
	// Recomputed says that only the method has another version.
	Recomputed bool
	// Completes says that the version before was not final, so that this one
	// is final and neither corrected nor amended.
	Completes bool
}

// facts are what of an Observation decides how a later version differs.
type facts struct {
	// State is the status it is mapped with.
	State string
	// Method is the code of the method with its version; empty for what was
	// not computed.
	Method string
	// Result is a digest of its value, components and reason of absence.
	Result string
	// from are the Observations it is derived from.
	from []string
}

// resultBytes is how much of the digest of a result is kept: enough to tell
// two versions of one value apart.
const resultBytes = 8

// factsOf reads an Observation; other resources have none.
func factsOf(r Resource) facts {
	if r.Type != "Observation" {
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
		if m.Name == "component" || m.Name == "dataAbsentReason" || strings.HasPrefix(m.Name, "value") {
			sum.Write([]byte(m.Name))
			sum.Write(m.Value)
		}
	}
	f.Result = hex.EncodeToString(sum.Sum(nil)[:resultBytes])
	f.from = references([]byte(`{"derivedFrom":` + string(get(list, "derivedFrom")) + `}`))
	return f
}

// correction decides by the words of FHIR R4's ObservationStatus what a new
// version of a final Observation is: corrected when it was modified to correct
// an error in the result, amended when it was modified in any other way, by
// new information included. What a person changes in a value was an error. A
// computed value follows its inputs: it is corrected when one of them was, and
// amended when it only has more of them, or another version of the method.
func (p *SessionPlan) correction(e receipt.Entry, r Resource, changed changes) Correction {
	out := Correction{Resource: r, Kind: receipt.Corrected}
	if e.Result == "" || e.Status == receipt.Withdrawn {
		return out // how it differs is not known, or it comes back
	}
	now := factsOf(r)
	out.Completes = now.State == final && e.State != final
	inputs := changed.among(now.from)
	computed, another := now.Method != "", now.Method != e.Method
	switch {
	case out.Completes, e.Result == now.Result:
		out.Kind = receipt.Amended
	case !computed || inputs[wrong]:
	case another || inputs[more] || inputs[recomputed]:
		out.Kind = receipt.Amended
	}
	out.Recomputed = out.Kind == receipt.Amended && computed && !inputs[wrong] && !inputs[more] && (another || inputs[recomputed])
	return out
}

// final is the status of an Observation that can only be corrected or amended.
const final = "final"

// change is how a resource of a session changes.
type change uint8

const (
	// wrong: an error in it is corrected.
	wrong change = iota
	// more: it is new, or amended.
	more
	// recomputed by another version of its method.
	recomputed
)

// changes are those of a session's resources, by identity.
type changes map[string]change

// among gives the kinds of change that some input has.
func (c changes) among(inputs []string) map[change]bool {
	out := map[change]bool{}
	for _, identity := range inputs {
		if kind, ok := c[identity]; ok {
			out[kind] = true
		}
	}
	return out
}

// change is how a correction changes what rests on it.
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

// begunChanges are those of a session's amendment that was cut off, as far as
// they were made.
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
