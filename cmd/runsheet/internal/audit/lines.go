package audit

import (
	"bufio"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"runsheet.example/validate/manifest"
)

// Line is one file of an export, or a link beside the files: one line of what
// [Lines] writes and [Shard] reads. All lines of a patient go to one Shard,
// sorted by patient, export and file, bytewise, as Lines writes them.
type Line struct {
	// Unit is set in the line about all patients, which Shard hands on as it is.
	Unit    *Unit  `json:"unit,omitempty"`
	Patient string `json:"patient"` // as in a [Row]
	Export  string `json:"export"`  // its folder
	File    string `json:"file"`    // name in it
	// Text is what is in the file; Bytes is it, in base64, where it is no UTF-8.
	Text  string `json:"text,omitempty"`
	Bytes []byte `json:"bytes,omitempty"`
	Link  bool   `json:"link,omitempty"` // it was not followed
}

// Lines writes the files of the exports below some folders, patient by patient.
func Lines(dirs []string, w io.Writer, opts Options) error {
	a, err := begin(opts)
	if err != nil {
		return err
	}
	unit, of, err := find(dirs, a.known)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(w)
	lines := json.NewEncoder(out)
	lines.SetEscapeHTML(false)
	if err := lines.Encode(Line{Unit: unit}); err != nil {
		return err
	}
	for _, key := range sortedKeys(of) {
		for _, e := range of[key] {
			if err := e.write(lines); err != nil {
				return err
			}
		}
	}
	return out.Flush()
}

func (e *export) write(lines *json.Encoder) error {
	names := map[string]fs.FileMode{}
	if e.listed {
		names[manifest.Name] = 0
	}
	for _, name := range e.files {
		names[name] = 0
	}
	for _, o := range e.others {
		names[o.Name()] = o.Type()
	}
	for _, name := range sortedKeys(names) {
		line, path := Line{Patient: e.patient, Export: e.dir, File: name}, filepath.Join(e.dir, name)
		switch {
		case !utf8.ValidString(path):
			return fmt.Errorf("%q: the name is no UTF-8", path)
		case names[name] == fs.ModeSymlink:
			line.Link = true
		case names[name] != 0:
			return fmt.Errorf("%s: neither a file nor a link", path)
		default:
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			if line.Bytes = text; utf8.Valid(text) {
				line.Text, line.Bytes = string(text), nil
			}
		}
		if err := lines.Encode(line); err != nil {
			return err
		}
	}
	return nil
}

// Shard reads lines of whole patients, and writes a [Row] for each. It puts the
// files of one patient at a time into a folder of its own, which it removes.
func Shard(ctx context.Context, in io.Reader, w io.Writer, opts Options) error {
	s := spool{out: bufio.NewWriter(w), opts: opts}
	defer func() { _ = os.RemoveAll(s.root) }()
	lines := json.NewDecoder(in)
	for {
		var line Line
		err := lines.Decode(&line)
		switch {
		case errors.Is(err, io.EOF):
			if err := s.read(ctx); err != nil {
				return err
			}
			return s.out.Flush()
		case err != nil:
			return fmt.Errorf("byte %d: not a line of audit --lines: %w", lines.InputOffset(), err)
		case line.Unit != nil:
			err = json.NewEncoder(s.out).Encode(Row{Unit: line.Unit})
		default:
			err = s.add(ctx, &line)
		}
		if err != nil {
			return err
		}
	}
}

// spool is the files of one patient: a folder below root for each of the
// exports, named by its number.
type spool struct {
	root string
	dirs []string // of the exports, as they were
	last Line     // without content
	out  *bufio.Writer
	opts Options
}

func (s *spool) folder(n int) string { return filepath.Join(s.root, fmt.Sprintf("%06d", n)) }

func (s *spool) add(ctx context.Context, l *Line) (err error) {
	order := cmp.Or(strings.Compare(s.last.Patient, l.Patient), strings.Compare(s.last.Export, l.Export), strings.Compare(s.last.File, l.File))
	switch {
	case order >= 0 && s.last.File != "":
		return fmt.Errorf("the lines are not sorted by patient, export and file: %s in %s comes after %s in %s", l.File, l.Export, s.last.File, s.last.Export)
	case l.File == "" || l.File != filepath.Base(l.File) || !filepath.IsLocal(l.File) || l.File == ".":
		return fmt.Errorf("%q is no name of a file", l.File)
	}
	if l.Patient != s.last.Patient {
		if err := s.read(ctx); err != nil {
			return err
		}
	}
	if s.root == "" {
		if s.root, err = os.MkdirTemp("", "runsheet-audit-"); err != nil {
			return err
		}
	}
	if len(s.dirs) == 0 || s.last.Export != l.Export {
		s.dirs = append(s.dirs, l.Export)
		if err := os.Mkdir(s.folder(len(s.dirs)), 0o700); err != nil {
			return err
		}
	}
	s.last = Line{Patient: l.Patient, Export: l.Export, File: l.File}
	path := filepath.Join(s.folder(len(s.dirs)), l.File)
	switch {
	case l.Link:
		return os.Symlink(l.File, path)
	case l.Text != "":
		return os.WriteFile(path, []byte(l.Text), 0o600)
	}
	return os.WriteFile(path, l.Bytes, 0o600)
}

// read writes the row of the patient whose files are there, and removes these.
func (s *spool) read(ctx context.Context) error {
	if len(s.dirs) == 0 {
		return nil
	}
	_, of, err := find([]string{s.root}, nil)
	if err != nil {
		return err
	}
	var exports []*export
	for _, some := range of {
		exports = append(exports, some...)
	}
	sortByFolder(exports)
	row, err := read(ctx, s.last.Patient, exports, s.opts, nil)
	if err != nil {
		return err
	}
	var text strings.Builder
	if err := json.NewEncoder(&text).Encode(row); err != nil {
		return err
	}
	if _, err := s.names().WriteString(s.out, text.String()); err != nil {
		return err
	}
	s.dirs = nil
	err = os.RemoveAll(s.root)
	s.root = ""
	return err
}

// names puts the folders of the exports in place of those of the spool.
func (s *spool) names() *strings.Replacer {
	quoted := func(path string) string {
		text, _ := json.Marshal(path) // a string
		return strings.Trim(string(text), `"`)
	}
	var pairs []string
	for i, dir := range s.dirs {
		here := s.folder(i + 1)
		// A file in the folder "." has no folder in its path.
		inside := strings.TrimSuffix(filepath.Join(dir, "x"), "x")
		pairs = append(pairs, quoted(here+string(filepath.Separator)), quoted(inside), quoted(here), quoted(dir))
	}
	return strings.NewReplacer(pairs...)
}
