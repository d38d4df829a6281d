// Package output writes files atomically: it fills a folder or file under a
// temporary name beside its place, flushes it to disk, and then moves it there
// in one step. It replaces an older one only on request and only if it is
// ours.
//
// A run killed at any moment leaves the old or the new one. Its temporary
// files have a name derived from the place, ".runsheet-" and a hash; the next
// run to the same place removes it, or, on systems that cannot exchange two
// folders in one step, puts the old folder back ([NewFolder]).
package output

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"runsheet.example/fhirmap/session/hold"
)

// ErrExists is returned if the place is occupied.
var ErrExists = errors.New("there is something there already")

// Outcome is the result of writing.
type Outcome uint8

const (
	// Written means that the files were written.
	Written Outcome = iota
	// Unchanged means that identical files already existed.
	Unchanged
)

// prefix begins every temporary name for a place: a hash of its last element,
// so that names of any length fit and reveal nothing.
func prefix(path string) string {
	sum := sha256.Sum256([]byte(filepath.Base(filepath.Clean(path))))
	return fmt.Sprintf(".runsheet-%x-", sum[:6])
}

// sweep removes the temporary files of killed runs to the same place. A
// running process locks its own, which stay.
func sweep(path string) {
	parent := filepath.Dir(filepath.Clean(path))
	entries, err := os.ReadDir(parent)
	if err != nil {
		return // the folder may not exist yet
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), prefix(path)) {
			continue
		}
		stale := filepath.Join(parent, e.Name())
		if file, err := os.Open(stale); err == nil {
			if abandoned(file) {
				_ = os.RemoveAll(stale)
			}
			file.Close()
		}
	}
}

// File is a file that is written under a temporary name. Call [File.Commit] to
// move it to its place, and [File.Close] in any case.
type File struct {
	path  string
	force bool
	ours  func(head []byte) bool
	file  *os.File
}

// NewFile begins a file. It replaces an existing one only with force and only
// if ours, unless it is nil, recognises it by its first bytes.
func NewFile(path string, force bool, ours func(head []byte) bool) (*File, error) {
	sweep(path)
	parent := filepath.Dir(path)
	file, err := os.CreateTemp(parent, prefix(path)+"*")
	if err != nil {
		return nil, fmt.Errorf("cannot write into %s: %w", parent, err)
	}
	_ = hold.Lock(file) // nobody else knows its name
	return &File{path, force, ours, file}, nil
}

// Write appends to the file.
func (f *File) Write(p []byte) (int, error) { return f.file.Write(p) }

// Clear empties the file.
func (f *File) Clear() error {
	_, err := f.file.Seek(0, io.SeekStart)
	return errors.Join(err, f.file.Truncate(0))
}

// Commit moves the file to its place. It changes nothing if a file with the
// same bytes exists.
func (f *File) Commit() (Outcome, error) {
	if err := f.file.Sync(); err != nil {
		return Written, err
	}
	switch info, err := os.Stat(f.path); {
	case err != nil:
	case info.IsDir():
		return Written, fmt.Errorf("%s: %w: it is a folder, and one file is to be written", f.path, ErrExists)
	case sameFile(f.path, f.file.Name()):
		return Unchanged, nil
	case f.ours == nil: // the command replaces nothing
		return Written, fmt.Errorf("%s: %w; choose another name", f.path, ErrExists)
	case !f.force:
		return Written, fmt.Errorf("%s: %w; choose another name, or replace it with --force", f.path, ErrExists)
	case !f.ours(head(f.path)):
		return Written, fmt.Errorf("%s: %w, and it is no older file of this program, so --force will not replace it", f.path, ErrExists)
	}
	if err := os.Rename(f.file.Name(), f.path); err != nil {
		return Written, err
	}
	hold.SyncFolder(filepath.Dir(f.path))
	return Written, nil
}

// Close removes a file that was not committed.
func (f *File) Close() {
	f.file.Close()
	_ = os.Remove(f.file.Name())
}

// headSize is the number of bytes needed to recognise a file.
const headSize = 1 << 16

func head(path string) []byte {
	file, err := os.Open(path)
	if err != nil {
		return nil
	}
	defer file.Close()
	data, _ := io.ReadAll(io.LimitReader(file, headSize)) // as far as it is readable
	return data
}

// sameFile reports whether two files hold the same bytes.
func sameFile(a, b string) bool {
	one, errA := os.Open(a)
	if errA != nil {
		return false
	}
	defer one.Close()
	two, errB := os.Open(b)
	if errB != nil {
		return false
	}
	defer two.Close()
	infoA, errA := one.Stat()
	infoB, errB := two.Stat()
	if errA != nil || errB != nil || infoA.Size() != infoB.Size() {
		return false
	}
	bufferA, bufferB := make([]byte, headSize), make([]byte, headSize)
	for {
		n, err := io.ReadFull(one, bufferA)
		m, _ := io.ReadFull(two, bufferB)
		if !bytes.Equal(bufferA[:n], bufferB[:m]) {
			return false
		}
		if err != nil {
			return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF)
		}
	}
}

// Single writes one file; see [NewFile].
func Single(path string, data []byte, force bool, ours func(head []byte) bool) (Outcome, error) {
	f, err := NewFile(path, force, ours)
	if err != nil {
		return Written, err
	}
	defer f.Close()
	if _, err := f.Write(data); err != nil {
		return Written, err
	}
	return f.Commit()
}
