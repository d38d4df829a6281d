// Command gen writes core.zip, the definitions that package profile looks up,
// from the package hl7.fhir.r4.examples 4.0.1 (HL7, CC0), which holds all of
// R4: types, profiles, extensions, value sets and code systems, without the
// prose that nothing here reads. The same input gives the same bytes.
package main

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"log"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

func main() {
	from := flag.String("from", "../../profiles/fsh/node_modules/hl7.fhir.r4.examples", "the unpacked package")
	to := flag.String("o", "core.zip", "the file to write")
	flag.Parse()
	if err := run(*from, *to); err != nil {
		log.Fatal(err)
	}
}

func run(from, to string) error {
	entries := map[string][]byte{}
	for _, kind := range []string{"StructureDefinition", "ValueSet", "CodeSystem"} {
		files, err := filepath.Glob(filepath.Join(from, kind+"-*.json"))
		if err != nil || len(files) == 0 {
			return fmt.Errorf("no %s in %s (npm ci in profiles/fsh gets it): %w", kind, from, err)
		}
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				return err
			}
			if err := add(entries, kind, text); err != nil {
				return fmt.Errorf("%s: %w", file, err)
			}
		}
	}
	packed, err := pack(entries)
	if err != nil {
		return err
	}
	return os.WriteFile(to, packed, 0o644)
}

func add(entries map[string][]byte, kind string, text []byte) error {
	var r map[string]any
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	if err := d.Decode(&r); err != nil {
		return err
	}
	name, _ := r["url"].(string)
	official := strings.HasPrefix(name, "http://hl7.org/fhir/") || strings.HasPrefix(name, "http://terminology.hl7.org/")
	if r["resourceType"] != kind || !official || kind == "StructureDefinition" && r["kind"] == "logical" {
		return nil
	}
	if r["snapshot"] != nil {
		delete(r, "differential") // it says nothing else
	}
	kept, err := json.Marshal(strip(r, kind))
	entries[kind+"/"+url.QueryEscape(name)] = kept
	return err
}

// extensions are those of elements that are read.
var extensions = []string{
	"http://hl7.org/fhir/StructureDefinition/elementdefinition-maxValueSet", "http://hl7.org/fhir/StructureDefinition/minLength",
	"http://hl7.org/fhir/StructureDefinition/maxDecimalPlaces", "http://hl7.org/fhir/StructureDefinition/regex",
}

// kept are the members that are read, at any depth.
var kept = map[string][]string{
	"StructureDefinition": {
		"resourceType", "url", "version", "type", "kind", "derivation", "baseDefinition", "snapshot", "differential",
		"element", "id", "path", "sliceName", "min", "max", "maxLength", "base", "code", "profile", "targetProfile",
		"aggregation", "versioning", "slicing", "discriminator", "ordered", "rules", "binding", "strength", "valueSet",
		"constraint", "key", "severity", "human", "expression", "source", "contentReference", "mustSupport",
		"context", "contextInvariant", "isModifier",
	},
	"ValueSet": {
		"resourceType", "url", "version", "compose", "include", "exclude", "system", "concept", "code", "filter", "property",
		"op", "value", "valueSet", "expansion", "contains", "abstract",
	},
	"CodeSystem": {
		"resourceType", "url", "version", "content", "caseSensitive", "hierarchyMeaning", "valueSet", "concept", "code",
		"property", "valueCode", "display",
	},
}

func strip(v any, kind string) any {
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		for name, member := range v {
			switch {
			case strings.HasPrefix(name, "fixed") || strings.HasPrefix(name, "pattern") ||
				strings.HasPrefix(name, "minValue") || strings.HasPrefix(name, "maxValue"):
				out[name] = member
			case name == "extension" && kind == "StructureDefinition":
				if read := slices.DeleteFunc(slices.Clone(member.([]any)), isUnread); len(read) > 0 {
					out[name] = read
				}
			case slices.Contains(kept[kind], name):
				out[name] = strip(member, kind)
			}
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i := range v {
			out[i] = strip(v[i], kind)
		}
		return out
	default:
		return v
	}
}

func isUnread(extension any) bool {
	x, _ := extension.(map[string]any)
	name, _ := x["url"].(string)
	return !slices.Contains(extensions, name)
}

func pack(entries map[string][]byte) ([]byte, error) {
	var names []string
	for name := range entries {
		names = append(names, name)
	}
	slices.Sort(names)
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestCompression) })
	for _, name := range names {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(entries[name]); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return packed.Bytes(), nil
}
