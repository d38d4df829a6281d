// Command gen writes the tables of package structure from the definitions of
// FHIR R4 4.0.1: the StructureDefinitions, ValueSets and CodeSystems in the
// npm package hl7.fhir.r4.examples (HL7, CC0), pinned in package-lock.json.
// The tables hold facts only: names, types, cardinalities, codes.
//
// Run it with go generate in package structure after npm ci in this folder.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

func main() {
	in := flag.String("in", "internal/gen/node_modules/hl7.fhir.r4.examples", "folder of the unpacked definitions")
	out := flag.String("out", ".", "folder to write the tables to")
	choices := flag.String("choices", "../doc", "folder to write the names of choice elements to")
	invariants := flag.String("invariants", "../invariant", "folder to write the list of invariants to")
	flag.Parse()
	if err := run(*in, *out, *choices, *invariants); err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

func run(in, out, choices, invariants string) error {
	defs, err := readDefinitions(in)
	if err != nil {
		return err
	}
	m, err := buildModel(defs)
	if err != nil {
		return err
	}
	for name, text := range map[string]string{
		filepath.Join(out, "table_types.go"):    m.typesFile(),
		filepath.Join(out, "table_elements.go"): m.elementsFile(),
		filepath.Join(out, "table_codes.go"):    m.codesFile(),
		filepath.Join(choices, "choices.go"):    m.choicesFile(),
		filepath.Join(invariants, "table.go"):   m.invariantsFile(defs),
	} {
		if err := writeGo(name, text); err != nil {
			return err
		}
	}
	return nil
}

// structureDefinition and what follows hold the members of the definitions
// that the tables are made of.
type structureDefinition struct {
	ID         string `json:"id"`
	Kind       string `json:"kind"`
	Abstract   bool   `json:"abstract"`
	Derivation string `json:"derivation"`
	Snapshot   struct {
		Element []element `json:"element"`
	} `json:"snapshot"`
	Differential struct {
		Element []element `json:"element"`
	} `json:"differential"`
}

type element struct {
	Path             string        `json:"path"`
	Min              int           `json:"min"`
	Max              string        `json:"max"`
	ContentReference string        `json:"contentReference"`
	Type             []elementType `json:"type"`
	Binding          *binding      `json:"binding"`
	Constraint       []struct {
		Key        string `json:"key"`
		Severity   string `json:"severity"`
		Expression string `json:"expression"`
	} `json:"constraint"`
}

type binding struct {
	Strength  string `json:"strength"`
	ValueSet  string `json:"valueSet"`
	Extension []struct {
		URL            string `json:"url"`
		ValueCanonical string `json:"valueCanonical"`
	} `json:"extension"`
}

type elementType struct {
	Code          string   `json:"code"`
	Profile       []string `json:"profile"`
	TargetProfile []string `json:"targetProfile"`
}

type concept struct {
	Code    string    `json:"code"`
	Concept []concept `json:"concept"`
}

type codeSystem struct {
	URL     string    `json:"url"`
	Content string    `json:"content"`
	Concept []concept `json:"concept"`
}

type valueSet struct {
	URL     string `json:"url"`
	Compose struct {
		Include []struct {
			System   string            `json:"system"`
			Concept  []concept         `json:"concept"`
			Filter   []json.RawMessage `json:"filter"`
			ValueSet []string          `json:"valueSet"`
		} `json:"include"`
		Exclude []json.RawMessage `json:"exclude"`
	} `json:"compose"`
}

type definitions struct {
	structures []structureDefinition
	codes      map[string]codeSystem
	values     map[string]valueSet
}

// readDefinitions reads the definitions proper; profiles and logical models
// are left out.
func readDefinitions(folder string) (definitions, error) {
	d := definitions{codes: map[string]codeSystem{}, values: map[string]valueSet{}}
	files, err := filepath.Glob(filepath.Join(folder, "*.json"))
	if err != nil {
		return d, err
	}
	if len(files) == 0 {
		return d, fmt.Errorf("no definitions in %s; run npm ci beside the generator", folder)
	}
	for _, file := range files {
		kind, _, _ := strings.Cut(filepath.Base(file), "-")
		switch kind {
		case "StructureDefinition":
			s, err := read[structureDefinition](file)
			if err != nil {
				return d, err
			}
			if s.Derivation != "constraint" && s.Kind != "logical" && len(s.Snapshot.Element) > 0 {
				d.structures = append(d.structures, s)
			}
		case "CodeSystem":
			c, err := read[codeSystem](file)
			if err != nil {
				return d, err
			}
			d.codes[c.URL] = c
		case "ValueSet":
			v, err := read[valueSet](file)
			if err != nil {
				return d, err
			}
			d.values[v.URL] = v
		}
	}
	return d, nil
}

func read[T any](file string) (T, error) {
	var v T
	data, err := os.ReadFile(file)
	if err != nil {
		return v, err
	}
	if err := json.Unmarshal(data, &v); err != nil {
		return v, fmt.Errorf("%s: %w", file, err)
	}
	return v, nil
}
