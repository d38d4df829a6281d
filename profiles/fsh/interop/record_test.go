//go:build interop

package interop

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// types are those a record is made of.
var types = []string{"Patient", "Device", "Procedure", "Observation", "MedicationAdministration", "Provenance"}

// resource is one resource, its references written as what they lead to.
type resource struct {
	kind string
	// place is where it stands, such as Device/7, or the fullUrl of an entry.
	place, version string
	content        map[string]any
}

// record is what a server or an export holds, by what each resource is, not
// where it stands.
type record map[string]resource

// bundles lists the Bundles of an export, that of the weeks last.
func bundles(t *testing.T, folder string) []string {
	t.Helper()
	sessions, err := filepath.Glob(filepath.Join(folder, "session-*.json"))
	must(t, err)
	weeks, err := filepath.Glob(filepath.Join(folder, "weeks-*.json"))
	must(t, err)
	return append(sessions, weeks...)
}

// exported reads the Bundles of an export.
func exported(t *testing.T, folder string) record {
	t.Helper()
	all := record{}
	for _, file := range bundles(t, folder) {
		text, err := os.ReadFile(file)
		must(t, err)
		var bundle struct {
			Entry []struct {
				FullURL  string         `json:"fullUrl"`
				Resource map[string]any `json:"resource"`
			} `json:"entry"`
		}
		must(t, decode(text, &bundle))
		var list []resource
		for _, e := range bundle.Entry {
			delete(e.Resource, "id") // with --provenance put
			list = append(list, resource{kind: asText(e.Resource["resourceType"]), place: e.FullURL, content: e.Resource})
		}
		session, twice := byIdentity(list)
		if len(twice) > 0 {
			t.Fatalf("%s: %v", filepath.Base(file), twice)
		}
		maps.Copy(all, session) // what sessions share is the same in each
	}
	return all
}

// standing reads all that a server has; twice names what it has more than once.
func standing(t *testing.T, base string) (all record, twice []string) {
	t.Helper()
	var list []resource
	for _, kind := range types {
		next := base + "/" + kind + "?_count=500"
		for next != "" {
			var bundle struct {
				Link []struct {
					Relation, URL string
				} `json:"link"`
				Entry []struct {
					Resource map[string]any `json:"resource"`
				} `json:"entry"`
			}
			get(t, next, &bundle)
			for _, e := range bundle.Entry {
				list = append(list, stored(kind, e.Resource))
			}
			next = ""
			for _, l := range bundle.Link {
				if l.Relation == "next" {
					next = l.URL
				}
			}
		}
	}
	return byIdentity(list)
}

func get(t *testing.T, address string, into any) {
	t.Helper()
	request, err := http.NewRequest(http.MethodGet, address, nil)
	must(t, err)
	request.Header.Set("Cache-Control", "no-cache") // HAPI gives an older answer for a minute
	response, err := http.DefaultClient.Do(request)
	must(t, err)
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	must(t, err)
	if response.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", response.Status, text)
	}
	must(t, decode(text, into))
}

// stored takes what a server adds off a resource: id, version, time, and the
// number of the request that HAPI appends to meta.source.
func stored(kind string, content map[string]any) resource {
	r := resource{kind: kind, place: kind + "/" + asText(content["id"]), content: content}
	delete(content, "id")
	meta, _ := content["meta"].(map[string]any)
	r.version = asText(meta["versionId"])
	delete(meta, "versionId")
	delete(meta, "lastUpdated")
	if source, _, _ := strings.Cut(asText(meta["source"]), "#"); source == "" {
		delete(meta, "source")
	} else {
		meta["source"] = source
	}
	if len(meta) == 0 {
		delete(content, "meta")
	}
	return r
}

// byIdentity writes references as what they lead to and finds each resource's
// key: its identifier, or for a Provenance its time and what it is of, the
// session's Procedure where it is among the targets.
func byIdentity(list []resource) (all record, twice []string) {
	keys := map[string]string{}
	for _, r := range list {
		if r.kind != "Provenance" {
			keys[r.place] = r.kind + " " + identifier(r)
		}
	}
	all = record{}
	for _, r := range list {
		follow(r.content, keys)
		key, ok := keys[r.place]
		if !ok {
			key = provenanceKey(r)
		}
		if _, ok := all[key]; ok {
			twice = append(twice, key+" stands there twice")
		}
		all[key] = r
	}
	return all, twice
}

func identifier(r resource) string {
	list, _ := r.content["identifier"].([]any)
	if len(list) == 0 {
		return ""
	}
	first, _ := list[0].(map[string]any)
	return asText(first["value"])
}

func provenanceKey(r resource) string {
	var targets []string
	list, _ := r.content["target"].([]any)
	for _, t := range list {
		target, _ := t.(map[string]any)
		targets = append(targets, asText(target["reference"]))
	}
	about := ""
	for _, name := range slices.Sorted(slices.Values(targets)) {
		if about == "" || strings.HasPrefix(name, "Procedure ") {
			about = name
		}
	}
	return fmt.Sprintf("Provenance %s of %s", r.content["recorded"], about)
}

// follow writes each reference below a value as the key of what it leads to.
func follow(value any, keys map[string]string) {
	switch v := value.(type) {
	case map[string]any:
		for name, below := range v {
			if reference, ok := below.(string); ok && name == "reference" {
				v[name] = lead(reference, keys)
			} else {
				follow(below, keys)
			}
		}
	case []any:
		for _, below := range v {
			follow(below, keys)
		}
	}
}

func lead(reference string, keys map[string]string) string {
	place, version, _ := strings.Cut(reference, "/_history/")
	key, ok := keys[place]
	switch {
	case strings.HasPrefix(place, "Patient?"):
		return "Patient " + place[strings.LastIndexByte(place, '|')+1:]
	case !ok:
		return reference + " leads nowhere"
	case version != "":
		return key + " version " + version
	default:
		return key
	}
}

func decode(text []byte, into any) error {
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.UseNumber()
	return decoder.Decode(into)
}

// asText is a JSON value as text; empty when it is none.
func asText(value any) string {
	s, _ := value.(string)
	return s
}
