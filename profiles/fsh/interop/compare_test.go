//go:build interop

package interop

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// expectation is what a server must have.
type expectation struct {
	// now is what the export says; before is the export that was sent first,
	// the same one where nothing was amended. A session's Provenance says how
	// it was first sent, and stays.
	now, before record
	// restored reports that what was deleted may have been created again, also
	// under its id.
	restored bool
	// edited is the key of a resource that the clinic changed.
	edited string
}

// compare returns how a server's record differs from what it must have.
func (e expectation) compare(there record) []string {
	var out []string
	for _, key := range slices.Sorted(maps.Keys(e.now)) {
		ours := e.now[key]
		r, ok := there[key]
		if first, sent := e.before[key]; sent && ours.kind == "Provenance" && !(e.restored && ok && len(same(key, r, ours)) == 0) {
			ours = first
		}
		if !ok {
			out = append(out, key+" is missing")
			continue
		}
		out = append(out, same(key, r, ours)...)
	}
	amended := map[string]bool{}
	for _, key := range slices.Sorted(maps.Keys(there)) {
		r := there[key]
		_, isNow := e.now[key]
		_, wasBefore := e.before[key]
		switch {
		case isNow, r.kind == "Patient", wasBefore && (r.kind == "Provenance" || r.kind == "Device"):
		case wasBefore && r.content["status"] == "entered-in-error":
		case wasBefore:
			out = append(out, key+" is gone from the log and not marked as entered in error")
		case r.kind == "Provenance" && isAmendment(r):
			out = append(out, named(key, r, there, amended)...)
		default:
			out = append(out, key+" is not of the log")
		}
	}
	for _, key := range slices.Sorted(maps.Keys(there)) {
		if there[key].version != "1" && !amended[key] && !e.restored && key != e.edited {
			out = append(out, key+" was changed and no Provenance says so")
		}
	}
	return out
}

// same compares a resource with the export's. One that was corrected says so,
// in its status and in a note behind the others.
func same(key string, there, ours resource) []string {
	content := maps.Clone(there.content)
	if there.version != "1" {
		notes, _ := content["note"].([]any)
		had, _ := ours.content["note"].([]any)
		if len(notes) == len(had)+1 {
			notes = notes[:len(had)]
		}
		if content["note"] = notes; len(notes) == 0 {
			delete(content, "note")
		}
		if content["status"] == "corrected" || content["status"] == "amended" {
			content["status"] = ours.content["status"]
		}
	}
	if d := difference("", content, ours.content); d != "" {
		return []string{key + d}
	}
	return nil
}

// difference is the first place where two JSON values differ; numbers are
// compared as written.
func difference(path string, there, ours any) string {
	switch o := ours.(type) {
	case map[string]any:
		t, _ := there.(map[string]any)
		names := slices.Sorted(maps.Keys(o))
		for name := range t {
			if _, ok := o[name]; !ok {
				return fmt.Sprintf("%s.%s stands at the server alone", path, name)
			}
		}
		for _, name := range names {
			if d := difference(path+"."+name, t[name], o[name]); d != "" {
				return d
			}
		}
		return ""
	case []any:
		t, _ := there.([]any)
		if len(t) != len(o) {
			return fmt.Sprintf("%s has %d in place of %d", path, len(t), len(o))
		}
		for i := range o {
			if d := difference(fmt.Sprintf("%s[%d]", path, i), t[i], o[i]); d != "" {
				return d
			}
		}
		return ""
	}
	if there != ours {
		return fmt.Sprintf("%s is %v in place of %v", path, there, ours)
	}
	return ""
}

func isAmendment(r resource) bool {
	text, err := json.Marshal(r.content["activity"])
	return err == nil && strings.Contains(string(text), `"UPDATE"`)
}

// named notes what an amendment is about; each must stand there.
func named(key string, r resource, there record, amended map[string]bool) []string {
	var out []string
	targets, _ := r.content["target"].([]any)
	for _, t := range targets {
		target, _ := t.(map[string]any)
		name := asText(target["reference"])
		if _, ok := there[name]; !ok {
			out = append(out, key+": its target "+name)
		}
		amended[name] = true
	}
	return out
}
