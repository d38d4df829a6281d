// Package output writes files so that nothing is ever half-written: a folder
// is filled under a temporary name beside its place and then renamed, and an
// older export is replaced only when asked for and only when it is one.
package output

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// ErrExists is returned for a place that is taken.
var ErrExists = errors.New("there is something there already")

// File is one file of a folder to write.
type File struct {
	Name string
	Data []byte
}

// Marker is the file by which an older export of ours is known.
const Marker = "manifest.json"

// Folder writes a folder of files. An existing folder is refused, or, with
// force, replaced when it is empty or an older export (it holds [Marker]).
func Folder(dir string, files []File, force bool) error {
	replace, err := replaceable(dir, force)
	if err != nil {
		return err
	}
	parent := filepath.Dir(filepath.Clean(dir))
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	temporary, err := os.MkdirTemp(parent, ".runsheet-*")
	if err != nil {
		return fmt.Errorf("cannot write into %s: %w", parent, err)
	}
	defer os.RemoveAll(temporary)
	if err := os.Chmod(temporary, 0o700); err != nil {
		return err
	}
	for _, f := range files {
		if err := os.WriteFile(filepath.Join(temporary, f.Name), f.Data, 0o600); err != nil {
			return err
		}
	}
	return swap(temporary, dir, replace)
}

// swap puts the filled folder in its place. An older one is moved aside
// first, so that at no moment there is a mixture of both.
func swap(temporary, dir string, replace bool) error {
	if !replace {
		return os.Rename(temporary, dir)
	}
	aside := temporary + "-old"
	if err := os.Rename(dir, aside); err != nil {
		return err
	}
	if err := os.Rename(temporary, dir); err != nil {
		return errors.Join(err, os.Rename(aside, dir))
	}
	return os.RemoveAll(aside)
}

func replaceable(dir string, force bool) (bool, error) {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return false, nil
	case err != nil:
		return false, err
	case !force && len(entries) > 0:
		return false, fmt.Errorf("%s: %w; choose another name, or replace an older export with --force", dir, ErrExists)
	}
	if len(entries) == 0 {
		return true, nil
	}
	if _, err := os.Stat(filepath.Join(dir, Marker)); err != nil {
		return false, fmt.Errorf("%s: %w, and it is not an older export (it has no %s), so --force will not replace it", dir, ErrExists, Marker)
	}
	return true, nil
}

// Single writes one file under a temporary name and renames it. An existing
// file is refused without force.
func Single(path string, data []byte, force bool) error {
	if info, err := os.Stat(path); err == nil {
		if info.IsDir() {
			return fmt.Errorf("%s: %w: it is a folder, and one file is to be written", path, ErrExists)
		}
		if !force {
			return fmt.Errorf("%s: %w; choose another name, or replace it with --force", path, ErrExists)
		}
	}
	parent := filepath.Dir(path)
	temporary, err := os.CreateTemp(parent, ".runsheet-*")
	if err != nil {
		return fmt.Errorf("cannot write into %s: %w", parent, err)
	}
	defer os.Remove(temporary.Name())
	_, err = temporary.Write(data)
	if err := errors.Join(err, temporary.Close()); err != nil {
		return err
	}
	return os.Rename(temporary.Name(), path)
}
