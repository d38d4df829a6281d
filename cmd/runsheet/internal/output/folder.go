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
	"slices"

	"runsheet.example/fhirmap/session/hold"
	"runsheet.example/validate/manifest"
)

// Folder is a folder that is filled under a temporary name. Call
// [Folder.Commit] to move it to its place, and [Folder.Close] in any case.
type Folder struct {
	dir       string
	force     bool
	ours      func(manifest []byte) bool
	temporary string
	held      *os.File // locks the temporary folder
	names     []string
	// exchange swaps two folders in one step; step is called at each step of a
	// commit. Tests replace both.
	exchange func(a, b string) error
	step     func()
}

// NewFolder begins a folder. It replaces an existing one only with force and
// only if ours recognises its manifest by its first bytes. It first cleans up
// after an interrupted run: an old folder that was moved aside and not yet
// replaced is put back.
func NewFolder(dir string, force bool, ours func(manifest []byte) bool) (*Folder, error) {
	parent := filepath.Dir(filepath.Clean(dir))
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return nil, err
	}
	if _, err := os.Lstat(dir); errors.Is(err, fs.ErrNotExist) {
		if err := os.Rename(aside(dir), dir); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("the older export %s cannot be put back: %w", aside(dir), err)
		}
	}
	sweep(dir)
	temporary, err := os.MkdirTemp(parent, prefix(dir)+"new-*")
	if err != nil {
		return nil, fmt.Errorf("cannot write into %s: %w", parent, err)
	}
	held, err := os.Open(temporary)
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(temporary))
	}
	_ = hold.Lock(held) // nobody else knows its name
	return &Folder{dir: dir, force: force, ours: ours, temporary: temporary, held: held, exchange: exchange, step: func() {}}, nil
}

// aside is the temporary place of the older folder while the new one replaces
// it, if the system cannot exchange folders.
func aside(dir string) string {
	return filepath.Join(filepath.Dir(filepath.Clean(dir)), prefix(dir)+"old")
}

// Create begins a file of the folder, or of a folder in it.
func (f *Folder) Create(name string) (io.WriteCloser, error) {
	f.step()
	if err := os.MkdirAll(filepath.Dir(filepath.Join(f.temporary, name)), 0o700); err != nil {
		return nil, err
	}
	file, err := os.OpenFile(filepath.Join(f.temporary, name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	f.names = append(f.names, name)
	return buffered{bufio.NewWriterSize(file, headSize), file}, nil
}

type buffered struct {
	*bufio.Writer
	file *os.File
}

func (b buffered) Close() error { return errors.Join(b.Flush(), b.file.Close()) }

// Clear removes the files written so far.
func (f *Folder) Clear() error {
	for _, name := range f.names {
		if err := os.Remove(filepath.Join(f.temporary, name)); err != nil {
			return err
		}
	}
	f.names = nil
	return nil
}

// Commit moves the folder to its place. It does not touch an existing folder
// that holds exactly these files with these bytes. It refuses any other or,
// with force, replaces it if it is empty or an older export without other files.
//
// Decision 9. The same export twice is not an error: if the folder holds the
// same bytes, nothing is written. Anything else is refused without --force,
// and only an export of ours is replaced: a folder is recognised by its
// manifest, a Bundle by our record identifiers, an encrypted file by a stanza
// of its header. A file that somebody put into the folder is never deleted.
func (f *Folder) Commit() (Outcome, error) {
	if f.same() {
		return Unchanged, nil
	}
	replace, err := f.replaceable()
	if err != nil {
		return Written, err
	}
	if err := f.flush(); err != nil {
		return Written, err
	}
	f.step()
	if err := f.place(replace); err != nil {
		return Written, err
	}
	hold.SyncFolder(filepath.Dir(filepath.Clean(f.dir)))
	f.step()
	return Written, nil
}

// replaceable reports whether there is a folder to replace, and refuses one
// that must not be replaced.
func (f *Folder) replaceable() (bool, error) {
	entries, err := os.ReadDir(f.dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return false, nil
	case err != nil:
		return false, err
	case !f.force && len(entries) > 0:
		return false, fmt.Errorf("%s: %w; choose another name, or replace an older export with --force", f.dir, ErrExists)
	}
	if len(entries) == 0 {
		return true, nil
	}
	if !f.ours(head(filepath.Join(f.dir, manifest.Name))) {
		return false, fmt.Errorf("%s: %w, and it is not an older export (it has no %s of ours), so --force will not replace it", f.dir, ErrExists, manifest.Name)
	}
	if other := f.foreign(entries); other != "" {
		return false, fmt.Errorf("%s: %w, and it holds %s, which is no part of an export and would be lost; move it to another place, or choose another name", f.dir, ErrExists, other)
	}
	return true, nil
}

// foreign is the first entry of the existing folder that an export did not
// write: one that neither its manifest nor the new export names.
func (f *Folder) foreign(entries []fs.DirEntry) string {
	listed, err := os.ReadFile(filepath.Join(f.dir, manifest.Name))
	for _, entry := range entries {
		named := err == nil && bytes.Contains(listed, []byte(`"`+entry.Name()+`"`)) || slices.Contains(f.names, entry.Name())
		if entry.Name() != manifest.Name && (entry.IsDir() || !named) {
			return entry.Name()
		}
	}
	return ""
}

// same reports whether the existing folder holds exactly these files.
func (f *Folder) same() bool {
	entries, err := os.ReadDir(f.dir)
	if err != nil || len(entries) != len(f.names) {
		return false
	}
	for _, name := range f.names {
		if !sameFile(filepath.Join(f.dir, name), filepath.Join(f.temporary, name)) {
			return false
		}
	}
	return true
}

// place moves the folder to its place. If two folders cannot be exchanged, it
// moves the older one aside first, and [NewFolder] puts it back if no new one
// followed.
func (f *Folder) place(replace bool) error {
	if !replace {
		return os.Rename(f.temporary, f.dir)
	}
	err := f.exchange(f.temporary, f.dir)
	if !errors.Is(err, errors.ErrUnsupported) {
		return err // Close removes the older one
	}
	old := aside(f.dir)
	if err := os.Rename(f.dir, old); err != nil {
		return err
	}
	f.step()
	if err := os.Rename(f.temporary, f.dir); err != nil {
		return errors.Join(err, os.Rename(old, f.dir))
	}
	f.step()
	return os.RemoveAll(old)
}

// Close removes the temporary folder, or the older one that it replaced.
func (f *Folder) Close() {
	_ = os.RemoveAll(f.temporary)
	f.held.Close()
}
