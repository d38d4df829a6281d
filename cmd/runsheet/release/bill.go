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

// billOfMaterials lists Go's library and the modules linked into a program, as
// its build information names them, by CycloneDX 1.6
// (https://cyclonedx.org/docs/1.6/json/). That information has no edges between
// modules, so all stand as dependencies of the program. A time and a serial number,
// which would differ from build to build, are left out.
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
	components := []component{module("library", "std", strings.TrimPrefix(info.GoVersion, "go"))}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		components = append(components, module("library", m.Path, m.Version))
	}
	var all []string
	for _, c := range components {
		all = append(all, c.Ref)
	}
	text, err := json.MarshalIndent(map[string]any{
		"bomFormat": "CycloneDX", "specVersion": "1.6", "version": 1,
		"metadata": map[string]any{"component": main}, "components": components,
		"dependencies": []any{map[string]any{"ref": main.Ref, "dependsOn": all}},
	}, "", " ")
	return append(text, '\n'), err
}

// module describes a Go module. Its package URL follows
// https://github.com/package-url/purl-spec: lower case, "+" escaped.
func module(kind, path, version string) component {
	purl := "pkg:golang/" + strings.ToLower(path) + "@" + strings.ReplaceAll(version, "+", "%2B")
	return component{Type: kind, Ref: purl, Name: path, Version: version, PURL: purl}
}
