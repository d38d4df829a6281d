// Package output writes files so that nothing is ever half-written: a folder or
// file is filled under a temporary name beside its place, flushed to the disk,
// and then put there in one step. An older one is replaced only when asked for
// and only when it is ours.
//
// Killed at any moment, there is the old or the new one. What a killed run
// leaves behind has a name made from its place, ".runsheet-" and a hash; the
// next run to the same place removes it, or, on systems that cannot exchange
// two folders in one step, puts the old folder back ([NewFolder]).
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
)

// ErrExists is returned for a place that is taken.
var ErrExists = errors.New("there is something there already")

// Outcome says what writing came to.
type Outcome uint8

const (
	// Written means that the files were written.
	Written Outcome = iota
	// Unchanged means that the very same files were there already.
	Unchanged
)

// prefix begins every temporary name of a place: a hash of its last element,
// so that names of any length fit and say nothing.
func prefix(path string) string {
	sum := sha256.Sum256([]byte(filepath.Base(filepath.Clean(path))))
	return fmt.Sprintf(".runsheet-%x-", sum[:6])
}

// sweep removes what killed runs to the same place left behind. What a running
// process holds is locked and stays.
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

// syncFolder flushes a folder's names to the disk. Systems that cannot do that
// to a folder report an error, which says nothing of the files.
func syncFolder(path string) {
	if dir, err := os.Open(path); err == nil {
		_ = dir.Sync()
		dir.Close()
	}
}

// File is a file being written under a temporary name. Call [File.Commit] to
// put it in its place, and [File.Close] in any case.
type File struct {
	path  string
	force bool
	ours  func(head []byte) bool
	file  *os.File
}

// NewFile begins a file. An existing one is replaced only with force and only
// when ours, unless it is nil, recognises it by its first bytes.
func NewFile(path string, force bool, ours func(head []byte) bool) (*File, error) {
	sweep(path)
	parent := filepath.Dir(path)
	file, err := os.CreateTemp(parent, prefix(path)+"*")
	if err != nil {
		return nil, fmt.Errorf("cannot write into %s: %w", parent, err)
	}
	hold(file)
	return &File{path, force, ours, file}, nil
}

// Write appends to the file.
func (f *File) Write(p []byte) (int, error) { return f.file.Write(p) }

// Clear empties the file.
func (f *File) Clear() error {
	_, err := f.file.Seek(0, io.SeekStart)
	return errors.Join(err, f.file.Truncate(0))
}

// Commit puts the file in its place. When the very same bytes are there already
// nothing is changed.
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
	syncFolder(filepath.Dir(f.path))
	return Written, nil
}

// Close removes what was not committed.
func (f *File) Close() {
	f.file.Close()
	_ = os.Remove(f.file.Name())
}

// headSize is enough to recognise a file by.
const headSize = 1 << 16

func head(path string) []byte {
	file, err := os.Open(path)
	if err != nil {
		return nil
	}
	defer file.Close()
	data, _ := io.ReadAll(io.LimitReader(file, headSize)) // as far as it can be read
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

// Single writes one file, see [NewFile].
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
