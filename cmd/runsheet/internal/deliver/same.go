package deliver

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math/big"
	"slices"
	"strings"
	"unicode"
)

// allowance is how an element at a server may differ from the element sent.
type allowance uint8

const (
	// exact: only in trailing zeros of a decimal number.
	_ allowance = iota
	// anything: the server owns the element.
	anything
	// longer: it may have more after ours.
	longer
	// suffixed: ours, or ours followed by "#" and more.
	suffixed
	// later: a later state of the same Observation.
	later
	// sameTarget: another reference to the same resource.
	sameTarget
)

// allowances maps paths without indexes to what servers add or rewrite and
// what our corrections add. Everything else must equal what was sent, without
// additions.
//
// Decision 24. Verification compares content: each element with the export,
// except for what this table allows, and the derived values computed again
// from what the server returned. --repair sends what is missing and points the
// links of the rest to it.
var allowances = map[string]allowance{
	"id":               anything,   // assigned by the server (FHIR R4, 3.1.0.8)
	"text":             anything,   // narrative is sanitised or generated again (R4, Narrative)
	"language":         anything,   // of the narrative
	"meta":             longer,     // filled by the server (R4, Resource.meta)
	"meta.versionId":   anything,   // R4, 3.1.0.8
	"meta.lastUpdated": anything,   // R4, 3.1.0.8
	"meta.source":      suffixed,   // HAPI FHIR appends the number of the request (seen)
	"meta.profile":     longer,     // claims of the server's own
	"meta.tag":         longer,     // R4, Resource.meta: may be added without a new version
	"meta.security":    longer,     // the same
	"note":             longer,     // a correction adds its reason
	"status":           later,      // a correction changes the status
	"reference":        sameTarget, // at any depth: relative, absolute, or a search
}

// Difference is one element at the server that differs from the element sent.
type Difference struct {
	// Path is a FHIRPath such as component[1].valueQuantity.value.
	Path string
	// Ours and Theirs are JSON, truncated if long; empty for nothing.
	Ours, Theirs string
}

// differences compares a resource at a server with the one sent, element by
// element. References to the patient count as equal: [Sender.confirmPatient]
// checks the patient.
func differences(theirs, ours []byte) []Difference {
	var t, o map[string]any
	if decode(theirs, &t) != nil || decode(ours, &o) != nil {
		return []Difference{{Path: "$this", Ours: shown(string(ours)), Theirs: shown(string(theirs))}}
	}
	var d differ
	d.object("", "", t, o, false)
	return d.found
}

// contains reports whether the content at the server is ours.
func contains(theirs, ours []byte) bool { return len(differences(theirs, ours)) == 0 }

func decode(text []byte, into *map[string]any) error {
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.UseNumber()
	return decoder.Decode(into)
}

// differ collects differences. path has indexes, place has none.
type differ struct{ found []Difference }

func (d *differ) add(path string, theirs, ours any) {
	d.found = append(d.found, Difference{Path: path, Ours: shown(ours), Theirs: shown(theirs)})
}

func (d *differ) object(path, place string, theirs, ours map[string]any, more bool) {
	_, isReference := ours["reference"] // the server may add to the reference
	for _, key := range slices.Sorted(maps.Keys(ours)) {
		d.value(join(path, key), join(place, key), theirs[key], ours[key])
	}
	for _, key := range slices.Sorted(maps.Keys(theirs)) {
		rule := allowances[join(place, key)]
		if _, sent := ours[key]; !sent && !more && !isReference && rule != anything && rule != longer {
			d.add(join(path, key), theirs[key], nil)
		}
	}
}

func (d *differ) value(path, place string, theirs, ours any) {
	rule := allowances[place]
	if strings.HasSuffix(place, ".reference") {
		rule = sameTarget
	}
	switch o := ours.(type) {
	case map[string]any:
		if t, ok := theirs.(map[string]any); ok && rule != anything {
			d.object(path, place, t, o, rule == longer)
			return
		}
	case []any:
		t, ok := theirs.([]any)
		if ok && (len(t) == len(o) || len(t) > len(o) && rule == longer) {
			for i := range o {
				d.value(fmt.Sprintf("%s[%d]", path, i), place, t[i], o[i])
			}
			return
		}
	}
	if !rule.permits(theirs, ours) {
		d.add(path, theirs, ours)
	}
}

// permits reports whether a server may change ours to theirs; both are simple
// values, or of different kinds.
func (a allowance) permits(theirs, ours any) bool {
	switch a {
	case anything:
		return true
	case suffixed:
		t, isText := theirs.(string)
		t, _, _ = strings.Cut(t, "#")
		return isText && t == ours
	case later:
		return theirs == ours || ours == final && (theirs == "corrected" || theirs == "amended")
	case sameTarget:
		return sameReference(theirs, ours)
	}
	switch o := ours.(type) {
	case json.Number:
		t, ok := theirs.(json.Number)
		return ok && sameNumber(t, o)
	case string, bool, nil:
		return theirs == o
	default:
		return false // lists or objects of another form
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// mostShown limits the length of a value in a difference.
const mostShown = 60

// shown formats a value as JSON and escapes every character that does not
// print.
func shown(value any) string {
	if value == nil {
		return ""
	}
	text, err := json.Marshal(value)
	if err != nil {
		return "?"
	}
	var out strings.Builder
	for _, r := range string(text) {
		if out.Len() >= mostShown {
			out.WriteString("...")
			break
		}
		if !unicode.IsPrint(r) {
			fmt.Fprintf(&out, `\u%04x`, r)
			continue
		}
		out.WriteRune(r)
	}
	return out.String()
}

func sameReference(theirs, ours any) bool {
	t, isText := theirs.(string)
	o, _ := ours.(string)
	if !isText {
		return false
	}
	if strings.HasPrefix(o, "Patient?") || strings.HasPrefix(o, "Patient/") {
		return strings.Contains(t, "Patient")
	}
	return t == o || strings.HasSuffix(t, "/"+o)
}

// maxExponent prevents a number like 1e999999999 from being expanded.
const maxExponent = 40

func sameNumber(a, b json.Number) bool {
	if a == b {
		return true
	}
	if len(a) > maxExponent || len(b) > maxExponent || strings.ContainsAny(string(a+b), "eE") {
		return false
	}
	x, okX := new(big.Rat).SetString(string(a))
	y, okY := new(big.Rat).SetString(string(b))
	return okX && okY && x.Cmp(y) == 0
}
