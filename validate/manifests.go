package validate

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/month"
)

// manifestFor reads the manifest of a folder, nil if there is none: a
// manifest.json with an object of another kind is not a manifest.
func (s *source) manifestFor(dir string) (*month.Manifest, error) {
	path := s.opts.Manifest
	if path == "" {
		path = filepath.Join(dir, manifest.Name)
	}
	if known, ok := s.manifests[path]; ok {
		return known, nil
	}
	if info, err := os.Stat(path); s.opts.Manifest == "" && (errors.Is(err, fs.ErrNotExist) || err == nil && !info.Mode().IsRegular()) {
		return nil, nil
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	m, findings := month.ReadManifest(data, path)
	if s.opts.Manifest == "" && !m.IsManifest() {
		return nil, nil
	}
	s.manifests[path] = m
	return m, s.fill(part{name: path, data: data, findings: findings})
}

// isManifest reports whether a file of a folder is a manifest rather than
// FHIR.
func (s *source) isManifest(path, name string) bool {
	if name != manifest.Name {
		return false
	}
	if _, read := s.manifests[path]; read {
		return true
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return false
	}
	m, _ := month.ReadManifest(data, path)
	return m.IsManifest()
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
