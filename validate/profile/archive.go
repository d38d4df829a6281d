package profile

import (
	"archive/tar"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// Limits of a package: many times the largest national guides, but small
// enough that a hostile file cannot fill the memory.
const (
	maxFiles     = 50_000
	maxFileSize  = 64 << 20
	maxTotalSize = 512 << 20
)

// Package is the definitions of one FHIR package.
type Package struct {
	// Name and Version come from its package.json, "" without one.
	Name, Version string

	definitions map[string][]definition // by URL
}

// definition is a StructureDefinition, ValueSet or CodeSystem as read.
type definition struct {
	kind, url, version string
	text               []byte
}

// ReadPackage reads a FHIR package: a gzipped tar with the resources directly
// in the folder "package" (FHIR Package Specification). It skips examples and
// other folders and needs no .index.json. It returns an error if the file is
// not such an archive, exceeds the limits or has broken JSON.
func ReadPackage(r io.Reader) (*Package, error) {
	unzipped, err := gzip.NewReader(r)
	if err != nil {
		return nil, fmt.Errorf("no gzipped archive: %w", err)
	}
	p := &Package{definitions: map[string][]definition{}}
	archive := tar.NewReader(&limited{unzipped, maxTotalSize})
	for files := 0; ; files++ {
		header, err := archive.Next()
		switch {
		case errors.Is(err, io.EOF):
			if len(p.definitions) == 0 && p.Name == "" {
				return nil, fmt.Errorf("the archive holds %d files, but no definition in a folder \"package\"", files)
			}
			return p, nil
		case err != nil:
			return nil, fmt.Errorf("the archive: %w", err)
		case files >= maxFiles:
			return nil, fmt.Errorf("the archive holds more than %d files", maxFiles)
		case header.Typeflag != tar.TypeReg || !isDefinitionFile(header.Name):
			continue
		}
		if err := p.read(archive, header); err != nil {
			return nil, fmt.Errorf("%s: %w", header.Name, err)
		}
	}
}

// isDefinitionFile reports a JSON file directly in "package".
func isDefinitionFile(name string) bool {
	name = path.Clean(name)
	return path.Dir(name) == "package" && strings.HasSuffix(name, ".json") && !strings.HasPrefix(path.Base(name), ".")
}

func (p *Package) read(archive io.Reader, header *tar.Header) error {
	if header.Size > maxFileSize {
		return fmt.Errorf("larger than %d bytes", maxFileSize)
	}
	text, err := io.ReadAll(io.LimitReader(archive, maxFileSize))
	if err != nil {
		return err
	}
	if path.Base(header.Name) == "package.json" {
		var about struct{ Name, Version string }
		if err := json.Unmarshal(text, &about); err != nil {
			return err
		}
		p.Name, p.Version = about.Name, about.Version
		return nil
	}
	return p.add(text)
}

// add keeps a resource of a type that is looked up by URL.
func (p *Package) add(text []byte) error {
	var r struct{ ResourceType, URL, Version string }
	if err := json.Unmarshal(text, &r); err != nil {
		var other *json.UnmarshalTypeError
		if errors.As(err, &other) {
			return nil // some other document
		}
		return err
	}
	switch r.ResourceType {
	case "StructureDefinition", "ValueSet", "CodeSystem":
		if r.URL != "" {
			p.definitions[r.URL] = append(p.definitions[r.URL], definition{r.ResourceType, r.URL, r.Version, text})
		}
	}
	return nil
}

// limited is a reader that fails at its limit instead of ending.
type limited struct {
	r    io.Reader
	left int64
}

func (l *limited) Read(b []byte) (int, error) {
	if l.left <= 0 {
		return 0, fmt.Errorf("unpacked, it is larger than %d bytes", int64(maxTotalSize))
	}
	if int64(len(b)) > l.left {
		b = b[:l.left]
	}
	n, err := l.r.Read(b)
	l.left -= int64(n)
	return n, err
}
