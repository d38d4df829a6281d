package profiles

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"path"
	"slices"
	"time"
)

// Pack writes the package as a FHIR package archive (a gzipped tar of the
// folder "package" with an .index.json in each folder), under a canonical base.
// The same program writes the same bytes: files are sorted, owners, times and
// modes fixed.
func Pack(w io.Writer, canonical string) error {
	if err := CheckCanonical(canonical); err != nil {
		return err
	}
	files, err := packed(canonical)
	if err != nil {
		return err
	}
	zipped, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return err
	}
	archive := tar.NewWriter(zipped)
	for _, f := range files {
		header := &tar.Header{Name: path.Join("package", f.name), Mode: 0o644, Size: int64(len(f.data)), ModTime: packedAt, Format: tar.FormatUSTAR}
		if err := archive.WriteHeader(header); err != nil {
			return err
		}
		if _, err := archive.Write(f.data); err != nil {
			return err
		}
	}
	if err := archive.Close(); err != nil {
		return err
	}
	return zipped.Close()
}

// packedAt is the time of every file of the archive, the same as npm's, so that
// equal content has equal bytes.
var packedAt = time.Date(1985, time.October, 26, 8, 15, 0, 0, time.UTC)

type packedFile struct {
	name string
	data []byte
}

// packed reads the package, puts the canonical base in, and adds the indexes.
func packed(canonical string) ([]packedFile, error) {
	var files []packedFile
	err := fs.WalkDir(Package(), ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		text, err := fs.ReadFile(Package(), name)
		if err != nil {
			return err
		}
		files = append(files, packedFile{name, underCanonical(text, canonical)})
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, f := range folders {
		index, err := indexOf(f.folder, files)
		if err != nil {
			return nil, err
		}
		files = append(files, packedFile{path.Join(f.folder, ".index.json"), index})
	}
	slices.SortFunc(files, func(a, b packedFile) int { return bytes.Compare([]byte(a.name), []byte(b.name)) })
	return files, nil
}

// underCanonical puts another base in the place of [DefaultCanonical], in
// whole JSON strings and at the start of longer ones. The local code systems
// are named by OID and stay.
func underCanonical(text []byte, canonical string) []byte {
	for _, end := range []string{"/", `"`} {
		text = bytes.ReplaceAll(text, []byte(`"`+DefaultCanonical+end), []byte(`"`+canonical+end))
	}
	return text
}

// indexEntry is one file of an .index.json (FHIR package specification).
type indexEntry struct {
	Filename     string `json:"filename"`
	ResourceType string `json:"resourceType"`
	ID           string `json:"id,omitempty"`
	URL          string `json:"url,omitempty"`
	Version      string `json:"version,omitempty"`
	Kind         string `json:"kind,omitempty"`
	Type         string `json:"type,omitempty"`
	Content      string `json:"content,omitempty"`
}

// indexOf writes the index of one folder's resources.
func indexOf(folder string, files []packedFile) ([]byte, error) {
	index := struct {
		Version int          `json:"index-version"`
		Files   []indexEntry `json:"files"`
	}{1, []indexEntry{}}
	for _, f := range files {
		if path.Dir(f.name) != folder || notResource[path.Base(f.name)] {
			continue
		}
		entry, err := entryOf(f)
		if err != nil {
			return nil, err
		}
		index.Files = append(index.Files, entry)
	}
	text, err := json.MarshalIndent(index, "", " ")
	return append(text, '\n'), err
}

// entryOf reads a resource's own words for the index. The elements type and
// version are codes in a definition and something else elsewhere.
func entryOf(f packedFile) (indexEntry, error) {
	var r struct {
		ResourceType, ID, URL, Kind, Content string
		Type, Version                        json.RawMessage
	}
	if err := json.Unmarshal(f.data, &r); err != nil {
		return indexEntry{}, err
	}
	entry := indexEntry{Filename: path.Base(f.name), ResourceType: r.ResourceType, ID: r.ID, URL: r.URL, Kind: r.Kind}
	if r.ResourceType == "CodeSystem" {
		entry.Content = r.Content
	}
	var err error
	if r.URL != "" {
		err = json.Unmarshal(r.Version, &entry.Version)
	}
	if r.ResourceType == "StructureDefinition" {
		err = errors.Join(err, json.Unmarshal(r.Type, &entry.Type))
	}
	return entry, err
}
