package main

import (
	"crypto/sha256"
	"debug/buildinfo"
	"encoding/json"
	"fmt"
	"os"
	"strings"

	"runsheet.example/cmd/runsheet/internal/cli"
)

// bill is a bill of materials by CycloneDX 1.6
// (https://cyclonedx.org/docs/1.6/json/). It has no time and no serial number,
// which would differ from build to build.
type bill struct {
	Format       string       `json:"bomFormat"`
	Spec         string       `json:"specVersion"`
	Version      int          `json:"version"`
	Metadata     metadata     `json:"metadata"`
	Components   []component  `json:"components"`
	Dependencies []dependency `json:"dependencies"`
}

type metadata struct {
	Component component `json:"component"`
}

type component struct {
	Type    string `json:"type"`
	Ref     string `json:"bom-ref"`
	Name    string `json:"name"`
	Version string `json:"version"`
	Hashes  []hash `json:"hashes,omitempty"`
	PURL    string `json:"purl"`
}

type hash struct {
	Algorithm string `json:"alg"`
	Content   string `json:"content"`
}

type dependency struct {
	Ref       string   `json:"ref"`
	DependsOn []string `json:"dependsOn"`
}

// billOfMaterials lists Go's library and the modules linked into a program, as
// its build information names them. That information has no edges between
// modules, so all stand as dependencies of the program.
func billOfMaterials(program string) ([]byte, error) {
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return nil, err
	}
	content, err := os.ReadFile(program)
	if err != nil {
		return nil, err
	}
	main := module("application", info.Main.Path, cli.Version)
	main.Hashes = []hash{{"SHA-256", fmt.Sprintf("%x", sha256.Sum256(content))}}
	out := bill{Format: "CycloneDX", Spec: "1.6", Version: 1, Metadata: metadata{main}}
	out.Components = []component{module("library", "std", strings.TrimPrefix(info.GoVersion, "go"))}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		out.Components = append(out.Components, module("library", m.Path, m.Version))
	}
	all := dependency{Ref: main.Ref}
	for _, c := range out.Components {
		all.DependsOn = append(all.DependsOn, c.Ref)
	}
	out.Dependencies = []dependency{all}
	text, err := json.MarshalIndent(out, "", " ")
	return append(text, '\n'), err
}

// module describes a Go module. Its package URL follows
// https://github.com/package-url/purl-spec: lower case, "+" escaped.
func module(kind, path, version string) component {
	purl := "pkg:golang/" + strings.ToLower(path) + "@" + strings.ReplaceAll(version, "+", "%2B")
	return component{Type: kind, Ref: purl, Name: path, Version: version, PURL: purl}
}
