package structure_test

import (
	"archive/zip"
	"encoding/json"
	"flag"
	"go/format"
	"os"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the tables")

// TestTablesAreThoseOfR4 holds the tables (table_*.go here and in packages doc
// and invariant) to the definitions of FHIR R4 4.0.1 (HL7, CC0). They hold
// facts only: names, types, cardinalities, codes, expressions.
func TestTablesAreThoseOfR4(t *testing.T) {
	defs := readDefinitions(t, "../profile/core.zip")
	m, err := buildModel(defs)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"table_types.go":                  m.typesFile(),
		"table_elements.go":               m.elementsFile(),
		"table_codes.go":                  m.codesFile(),
		"../doc/table_choices.go":         m.choicesFile(),
		"../invariant/table_published.go": m.invariantsFile(defs),
	} {
		want, err := format.Source([]byte(text))
		if err != nil {
			t.Fatalf("%s: what was made is not Go: %v", name, err)
		}
		if *update {
			if err := os.WriteFile(name, want, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if have, err := os.ReadFile(name); err != nil || string(have) != string(want) {
			t.Errorf("%s is not what the definitions say; run go test ./validate/structure -run Tables -update (%v)", name, err)
		}
	}
}

// structureDefinition and what follows hold the members of the definitions
// that the tables are made of.
type structureDefinition struct {
	ID         string `json:"id"`
	Kind       string `json:"kind"`
	Derivation string `json:"derivation"`
	Snapshot   struct {
		Element []element `json:"element"`
	} `json:"snapshot"`
}

type element struct {
	Path             string        `json:"path"`
	Min              int           `json:"min"`
	Max              string        `json:"max"`
	ContentReference string        `json:"contentReference"`
	Type             []elementType `json:"type"`
	Binding          *binding      `json:"binding"`
	Constraint       []constraint  `json:"constraint"`
}

type constraint struct {
	Key        string `json:"key"`
	Severity   string `json:"severity"`
	Expression string `json:"expression"`
	Source     string `json:"source"` // of one that is inherited
}

// own are the constraints that the definition itself adds.
func (e element) own() []constraint {
	return slices.DeleteFunc(slices.Clone(e.Constraint), func(k constraint) bool { return k.Source != "" })
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
func readDefinitions(t *testing.T, file string) definitions {
	t.Helper()
	archive, err := zip.OpenReader(file)
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	d := definitions{codes: map[string]codeSystem{}, values: map[string]valueSet{}}
	for _, f := range archive.File {
		switch kind, _, _ := strings.Cut(f.Name, "/"); kind {
		case "StructureDefinition":
			if s := read[structureDefinition](t, f); s.Derivation != "constraint" && len(s.Snapshot.Element) > 0 {
				d.structures = append(d.structures, s)
			}
		case "CodeSystem":
			c := read[codeSystem](t, f)
			d.codes[c.URL] = c
		case "ValueSet":
			v := read[valueSet](t, f)
			d.values[v.URL] = v
		}
	}
	slices.SortFunc(d.structures, func(a, b structureDefinition) int { return strings.Compare(a.ID, b.ID) })
	return d
}

func read[T any](t *testing.T, f *zip.File) T {
	t.Helper()
	var v T
	in, err := f.Open()
	if err == nil {
		err = json.NewDecoder(in).Decode(&v)
	}
	if err != nil {
		t.Fatalf("%s: %v", f.Name, err)
	}
	return v
}
