// Package output writes files so that nothing is ever half-written: a folder
// is filled under a temporary name beside its place and then renamed, and an
// older export is replaced only when asked for and only when it is one.
package output

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
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

// Outcome says what writing came to.
type Outcome uint8

const (
	// Written means that the files were written.
	Written Outcome = iota
	// Unchanged means that the very same files were there already.
	Unchanged
)

// Folder writes a folder of files. An existing folder is left alone when it
// holds just these files with just these bytes. Any other is refused, or, with
// force, replaced when it is empty or an older export (it holds [Marker]).
func Folder(dir string, files []File, force bool) (Outcome, error) {
	if same(dir, files) {
		return Unchanged, nil
	}
	replace, err := replaceable(dir, force)
	if err != nil {
		return Written, err
	}
	parent := filepath.Dir(filepath.Clean(dir))
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return Written, err
	}
	temporary, err := os.MkdirTemp(parent, ".runsheet-*")
	if err != nil {
		return Written, fmt.Errorf("cannot write into %s: %w", parent, err)
	}
	defer os.RemoveAll(temporary)
	for _, f := range files {
		if err := os.WriteFile(filepath.Join(temporary, f.Name), f.Data, 0o600); err != nil {
			return Written, err
		}
	}
	return Written, swap(temporary, dir, replace)
}

// same reports whether the folder holds exactly these files.
func same(dir string, files []File) bool {
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != len(files) {
		return false
	}
	for _, f := range files {
		data, err := os.ReadFile(filepath.Join(dir, f.Name))
		if err != nil || !bytes.Equal(data, f.Data) {
			return false
		}
	}
	return true
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
// file is left alone when it has just these bytes, and else refused without
// force.
func Single(path string, data []byte, force bool) (Outcome, error) {
	if info, err := os.Stat(path); err == nil {
		if info.IsDir() {
			return Written, fmt.Errorf("%s: %w: it is a folder, and one file is to be written", path, ErrExists)
		}
		if old, err := os.ReadFile(path); err == nil && bytes.Equal(old, data) {
			return Unchanged, nil
		}
		if !force {
			return Written, fmt.Errorf("%s: %w; choose another name, or replace it with --force", path, ErrExists)
		}
	}
	parent := filepath.Dir(path)
	temporary, err := os.CreateTemp(parent, ".runsheet-*")
	if err != nil {
		return Written, fmt.Errorf("cannot write into %s: %w", parent, err)
	}
	defer os.Remove(temporary.Name())
	_, err = temporary.Write(data)
	if err := errors.Join(err, temporary.Close()); err != nil {
		return Written, err
	}
	return Written, os.Rename(temporary.Name(), path)
}

// Stream writes one file, in place of the one there is, without having it whole
// in memory. When write fails, the file is as it was.
func Stream(path string, write func(io.Writer) error) error {
	parent := filepath.Dir(path)
	temporary, err := os.CreateTemp(parent, ".runsheet-*")
	if err != nil {
		return fmt.Errorf("cannot write into %s: %w", parent, err)
	}
	defer os.Remove(temporary.Name())
	buffer := bufio.NewWriterSize(temporary, 1<<16)
	err = write(buffer)
	if err == nil {
		err = buffer.Flush()
	}
	if err := errors.Join(err, temporary.Close()); err != nil {
		return err
	}
	return os.Rename(temporary.Name(), path)
}
