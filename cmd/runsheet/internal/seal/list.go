package seal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"runsheet.example/validate/manifest"
)

// Format is raised when a reader of an older format would misread a list.
const Format = 1

// List is the manifests of many exports, small enough to be signed as one.
type List struct {
	Format  int     `json:"format"`
	Exports []Entry `json:"exports"`
}

// Entry is one manifest: its path below the folder that was sealed, its SHA-256,
// and from it the root, the days asked for, and counts.
type Entry struct {
	Manifest string           `json:"manifest"`
	SHA256   string           `json:"sha256"`
	Root     string           `json:"root"`
	Period   *manifest.Period `json:"period,omitempty"`
	Files    int              `json:"files"`
	Sessions int              `json:"sessions"`
	LeftOut  int              `json:"leftOut"`
}

// Make lists the manifests below a folder in lexical order, and follows no link.
func Make(dir string) ([]byte, error) {
	list := List{Format: Format, Exports: []Entry{}}
	err := filepath.WalkDir(dir+string(filepath.Separator), func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.Name() != manifest.Name || !entry.Type().IsRegular() {
			return err
		}
		one, err := read(path)
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		name, err := filepath.Rel(dir, path)
		one.Manifest = filepath.ToSlash(name)
		list.Exports = append(list.Exports, one)
		return err
	})
	if err == nil && len(list.Exports) == 0 {
		err = fmt.Errorf("%s: no %s is in it", dir, manifest.Name)
	}
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", " ")
	err = encoder.Encode(list)
	return out.Bytes(), err
}

func read(path string) (one Entry, err error) {
	f, err := os.Open(path)
	if err != nil {
		return one, err
	}
	defer f.Close()
	h := sha256.New()
	err = manifest.Scan(io.TeeReader(f, h), func(p manifest.Part) error {
		switch {
		case p.Member == "root":
			return json.Unmarshal(p.Value, &one.Root)
		case p.Member == "period":
			return json.Unmarshal(p.Value, &one.Period)
		case p.Member == "leftOut" && p.Element:
			one.LeftOut++
		case p.Member == "bundles" && p.Element:
			var file manifest.File
			if err := json.Unmarshal(p.Value, &file); err != nil {
				return err
			}
			if one.Files++; file.Status != "" {
				one.Sessions++
			}
		}
		return nil
	})
	one.SHA256 = hex.EncodeToString(h.Sum(nil))
	return one, err
}

// Read reads a list. Verify its signature before.
func Read(text []byte) (list List, err error) {
	if err := json.Unmarshal(text, &list); err != nil {
		return list, err
	}
	if list.Format != Format {
		return list, fmt.Errorf("the list is not of format %d", Format)
	}
	return list, nil
}

// Ours reports whether a file is a list or a signature, by its first bytes.
func Ours(head []byte) bool {
	return strings.HasPrefix(string(head), "{\n \"format\": 1,\n \"exports\": [") || strings.HasPrefix(string(head), "-----BEGIN SSH SIGNATURE-----")
}
