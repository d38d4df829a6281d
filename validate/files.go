package validate

import (
	"bufio"
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

// source cuts what paths name into parts, in one order always.
type source struct {
	*pipeline
	stdin     io.Reader
	parts     int
	manifests map[string]*month.Manifest // by path
}

func newSource(p *pipeline, stdin io.Reader) *source {
	return &source{pipeline: p, stdin: stdin, manifests: map[string]*month.Manifest{}}
}

// run hands on all parts, the last one with the error that stopped it, if any.
func (s *source) run(paths []string) {
	defer close(s.work)
	defer close(s.order)
	for _, path := range paths {
		if err := s.path(path); err != nil {
			one := s.part()
			one.err = err
			_ = s.send(one) // fails only when nobody waits for it any more
			return
		}
	}
}

func (s *source) send(one *part) error {
	s.parts++
	one.number, one.again = s.parts, s.parts <= s.opts.doneBefore()
	return s.pipeline.send(one)
}

// path cuts one argument of Paths.
func (s *source) path(path string) error {
	if path == stdinName {
		return s.standardInput()
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if info.IsDir() {
		return s.folder(path)
	}
	m, err := s.manifestFor(filepath.Dir(path))
	if err != nil {
		return err
	}
	return s.file(path, filepath.Base(path), info.Size(), m)
}

// folder cuts every FHIR file below a folder, in lexical order, and the
// folder against its manifest.
func (s *source) folder(folder string) error {
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
			if s.opts.Manifest != "" && path != folder {
				return nil // the manifest given is that of the folder given
			}
			m, err := s.manifestFor(path)
			if m != nil {
				manifests[path] = m
			}
			return err
		}
		m := manifests[filepath.Dir(path)]
		if !isFHIRFile(entry.Name()) || path == s.opts.Manifest || s.isManifest(path, entry.Name()) {
			return nil
		}
		count++
		return s.file(path, entry.Name(), sizeOf(entry), m)
	})
	if err != nil {
		return err
	}
	if count == 0 {
		return fmt.Errorf("folder %s holds no .json or .ndjson file", folder)
	}
	for _, dir := range slices.Sorted(maps.Keys(manifests)) {
		if err := s.verify(dir, manifests[dir]); err != nil {
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

// sizeOf is the size of a file as far as it is known.
func sizeOf(entry fs.DirEntry) int64 {
	info, err := entry.Info()
	if err != nil {
		return 0 // reading it will say what is wrong
	}
	return info.Size()
}

// file cuts one file; inManifest is its name there.
func (s *source) file(path, inManifest string, size int64, m *month.Manifest) error {
	one := part{name: path, manifest: m, isNew: true}
	if m != nil {
		one.session = m.Session(inManifest)
	}
	if !isLines(path) {
		one.kind, one.path, one.offset = ofDocument, path, size
		one.room = roomFor(size)
		return s.fill(one)
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	return s.lines(f, one, 1)
}

// fill gives a part memory and hands it on.
func (s *source) fill(like part) error {
	one := s.part()
	if like.data == nil {
		like.data = one.data
	}
	like.outcomes, like.ready = one.outcomes, one.ready
	*one = like
	return s.send(one)
}

// lines cuts NDJSON from a line on.
func (s *source) lines(in io.Reader, like part, line int) error {
	like.kind = ofLines
	reader := &lineReader{in: in, limit: s.opts.most(maxLine), line: line}
	for {
		one := s.part()
		data, first, err := reader.next(one.data)
		if err != nil {
			return fmt.Errorf("reading %s from line %d on: %w", like.name, first, err)
		}
		if len(data) == 0 && !like.isNew {
			return nil
		}
		like.outcomes, like.ready = one.outcomes, one.ready
		like.data, like.line, like.offset = data, first, reader.offset()
		like.room = roomFor(int64(len(data)))
		*one = like
		if err := s.send(one); err != nil {
			return err
		}
		like.isNew = false
	}
}

// standardInput is taken as lines when its first line is a whole JSON value
// and more follows.
func (s *source) standardInput() error {
	one := part{name: stdinName, isNew: true}
	reader := bufio.NewReaderSize(s.stdin, 1<<16)
	first, err := readLine(reader, s.opts.most(doc.DefaultMaxBytes))
	if err != nil && !errors.Is(err, io.EOF) {
		return fmt.Errorf("reading standard input: %w", err)
	}
	if err == nil && isWhole(first) {
		if blank, more := moreFollows(reader); more {
			one.kind, one.line, one.data = ofLines, 1, first
			one.offset, one.room = int64(len(first)), roomFor(int64(len(first)))
			if err := s.fill(one); err != nil {
				return err
			}
			one.isNew, one.data = false, nil
			return s.lines(reader, one, 2+blank)
		}
	}
	if one.data, err = s.all(first, reader); err != nil {
		return fmt.Errorf("reading standard input: %w", err)
	}
	one.kind, one.offset, one.room = ofDocument, int64(len(one.data)), roomFor(int64(len(one.data)))
	return s.fill(one)
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
func (s *source) all(first []byte, reader io.Reader) ([]byte, error) {
	room := s.opts.most(doc.DefaultMaxBytes) + 1 - len(first)
	rest, err := io.ReadAll(io.LimitReader(reader, int64(room)))
	return append(first, rest...), err
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
