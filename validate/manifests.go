package validate

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
)

// manifestFor reads the manifest of a folder, nil when there is none: one named
// manifest.json that is an object of another kind is no manifest.
func (s *source) manifestFor(dir string) (*month.Manifest, error) {
	path := s.opts.Manifest
	if path == "" {
		path = filepath.Join(dir, month.ManifestName)
	}
	if known, ok := s.manifests[path]; ok {
		return known, nil
	}
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) && s.opts.Manifest == "" {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if s.opts.Manifest == "" && !looksLikeManifest(data) {
		return nil, nil
	}
	m, findings := month.ReadManifest(data, path)
	s.manifests[path] = m
	one := part{name: path, data: data, findings: findings}
	if len(m.Expected.Prescribed) > 0 {
		one.expected = &m.Expected
	}
	return m, s.fill(one)
}

// isManifest reports whether a file of a folder is a manifest and so no FHIR.
func (s *source) isManifest(path, name string) bool {
	if name != month.ManifestName {
		return false
	}
	if _, read := s.manifests[path]; read {
		return true
	}
	data, err := os.ReadFile(path)
	return err == nil && looksLikeManifest(data)
}

func looksLikeManifest(data []byte) bool {
	var d doc.Doc
	d.Parse(data, "")
	return d.Get(d.Root(), "bundles") != doc.None && d.Get(d.Root(), "resourceType") == doc.None
}

// verify compares a folder with its manifest.
func (s *source) verify(dir string, m *month.Manifest) error {
	return s.fill(part{name: m.File, verify: func() ([]issue.Finding, error) {
		root, err := os.OpenRoot(dir)
		if err != nil {
			return nil, err
		}
		defer root.Close()
		entries, err := os.ReadDir(dir)
		if err != nil {
			return nil, err
		}
		var present []string
		for _, e := range entries {
			if !e.IsDir() && isFHIRFile(e.Name()) {
				present = append(present, e.Name())
			}
		}
		findings, err := m.Verify(root.FS(), present)
		if err != nil {
			return nil, fmt.Errorf("checking %s: %w", m.File, err)
		}
		return findings, nil
	}})
}
