package receive

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"filippo.io/age"

	"runsheet.example/cmd/runsheet/internal/questionnaire"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/manifest"
)

// item is one log or export in the inbox.
type item struct {
	name   string // its path in the inbox, in an archive after that of the archive
	path   string // where it is read: in the inbox or unpacked
	sha256 string
	kind   kind
	// archive is the file in the inbox that it was unpacked from, if any.
	archive string
}

type kind uint8

const (
	logKind    kind = iota // a folder with log.toml, a workbook or a QuestionnaireResponse
	mappedKind             // a folder with map.toml beside the sheet
	exportKind             // a folder with a manifest
)

// A file to be unpacked may not hold more than a log or an export of years.
const (
	maxPacked   = 64 << 20
	maxUnpacked = 1 << 30
)

const mapName, aboutName = "map.toml", "log.toml"

// items lists what stands in the inbox, in the order of the names. A folder that
// is neither log nor export is searched. What cannot be anything is set aside.
func (r *run) items() (out []item, err error) {
	entries, err := os.ReadDir(r.opts.Inbox)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		found, err := r.search(e.Name(), filepath.Join(r.opts.Inbox, e.Name()), "")
		if err != nil {
			return nil, err
		}
		out = append(out, found...)
	}
	return out, nil
}

// search lists the items at a path; archive is the one that it was unpacked from.
func (r *run) search(name, at, archive string) ([]item, error) {
	info, err := os.Lstat(at)
	switch {
	case err != nil:
		return nil, err
	case strings.HasPrefix(path.Base(name), "."), strings.HasPrefix(path.Base(name), "~$"):
		return nil, nil // of the system, or of a spreadsheet that is open
	case info.IsDir():
		return r.searchFolder(name, at, archive)
	case !info.Mode().IsRegular():
		r.setAside(name, refuse("no file: a link or a device is not followed"))
		return nil, nil
	}
	switch {
	case workbook.Named(at), questionnaire.Named(at):
		one, err := newItem(name, at, logKind)
		one.archive = archive
		return []item{one}, err
	case archive != "" && (hasEnding(at, ".zip") || hasEnding(at, ".age")):
		r.setAside(name, refuse("it is an archive in an archive"))
		return nil, nil
	case hasEnding(at, ".zip"), hasEnding(at, ".age"):
		found, err := r.unpack(name, at)
		var reason *refusal
		if errors.As(err, &reason) {
			r.setAside(name, reason)
			return nil, nil
		}
		return found, err
	default:
		r.setAside(name, refuse("neither a log, nor a workbook (.xlsx), nor a QuestionnaireResponse (.json), nor an export; a sheet of another shape goes into a folder, with {} and {} beside it", mapName, aboutName))
		return nil, nil
	}
}

func hasEnding(name, ending string) bool { return strings.HasSuffix(strings.ToLower(name), ending) }

func (r *run) searchFolder(name, at, archive string) (out []item, err error) {
	for _, sign := range []struct {
		file string
		kind kind
	}{{manifest.Name, exportKind}, {mapName, mappedKind}, {aboutName, logKind}} {
		if info, err := os.Stat(filepath.Join(at, sign.file)); err == nil && info.Mode().IsRegular() {
			one, err := newItem(name, at, sign.kind)
			one.archive = archive
			return []item{one}, err
		}
	}
	entries, err := os.ReadDir(at)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		found, err := r.search(path.Join(name, e.Name()), filepath.Join(at, e.Name()), archive)
		if err != nil {
			return nil, err
		}
		out = append(out, found...)
	}
	return out, nil
}

// newItem computes the digest of an item: of a file that of its content, of a
// folder that over its files' names and digests.
func newItem(name, at string, kind kind) (item, error) {
	one := item{name: name, path: at, kind: kind}
	info, err := os.Stat(at)
	if err != nil {
		return one, err
	}
	if !info.IsDir() {
		one.sha256, err = manifest.SumOf(os.Open(at))
		return one, err
	}
	all := sha256.New()
	err = filepath.WalkDir(at, func(file string, e fs.DirEntry, err error) error {
		if err != nil || !e.Type().IsRegular() || strings.HasPrefix(e.Name(), ".") {
			return err
		}
		inside, err := filepath.Rel(at, file)
		if err != nil {
			return err
		}
		sum, err := manifest.SumOf(os.Open(file))
		fmt.Fprintf(all, "%s  %s\n", sum, filepath.ToSlash(inside))
		return err
	})
	one.sha256 = hex.EncodeToString(all.Sum(nil))
	return one, err
}

// unpack decrypts and unpacks a file and lists what is in it.
func (r *run) unpack(name, at string) ([]item, error) {
	to, err := os.MkdirTemp(r.unpacked, "item-*")
	if err != nil {
		return nil, err
	}
	inside := filepath.Join(to, path.Base(name))
	if hasEnding(name, ".age") {
		inside = inside[:len(inside)-len(".age")]
		if err := r.decrypt(at, inside); err != nil {
			return nil, err
		}
		at = inside
	}
	if hasEnding(inside, ".zip") {
		inside = filepath.Join(to, "zip")
		if err := unzip(at, inside); err != nil {
			return nil, err
		}
	}
	found, err := r.search(name, inside, name)
	if err == nil && len(found) == 0 && !r.isAside(name) {
		err = refuse("there is neither a log nor an export in it")
	}
	return found, err
}

func (r *run) isAside(name string) bool {
	for _, a := range r.aside {
		if a.Item == name || strings.HasPrefix(a.Item, name+"/") {
			return true
		}
	}
	return false
}

func (r *run) decrypt(at, to string) error {
	if len(r.opts.Identities) == 0 {
		return refuse("it is encrypted: give the unit's private key with --identity")
	}
	in, err := os.Open(at)
	if err != nil {
		return err
	}
	defer in.Close()
	plain, err := age.Decrypt(in, r.opts.Identities...)
	if err != nil {
		return refuse("it cannot be decrypted with the keys given: it is encrypted for another key, or damaged")
	}
	return write(to, plain, "the encrypted file is damaged or not complete")
}

// write writes a file that holds at most what a log may.
func write(to string, from io.Reader, damaged string) error {
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer out.Close()
	content := &readError{from: io.LimitReader(from, maxUnpacked+1)}
	n, err := io.Copy(out, content)
	switch {
	case content.err != nil:
		return refuse(damaged)
	case err != nil:
		return err
	case n > maxUnpacked:
		return refuse("it unpacks to more than any log or export holds")
	}
	return out.Close()
}

// readError tells a fault of what is read from one of what is written.
type readError struct {
	from io.Reader
	err  error
}

func (r *readError) Read(p []byte) (int, error) {
	n, err := r.from.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		r.err = err
	}
	return n, err
}

// unzip unpacks a zip into a new folder. It refuses names that leave the folder
// and archives that unpack to too much.
func unzip(at, to string) error {
	info, err := os.Stat(at)
	if err != nil {
		return err
	}
	if info.Size() > maxPacked {
		return refuse("larger than any log or export ({} MB)", info.Size()>>20)
	}
	data, err := os.ReadFile(at)
	if err != nil {
		return err
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return refuse("the zip file is damaged or not complete")
	}
	var total uint64
	for _, part := range archive.File {
		name := strings.ReplaceAll(part.Name, `\`, "/") // as some Windows programs write it
		if total += part.UncompressedSize64; total > maxUnpacked {
			return refuse("it unpacks to more than any log or export holds")
		}
		if !filepath.IsLocal(filepath.FromSlash(name)) {
			return refuse("a name in the zip file leads out of it")
		}
		if strings.HasSuffix(name, "/") || !part.Mode().IsRegular() {
			continue
		}
		if err := unzipPart(part, filepath.Join(to, filepath.FromSlash(name))); err != nil {
			return err
		}
	}
	return os.MkdirAll(to, 0o700)
}

func unzipPart(part *zip.File, to string) error {
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return err
	}
	in, err := part.Open()
	if err != nil {
		return refuse("the zip file is damaged, or locked with a password")
	}
	defer in.Close()
	if err := write(to, in, "the zip file is damaged or not complete"); errors.Is(err, fs.ErrExist) {
		return refuse("two files in the zip file have the same name")
	} else if err != nil {
		return err
	}
	return nil
}
