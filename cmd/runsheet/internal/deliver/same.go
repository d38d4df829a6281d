package deliver

import (
	"bytes"
	"encoding/json"
	"math/big"
	"strings"
)

// contains reports whether what stands at the server is ours: nothing missing,
// nothing other, and nothing more but what servers add (versions, narrative,
// what a reference points to) and what a correction adds. Some servers write a
// number without its last zeros, which is no difference here; references to
// the patient are taken as equal.
func contains(theirs, ours []byte) bool {
	var t, o map[string]any
	if decode(theirs, &t) != nil || decode(ours, &o) != nil {
		return false
	}
	if (t["status"] == "corrected" || t["status"] == "amended") && o["status"] == final {
		o["status"] = t["status"]
	}
	for _, name := range []string{"id", "text", "language"} {
		delete(t, name)
		delete(o, name)
	}
	if meta, ok := o["meta"].(map[string]any); ok { // these are the server's
		delete(meta, "versionId")
		delete(meta, "lastUpdated")
	}
	return holds(t, o, "")
}

func decode(text []byte, into *map[string]any) error {
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.UseNumber()
	return decoder.Decode(into)
}

// holds compares two values; name is the member they are of.
func holds(theirs, ours any, name string) bool {
	switch o := ours.(type) {
	case map[string]any:
		t, ok := theirs.(map[string]any)
		return ok && holdsObject(t, o, name)
	case []any:
		t, ok := theirs.([]any)
		if !ok || len(t) < len(o) || len(t) > len(o) && !mayGrow[name] {
			return false
		}
		for i := range o {
			if !holds(t[i], o[i], name) {
				return false
			}
		}
		return true
	case json.Number:
		t, ok := theirs.(json.Number)
		return ok && sameNumber(t, o)
	default:
		return theirs == ours
	}
}

// mayGrow are the members in which a server, or a correction of ours, may have
// put more.
var mayGrow = map[string]bool{"note": true, "meta": true, "security": true, "tag": true, "profile": true}

func holdsObject(theirs, ours map[string]any, name string) bool {
	_, isReference := ours["reference"]
	for key, value := range ours {
		if key == "reference" && sameReference(theirs[key], value) || key == "source" && name == "meta" && sameSource(theirs[key], value) {
			continue
		}
		if !holds(theirs[key], value, key) {
			return false
		}
	}
	if mayGrow[name] || isReference {
		return true
	}
	for key := range theirs {
		if _, known := ours[key]; !known && !(name == "" && mayGrow[key]) {
			return false
		}
	}
	return true
}

// sameSource allows for the number of the request that some servers append to
// meta.source.
func sameSource(theirs, ours any) bool {
	t, isText := theirs.(string)
	o, _ := ours.(string)
	t, _, _ = strings.Cut(t, "#")
	return isText && t == o
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

// maxExponent keeps a number like 1e999999999 from being written out.
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
