package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// summaryFormat is what a summary begins with, so that no other file is ever
// taken for one and replaced.
const summaryFormat = "runsheet validate summary 1"

// summaryFile is the file that keeps how far a check came.
type summaryFile struct {
	Format  string   `json:"format"`
	Program string   `json:"program"`
	Paths   []string `json:"paths"`
	// Options are the flags that change what is found, as written.
	Options []string `json:"options"`
	*validate.State

	path    string
	written time.Time
	pause   time.Duration
}

// openSummary reads a summary of the same check, or begins one.
func openSummary(path string, paths []string, flags *pflag.FlagSet) (*summaryFile, error) {
	if err := apart(path, paths); err != nil {
		return nil, err
	}
	s := &summaryFile{Format: summaryFormat, Program: userAgent, Paths: paths, Options: changing(flags), path: path}
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return s, s.write(&validate.State{})
	}
	if err != nil {
		return nil, err
	}
	var old summaryFile
	if err := json.Unmarshal(data, &old); err != nil || old.Format != summaryFormat || old.State == nil {
		return nil, fmt.Errorf("%s is no summary of this program: %w; choose another name", path, output.ErrExists)
	}
	const mend = "give the same paths and options again, or choose another name for the summary"
	switch {
	case old.Program != s.Program:
		return nil, wrongUse("%s was written by %s, and this is %s: take it away to check all anew", path, old.Program, s.Program)
	case !slices.Equal(old.Paths, s.Paths):
		return nil, wrongUse("%s is of a check of %s: %s", path, strings.Join(old.Paths, " "), mend)
	case !slices.Equal(old.Options, s.Options):
		return nil, wrongUse("%s is of a check with other options (%s): %s", path, strings.Join(old.Options, " "), mend)
	}
	s.State = old.State
	return s, nil
}

// changing lists the flags that change what is found.
func changing(flags *pflag.FlagSet) []string {
	list := []string{}
	flags.Visit(func(f *pflag.Flag) {
		switch f.Name {
		case "jobs", "summary", "format", "all", "strict", "min-severity":
		default:
			list = append(list, "--"+f.Name+"="+f.Value.String())
		}
	})
	return list
}

// apart refuses a summary inside what is checked: it would be checked too, and
// be another one each time.
func apart(path string, paths []string) error {
	place, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	for _, checked := range paths {
		root, err := filepath.Abs(checked)
		if err != nil {
			return err
		}
		if rel, err := filepath.Rel(root, place); checked != "-" && err == nil && filepath.IsLocal(rel) {
			return wrongUse("the summary %s would be in %s, which is checked: choose another place", path, checked)
		}
	}
	return nil
}

// firstPause is how long after the beginning, and at least between two times,
// a summary is written.
const firstPause = 2 * time.Second

// watch writes the summary from time to time and at the end. The more there is
// to write, the longer the pauses, so that it takes a twentieth of the time at
// most.
func (s *summaryFile) watch(p validate.Progress) error {
	if !p.Ended && (p.Again || time.Since(s.written) < max(firstPause, s.pause)) {
		return nil
	}
	return s.write(p.State())
}

func (s *summaryFile) write(state *validate.State) error {
	began := time.Now()
	err := output.Stream(s.path, func(w io.Writer) error { return s.encode(w, state) })
	s.State = state
	s.written = time.Now()
	s.pause = 20 * s.written.Sub(began)
	return err
}

// encode writes a summary finding by finding, so that it is never in memory
// whole.
func (s *summaryFile) encode(w io.Writer, state *validate.State) error {
	head, shown := *s, *state
	shown.Findings = []issue.Finding{}
	head.State = &shown
	var text bytes.Buffer
	if err := encodeTo(&text, &head); err != nil {
		return err
	}
	const open, end = `"findings": [`, "]\n}\n"
	before, ok := strings.CutSuffix(text.String(), open+end)
	if !ok {
		return errors.New("a summary does not end with its findings")
	}
	if _, err := io.WriteString(w, before+open); err != nil {
		return err
	}
	for i := range state.Findings {
		text.Reset()
		if err := encodeTo(&text, &state.Findings[i]); err != nil {
			return err
		}
		between := "\n  "
		if i > 0 {
			between = ",\n  "
		}
		line := strings.ReplaceAll(strings.TrimSuffix(text.String(), "\n"), "\n", "\n  ")
		if _, err := io.WriteString(w, between+line); err != nil {
			return err
		}
	}
	last := end
	if len(state.Findings) > 0 {
		last = "\n " + end
	}
	_, err := io.WriteString(w, last)
	return err
}

func encodeTo(w io.Writer, value any) error {
	encoder := json.NewEncoder(w)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", " ")
	return encoder.Encode(value)
}

// bulkProgress shows on a terminal how far a check has come, once it takes more
// than a second.
type bulkProgress struct {
	io           streams
	terminal     bool
	began, shown time.Time
	anything     bool
}

func newBulkProgress(io streams) *bulkProgress {
	now := time.Now()
	return &bulkProgress{io: io, terminal: isTerminal(io.err), began: now, shown: now.Add(time.Second - progressEvery)}
}

const progressEvery = 250 * time.Millisecond

func (b *bulkProgress) at(p validate.Progress) {
	if !b.terminal || p.Ended || time.Since(b.shown) < progressEvery {
		return
	}
	b.shown, b.anything = time.Now(), true
	const mega = 1e6
	megabytes := float64(p.Bytes) / mega
	doing := ""
	if p.Again {
		doing = "reading again what was done: "
	}
	fmt.Fprintf(raw(b.io.err), "\r\033[K%s%s, %s, %.0f MB, %.0f MB/s", doing, plural(p.Files, "file", "files"),
		plural(p.Resources, "resource", "resources"), megabytes, megabytes/time.Since(b.began).Seconds())
}

// clear takes the line of progress away.
func (b *bulkProgress) clear() {
	if b.anything {
		fmt.Fprint(raw(b.io.err), "\r\033[K")
		b.anything = false
	}
}
