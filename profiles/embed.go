package profiles

import (
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
)

//go:generate go run ./fsh/gen -o fsh/input/fsh/generated
//go:generate node fsh/compile.mjs
//go:generate go test -run TestPages -update

// compiled is the package as compiled from fsh: definitions at the top,
// examples beside them, and examples that must be rejected under tests. It is
// only read when asked for.
//
//go:embed package
var compiled embed.FS

// Package returns the files of the compiled FHIR package, as they are under
// "package" in the archive [Pack] writes, with [DefaultCanonical] in them.
func Package() fs.FS {
	sub, err := fs.Sub(compiled, "package")
	if err != nil {
		panic(err) // the name is a constant
	}
	return sub
}

// Artifact is one resource of the package.
type Artifact struct {
	// Name is what a person calls it by: the id.
	Name string `json:"name"`
	// Kind is definition, view, example, or invalid for an example that must be
	// rejected.
	Kind string `json:"kind"`
	Type string `json:"resourceType"`
	URL  string `json:"url,omitempty"`
	// Title is in words; for an example, what it shows.
	Title string `json:"title,omitempty"`
	// File is its place in the package.
	File string `json:"file"`
}

// The kinds of artifact.
const (
	Definition = "definition"
	View       = "view"
	Example    = "example"
	Invalid    = "invalid"
)

// folders of the package by kind.
var folders = []struct{ kind, folder string }{{Definition, "."}, {View, "views"}, {Example, "examples"}, {Invalid, "tests"}}

// Artifacts lists the package: definitions, then views of SQL on FHIR, then
// examples, then invalid examples, each sorted by file name.
func Artifacts() ([]Artifact, error) {
	titles, err := exampleTitles()
	if err != nil {
		return nil, err
	}
	var out []Artifact
	for _, f := range folders {
		entries, err := fs.ReadDir(Package(), f.folder)
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			if e.IsDir() || notResource[e.Name()] {
				continue
			}
			a, err := artifact(f.kind, path.Join(f.folder, e.Name()))
			if err != nil {
				return nil, err
			}
			if a.Title == "" {
				a.Title = titles[a.Type+"/"+a.Name]
			}
			out = append(out, a)
		}
	}
	return out, nil
}

// notResource are the files of the package that hold no FHIR resource.
var notResource = map[string]bool{"package.json": true, expectedFile: true}

func artifact(kind, file string) (Artifact, error) {
	var r struct{ ResourceType, ID, URL, Title, Name string }
	if err := readJSON(file, &r); err != nil {
		return Artifact{}, err
	}
	a := Artifact{Name: r.ID, Kind: kind, Type: r.ResourceType, File: file}
	if kind == Definition || kind == View {
		a.URL, a.Title = r.URL, r.Title
		if a.Title == "" {
			a.Title = r.Name
		}
	}
	return a, nil
}

// exampleTitles reads what each example shows: the valid ones from the
// ImplementationGuide, the invalid ones from the list of expected findings.
func exampleTitles() (map[string]string, error) {
	guide, err := fs.Glob(Package(), "ImplementationGuide-*.json")
	if err != nil || len(guide) != 1 {
		return nil, fmt.Errorf("the package holds %d implementation guides: %w", len(guide), err)
	}
	var ig struct {
		Definition struct {
			Resource []struct {
				Name      string
				Reference struct{ Reference string }
			}
		}
	}
	if err := readJSON(guide[0], &ig); err != nil {
		return nil, err
	}
	titles := map[string]string{}
	for _, r := range ig.Definition.Resource {
		titles[r.Reference.Reference] = r.Name
	}
	expected, err := Expectations()
	for _, e := range expected {
		titles[e.ResourceType+"/"+strings.TrimSuffix(e.File, ".json")] = e.Why
	}
	return titles, err
}

// Expectation says why an invalid example must be rejected.
type Expectation struct {
	File         string `json:"file"`
	ResourceType string `json:"resourceType"`
	// Profile is the canonical URL of the profile that rejects it.
	Profile string `json:"profile"`
	// Expression is the path of the element that is wrong.
	Expression string `json:"expression"`
	// Rule is the key of the invariant, or cardinality, type, slice, fixed,
	// pattern or binding.
	Rule     string `json:"rule"`
	Severity string `json:"severity"`
	Why      string `json:"why"`
}

const expectedFile = "expected.json"

// Expectations lists the invalid examples, sorted by file name.
func Expectations() ([]Expectation, error) {
	var out []Expectation
	err := readJSON(path.Join("tests", expectedFile), &out)
	return out, err
}

// Find returns an artifact by its id, for a definition of ours also without
// the prefix "runsheet-", and its JSON.
func Find(name string) (Artifact, json.RawMessage, error) {
	all, err := Artifacts()
	if err != nil {
		return Artifact{}, nil, err
	}
	at := slices.IndexFunc(all, func(a Artifact) bool { return a.Name == name })
	if at < 0 {
		at = slices.IndexFunc(all, func(a Artifact) bool { return a.Name == "runsheet-"+name })
	}
	if at < 0 {
		return Artifact{}, nil, fmt.Errorf("the package holds no %q: %w", name, fs.ErrNotExist)
	}
	text, err := fs.ReadFile(Package(), all[at].File)
	return all[at], text, err
}

func readJSON(file string, into any) error {
	text, err := fs.ReadFile(Package(), file)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(text, into); err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	return nil
}
