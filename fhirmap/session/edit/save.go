package edit

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/fhirmap/session/hold"
)

// kept is how many versions are kept.
const kept = 50

// The names in the log folder that the readers ignore.
const (
	historyName = ".history"
	afterName   = "after.sha256"
	savingName  = "saving"
	openName    = "open"
)

// ErrNothingToUndo is returned when no earlier version is kept.
var ErrNothingToUndo = errors.New("there is nothing to undo")

// Save writes the files that have changed. page is the [Log.Digest] that the
// changes were made from, "" for that of this log. It returns a [ChangedError]
// and writes nothing if the log on disk is another by now.
func (l *Log) Save(page string) error {
	done, err := l.begin()
	if err != nil {
		return err
	}
	defer done()
	if page != "" && page != l.Digest() {
		return l.conflict(l.names(func(*file) bool { return true }))
	}
	changed := l.names(func(f *file) bool { return f.changed })
	if other := l.otherOnDisk(changed); other != nil {
		return l.conflict(other)
	}
	contents := map[string][]byte{}
	for _, key := range changed {
		f := l.files[key]
		if f.table != nil {
			f.raw.Text = f.table.text()
		}
		data, err := f.raw.Bytes()
		if err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
		if digestOf(data) == f.digest {
			continue
		}
		contents[key] = data
	}
	if len(contents) > 0 {
		if err := l.replace(contents); err != nil {
			return plain("the log cannot be saved", err)
		}
	}
	for key, data := range contents {
		f := l.files[key]
		if f.digest = digestOf(data); f.table != nil {
			l.cache.put(key, f.digest, f.table.copied())
		}
	}
	for _, key := range changed {
		l.files[key].changed = false
	}
	return nil
}

// names are the keys of the files that meet a condition, in order.
func (l *Log) names(is func(*file) bool) []string {
	return slices.DeleteFunc(l.keys(), func(key string) bool { return !is(l.files[key]) })
}

// otherOnDisk are those of the files that are not on disk as they were read.
func (l *Log) otherOnDisk(keys []string) (other []string) {
	for _, key := range keys {
		if digest, err := diskDigest(filepath.Join(l.dir, l.files[key].name)); err != nil || digest != l.files[key].digest {
			other = append(other, key)
		}
	}
	return other
}

// diskDigest is the digest of a file, "" where there is none.
func diskDigest(path string) (string, error) {
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	return digestOf(data), err
}

// conflict names the files that are others by now.
func (l *Log) conflict(keys []string) error {
	e := &ChangedError{}
	for _, key := range keys {
		e.Files = append(e.Files, l.files[key].name)
	}
	return e
}

// begin makes sure that no other process saves at the same time, and removes
// what a killed one left behind.
func (l *Log) begin() (done func(), err error) {
	history := filepath.Join(l.dir, historyName)
	if err := os.MkdirAll(history, 0o700); err != nil {
		return nil, plain("the log cannot be saved", err)
	}
	file, err := os.OpenFile(filepath.Join(history, savingName), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, plain("the log cannot be saved", err)
	}
	for wait := 0; ; wait++ {
		if err = hold.Lock(file); !errors.Is(err, hold.ErrLocked) || wait == 200 {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	if err != nil {
		file.Close()
		return nil, fmt.Errorf("the log cannot be saved: another program is saving it: %w", err)
	}
	left, _ := filepath.Glob(filepath.Join(history, "new-*"))
	for _, path := range left {
		_ = os.RemoveAll(path)
	}
	return func() { file.Close() }, nil
}

// replace puts files in place of those on disk, and keeps these as the newest
// version. Without an error all are in place.
func (l *Log) replace(contents map[string][]byte) error {
	history := filepath.Join(l.dir, historyName)
	staged, err := os.MkdirTemp(history, "new-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(staged)
	version, err := os.MkdirTemp(history, "new-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(version)
	var after bytes.Buffer
	keys := l.names(func(f *file) bool { return contents[strings.ToLower(f.name)] != nil })
	for _, key := range keys {
		f := l.files[key]
		fmt.Fprintf(&after, "%s  %s\n", digestOf(contents[key]), f.name)
		if err := l.stage(f, contents[key], staged, version); err != nil {
			return err
		}
	}
	if err := l.writeFile(filepath.Join(version, afterName), after.Bytes(), 0o600); err != nil {
		return err
	}
	versions := versionsIn(history)
	next := 1
	if len(versions) > 0 {
		next = versions[len(versions)-1] + 1
	}
	if err := os.Rename(version, numbered(history, next)); err != nil {
		return err
	}
	for _, key := range keys {
		name := l.files[key].name
		if err := l.step("rename " + name); err != nil {
			return err
		}
		if err := os.Rename(filepath.Join(staged, name), filepath.Join(l.dir, name)); err != nil {
			return err
		}
	}
	hold.SyncFolder(l.dir)
	for _, old := range versions[:max(0, len(versions)+1-kept)] {
		_ = os.RemoveAll(numbered(history, old))
	}
	return nil
}

// stage writes the new bytes of a file into one folder, and those on disk into
// the other.
func (l *Log) stage(f *file, data []byte, staged, version string) error {
	path, mode := filepath.Join(l.dir, f.name), fs.FileMode(0o600)
	if f.digest != "" {
		info, err := os.Lstat(path)
		if err != nil {
			return err
		}
		if mode = info.Mode().Perm(); !info.Mode().IsRegular() || mode&0o200 == 0 {
			return &fs.PathError{Op: "write", Path: f.name, Err: fs.ErrPermission}
		}
		before, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if err := l.writeFile(filepath.Join(version, f.name), before, 0o600); err != nil {
			return err
		}
	}
	return l.writeFile(filepath.Join(staged, f.name), data, mode)
}

// writeFile writes a new file and flushes it to disk.
func (l *Log) writeFile(path string, data []byte, mode fs.FileMode) error {
	if err := l.step("write " + filepath.Base(path)); err != nil {
		return err
	}
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	_, err = file.Write(data)
	return errors.Join(err, file.Sync(), file.Close())
}

func numbered(history string, version int) string {
	return filepath.Join(history, fmt.Sprintf("%06d", version))
}

// versionsIn are the numbers of the versions that are kept, oldest first.
func versionsIn(history string) (versions []int) {
	entries, _ := os.ReadDir(history)
	for _, entry := range entries {
		if n, err := strconv.Atoi(entry.Name()); err == nil && entry.IsDir() && n > 0 {
			versions = append(versions, n)
		}
	}
	slices.Sort(versions)
	return versions
}

// CanUndo reports whether an earlier version is kept.
func (l *Log) CanUndo() bool { return len(versionsIn(filepath.Join(l.dir, historyName))) > 0 }

// Undo puts the files back as they were before the last save, and reads the log
// again; once more goes one save further back. It returns [ErrNothingToUndo]
// without an earlier version, and a [ChangedError] where a file is no longer as
// that save left it: what another program wrote is never overwritten.
func (l *Log) Undo() error {
	done, err := l.begin()
	if err != nil {
		return err
	}
	defer done()
	history := filepath.Join(l.dir, historyName)
	for _, version := range slices.Backward(versionsIn(history)) {
		restored, err := l.restore(numbered(history, version))
		if err != nil {
			return err
		}
		if err := os.RemoveAll(numbered(history, version)); err != nil {
			return plain("the last save cannot be undone", err)
		}
		if restored { // else the save ended before it changed anything
			now, err := Open(l.dir)
			if err == nil {
				l.files = now.files
			}
			return err
		}
	}
	return ErrNothingToUndo
}

// restore puts the files of a version back. It reports whether any was another.
func (l *Log) restore(version string) (restored bool, err error) {
	list, err := os.Open(filepath.Join(version, afterName))
	if err != nil {
		return false, plain("the last save cannot be undone", err)
	}
	defer list.Close()
	before := map[string]string{} // the digest by name
	for lines := bufio.NewScanner(list); lines.Scan(); {
		after, name, _ := strings.Cut(lines.Text(), "  ")
		if _, isSheet := sheetOf(strings.ToLower(name)); !isSheet && !strings.EqualFold(name, aboutName) {
			return false, fmt.Errorf("the last save cannot be undone: %s is no part of a log", name)
		}
		now, err := diskDigest(filepath.Join(l.dir, name))
		if err != nil {
			return false, plain("the last save cannot be undone", err)
		}
		old, err := diskDigest(filepath.Join(version, name))
		switch {
		case err != nil:
			return false, plain("the last save cannot be undone", err)
		case now == after:
			before[name] = old
		case now != old:
			return false, &ChangedError{Files: []string{name}}
		}
	}
	for name, digest := range before {
		if err := l.step("restore " + name); err != nil {
			return false, err
		}
		if digest == "" {
			err = os.Remove(filepath.Join(l.dir, name))
		} else {
			err = l.putBack(version, name)
		}
		if err != nil {
			return false, plain("the last save cannot be undone", err)
		}
	}
	hold.SyncFolder(l.dir)
	return len(before) > 0, nil
}

// putBack copies a file of a version into its place, so that a version stays
// whole until all of its files are back.
func (l *Log) putBack(version, name string) error {
	data, err := os.ReadFile(filepath.Join(version, name))
	if err != nil {
		return err
	}
	info, err := os.Stat(filepath.Join(l.dir, name))
	if err != nil {
		return err
	}
	staged, err := os.MkdirTemp(filepath.Dir(version), "new-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(staged)
	if err := l.writeFile(filepath.Join(staged, name), data, info.Mode().Perm()); err != nil {
		return err
	}
	return os.Rename(filepath.Join(staged, name), filepath.Join(l.dir, name))
}
