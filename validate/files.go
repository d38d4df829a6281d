package validate

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"runsheet.example/validate/month"
)

// stdinName is the file name in findings about standard input.
const stdinName = "-"

// source cuts the files at paths into parts, in a fixed order.
type source struct {
	*pipeline
	stdin     io.Reader
	manifests map[string]*month.Manifest // by path
}

func newSource(p *pipeline, stdin io.Reader) *source {
	return &source{pipeline: p, stdin: stdin, manifests: map[string]*month.Manifest{}}
}

// run sends all parts, the last one with the error that stopped it, if any.
func (s *source) run(paths []string) {
	defer close(s.work)
	defer close(s.order)
	for _, path := range paths {
		if err := s.path(path); err != nil {
			one := s.part()
			one.err = err
			_ = s.send(one) // fails only if the receiver has stopped
			return
		}
	}
}

// path cuts one argument of Paths.
func (s *source) path(path string) error {
	if path == stdinName {
		return s.stream(s.stdin, stdinName, "standard input")
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if info.IsDir() {
		return s.folder(path)
	}
	if !info.Mode().IsRegular() && !isLines(path) {
		return s.pipe(path)
	}
	m, err := s.manifestFor(filepath.Dir(path))
	if err != nil {
		return err
	}
	return s.file(path, filepath.Base(path), info.Size(), m)
}

// pipe cuts a file that is not regular, such as a pipe, whose name does not
// reveal its content.
func (s *source) pipe(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	return s.stream(f, path, path)
}

func isFHIRFile(name string) bool {
	return strings.EqualFold(filepath.Ext(name), ".json") || isLines(name)
}

func isLines(name string) bool {
	ending := filepath.Ext(name)
	return strings.EqualFold(ending, ".ndjson") || strings.EqualFold(ending, ".jsonl")
}

// sizeOf is the size of a file, 0 if unknown: reading the file reports the
// error.
func sizeOf(path string) int64 {
	info, err := os.Stat(path)
	if err != nil {
		return 0
	}
	return info.Size()
}

// file cuts one file; inManifest is its name in the manifest.
func (s *source) file(path, inManifest string, size int64, m *month.Manifest) error {
	one := part{name: path, manifest: m, isNew: true}
	if m != nil {
		one.session = m.Session(inManifest)
	}
	if !isLines(path) {
		one.kind, one.path = ofDocument, path
		one.room = roomFor(size)
		return s.fill(one)
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	return s.lines(bufio.NewReaderSize(f, partSize), one, 1)
}

// fill gives a part memory and sends it.
func (s *source) fill(like part) error {
	one := s.part()
	if like.data == nil {
		like.data = one.data
	}
	like.outcomes, like.ready = one.outcomes, one.ready
	*one = like
	return s.send(one)
}

// lines cuts NDJSON from a given line on.
func (s *source) lines(in *bufio.Reader, like part, line int) error {
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
		like.data, like.line = data, first
		like.room = roomFor(int64(len(data)))
		*one = like
		if err := s.send(one); err != nil {
			return err
		}
		like.isNew = false
	}
}
