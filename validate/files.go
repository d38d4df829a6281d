package validate

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/month"
)

// stdinName is what findings in standard input carry as file name.
const stdinName = "-"

// path checks one argument of Paths.
func (r *run) path(ctx context.Context, path string, stdin io.Reader) error {
	if path == stdinName {
		return r.stream(ctx, stdin, stdinName, false)
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if info.IsDir() {
		return r.folder(ctx, path)
	}
	m, err := r.manifestFor(filepath.Dir(path))
	if err != nil {
		return err
	}
	return r.file(ctx, path, filepath.Base(path), m)
}

// folder checks every FHIR file below a folder, in lexical order, and the
// folder against its manifest.
func (r *run) folder(ctx context.Context, folder string) error {
	manifests := map[string]*month.Manifest{}
	count := 0
	err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() {
			if path != folder && strings.HasPrefix(entry.Name(), ".") {
				return filepath.SkipDir
			}
			if r.opts.Manifest != "" && path != folder {
				return nil // the manifest given is that of the folder given
			}
			m, err := r.manifestFor(path)
			if m != nil {
				manifests[path] = m
			}
			return err
		}
		m := manifests[filepath.Dir(path)]
		if !isFHIRFile(entry.Name()) || path == r.opts.Manifest || r.isManifest(path, entry.Name()) {
			return nil
		}
		count++
		return r.file(ctx, path, entry.Name(), m)
	})
	if err != nil {
		return err
	}
	if count == 0 {
		return fmt.Errorf("folder %s holds no .json or .ndjson file", folder)
	}
	for _, dir := range slices.Sorted(maps.Keys(manifests)) {
		if err := r.verify(dir, manifests[dir]); err != nil {
			return err
		}
	}
	return nil
}

func isFHIRFile(name string) bool {
	return strings.HasSuffix(name, ".json") || isLines(name)
}

func isLines(name string) bool {
	return strings.HasSuffix(name, ".ndjson") || strings.HasSuffix(name, ".jsonl")
}

// file checks one file; inManifest is its name there.
func (r *run) file(ctx context.Context, path, inManifest string, m *month.Manifest) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	r.current.manifest = m
	r.current.session = ""
	if m != nil {
		r.current.session = m.Session(inManifest)
	}
	defer func() { r.current.manifest, r.current.session = nil, "" }()
	return r.stream(ctx, f, path, isLines(path))
}

// stream checks what a reader gives: resources line by line, or one document.
// Standard input is taken as lines when its first line is a whole JSON value
// and more follows.
func (r *run) stream(ctx context.Context, in io.Reader, name string, lines bool) error {
	r.out.Files++
	reader := bufio.NewReaderSize(in, 1<<16)
	if lines {
		return r.lines(ctx, reader, name, nil, 0)
	}
	if name != stdinName {
		data, err := r.all(nil, reader)
		if err != nil {
			return fmt.Errorf("reading %s: %w", name, err)
		}
		r.document(data, name)
		return nil
	}
	first, err := readLine(reader, r.most(doc.DefaultMaxBytes))
	if err != nil && !errors.Is(err, io.EOF) {
		return fmt.Errorf("reading standard input: %w", err)
	}
	if err == nil && isWhole(first) {
		if blank, more := moreFollows(reader); more {
			return r.lines(ctx, reader, name, first, blank)
		}
	}
	data, err := r.all(first, reader)
	if err != nil {
		return fmt.Errorf("reading standard input: %w", err)
	}
	r.document(data, name)
	return nil
}

// isWhole reports whether a line is a JSON value by itself.
func isWhole(line []byte) bool {
	var d doc.Doc
	d.Parse(line, "")
	return !d.Broken() && d.Root() != doc.None
}

// moreFollows skips white space, counting the lines of it, and reports whether
// anything comes after it.
func moreFollows(reader *bufio.Reader) (blank int, more bool) {
	for {
		c, err := reader.ReadByte()
		switch {
		case err != nil:
			return blank, false
		case c == '\n':
			blank++
		case c != ' ' && c != '\t' && c != '\r':
			return blank, reader.UnreadByte() == nil
		}
	}
}

// all reads the rest, up to one byte beyond the limit on documents, so that the
// parser can report the excess.
func (r *run) all(first []byte, reader io.Reader) ([]byte, error) {
	room := r.most(doc.DefaultMaxBytes) + 1 - len(first)
	rest, err := io.ReadAll(io.LimitReader(reader, int64(room)))
	return append(first, rest...), err
}

// most is the limit on bytes that the options set, or else this one.
func (r *run) most(otherwise int) int {
	if r.opts.MaxBytes > 0 {
		return r.opts.MaxBytes
	}
	return otherwise
}

// maxLine is the limit on an NDJSON line where Options set none.
const maxLine = 64 << 20

// readLine reads one line with its end, at most one byte beyond the limit; the rest
// of a longer one is skipped, and the parser reports the excess.
func readLine(reader *bufio.Reader, limit int) ([]byte, error) {
	var line []byte
	for {
		part, err := reader.ReadSlice('\n')
		if room := limit + 1 - len(line); len(part) > room {
			part = part[:max(room, 0)]
		}
		line = append(line, part...)
		if !errors.Is(err, bufio.ErrBufferFull) {
			return line, err
		}
	}
}

// lines checks NDJSON; first is a line that was read already, with so many
// blank ones after it.
func (r *run) lines(ctx context.Context, reader *bufio.Reader, name string, first []byte, blank int) error {
	r.current.line = 0
	defer func() { r.current.line = 0 }()
	r.doc.MaxBytes = r.most(maxLine)
	defer func() { r.doc.MaxBytes = r.opts.MaxBytes }()
	number := 0
	if first != nil {
		r.current.line = 1
		r.document(bytes.TrimRight(first, "\r\n"), name)
		number = 1 + blank
	}
	for {
		number++
		line, err := readLine(reader, r.doc.MaxBytes)
		if err != nil && !errors.Is(err, io.EOF) {
			return fmt.Errorf("reading %s line %d: %w", name, number, err)
		}
		if stop := ctx.Err(); stop != nil {
			return stop
		}
		if text := bytes.TrimRight(line, "\r\n"); len(bytes.TrimSpace(text)) > 0 {
			r.current.line = number
			r.document(text, name)
		}
		if err != nil {
			return nil
		}
	}
}
