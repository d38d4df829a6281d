package validate

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
)

// ErrChanged is returned when the work cannot go on from Options.Resume
// because what was done already is not there as it was.
var ErrChanged = errors.New("the input is not the one that was checked before")

// Progress is how far a call of Paths has come.
type Progress struct {
	// Files, Resources and Bytes count what was read, that of before an
	// interruption included.
	Files, Resources int
	Bytes            int64
	// File is the latest one, Offset the first byte of it that is not done.
	File   string
	Offset int64
	// Again tells that what was done before an interruption is being read
	// again, for comparison with what follows.
	Again bool
	// Ended tells that this is the last word: the work is done or stopped.
	Ended bool

	c *collector
}

// State returns what is needed to go on from here. It is only to be asked for
// within Options.Watch, and with Options.Resumable; its findings are to be left
// as they are, and are no longer so when Watch has returned.
func (p Progress) State() *State { return p.c.state() }

// State is a place in the work of Paths from which it can go on, given the same
// paths and options, and what was found until there. Documents are done in one
// order always: folders in lexical order, lines of NDJSON in theirs.
type State struct {
	// Complete tells that all is done.
	Complete bool `json:"complete"`
	// Parts counts the pieces of work that are done, Bytes what was read
	// for them. Digest is a SHA-256 over all of them.
	Parts  int    `json:"parts"`
	Bytes  int64  `json:"bytes"`
	Digest string `json:"digest"`
	// File is the file of the latest piece and Offset the end of the piece
	// in it: all files before are done.
	File   string `json:"file,omitempty"`
	Offset int64  `json:"offset"`
	// Report is what was found until there. Unless Complete, its findings
	// are in the order in which they were made.
	Report
}

// Count is how often a rule was raised with a severity.
type Count struct {
	Rule     string         `json:"rule"`
	Severity issue.Severity `json:"severity"`
	N        int            `json:"count"`
}

// maxJobs is far beyond the processors of any machine.
const maxJobs = 1024

// jobs is how many documents are checked at once.
func (o Options) jobs() int {
	if o.Jobs > 0 {
		return min(o.Jobs, maxJobs)
	}
	return runtime.GOMAXPROCS(0)
}

// most is the limit on bytes that the options set, or else this one.
func (o Options) most(otherwise int) int {
	if o.MaxBytes > 0 {
		return o.MaxBytes
	}
	return otherwise
}

// isDone reports whether all was done before and is only looked at for changes.
func (o Options) isDone() bool { return o.Resume != nil && o.Resume.Complete }

// doneBefore is how many parts were done before.
func (o Options) doneBefore() int {
	if o.Resume == nil {
		return 0
	}
	return o.Resume.Parts
}

// collector takes the parts in their order.
type collector struct {
	*run
	at     Progress
	parts  int
	digest [sha256.Size]byte
	done   bool
	// isChanged tells that what was done before is not there as it was.
	isChanged bool
}

func newCollector(r *run) *collector {
	c := &collector{run: r}
	if s := r.opts.Resume; s != nil {
		r.out = s.Report
		r.out.Findings = slices.Clone(s.Findings)
		for _, note := range s.NotChecked {
			r.notes[note] = true
		}
		for _, n := range s.Counts {
			r.counts[Count{Rule: n.Rule, Severity: n.Severity}] = n.N
		}
		r.out.Counts, r.out.NotChecked = nil, nil
	}
	return c
}

// collect takes all parts until there are no more.
func (c *collector) collect(ctx context.Context, p *pipeline) error {
	for {
		var one *part
		select {
		case one = <-p.order:
		case <-ctx.Done():
		}
		if one != nil {
			select {
			case <-one.ready:
			case <-ctx.Done():
			}
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if one == nil {
			return c.changed(c.parts < c.opts.doneBefore())
		}
		if err := c.take(one); err != nil {
			return err
		}
		p.release(one)
		if err := c.watch(); err != nil {
			return err
		}
	}
}

// take takes one part.
func (c *collector) take(p *part) error {
	if p.err != nil {
		return p.err
	}
	c.count(p)
	if p.expected != nil {
		c.expected = *p.expected
	}
	from := month.Source{File: p.name, Manifest: p.manifest, Session: p.session}
	for _, o := range p.outcomes[:p.used] {
		from.Line = o.line
		if p.again {
			c.compare(from, o)
		} else {
			c.run.take(from, o)
		}
	}
	if !p.again {
		for _, f := range p.findings {
			c.keep(f)
		}
		for _, note := range p.notes {
			c.note(note)
		}
	}
	before := c.opts.doneBefore()
	return c.changed(p.number == before && hex.EncodeToString(c.digest[:]) != c.opts.Resume.Digest ||
		c.opts.isDone() && p.number > before)
}

// count notes how far the work has come with a part.
func (c *collector) count(p *part) {
	c.parts = p.number
	c.at.Again = p.again
	c.at.Bytes += int64(len(p.data))
	if p.kind != ofFindings {
		c.at.File, c.at.Offset = p.name, p.offset
	}
	if p.isNew && !p.again {
		c.out.Files++
	}
	if c.opts.Resumable {
		c.digest = sha256.Sum256(append(c.digest[:], p.sum[:]...))
	}
}

func (c *collector) changed(yes bool) error {
	if !yes {
		return nil
	}
	c.isChanged = true
	s := c.opts.Resume
	return fmt.Errorf("%w, up to %s byte %d: files were changed, added or taken away", ErrChanged, s.File, s.Offset)
}

// watch tells how far the work has come.
func (c *collector) watch() error {
	if c.opts.Watch == nil {
		return nil
	}
	c.at.Files, c.at.Resources, c.at.c = c.out.Files, c.out.Resources, c
	return c.opts.Watch(c.at)
}

func (c *collector) state() *State {
	if c.parts < c.opts.doneBefore() || c.isChanged {
		return c.opts.Resume // there is nothing new to go on from
	}
	c.complete()
	found := c.out
	found.Findings = slices.Clip(found.Findings)
	return &State{
		Complete: c.done,
		Parts:    c.parts, Bytes: c.at.Bytes, Digest: hex.EncodeToString(c.digest[:]),
		File: c.at.File, Offset: c.at.Offset,
		Report: found,
	}
}

// close ends the work, which went as err tells.
func (c *collector) close(err error) (*Report, error) {
	c.done = err == nil
	c.at.Ended = true
	if err != nil {
		if last := c.watch(); last != nil && !errors.Is(err, last) {
			err = errors.Join(err, last)
		}
		return c.finish(), err
	}
	if !c.opts.isDone() {
		c.finish()
	}
	c.complete()
	return &c.out, c.watch()
}

// read takes what paths name through the pipeline.
func (r *run) read(ctx context.Context, paths []string, stdin io.Reader) (*Report, error) {
	inner, stop := context.WithCancel(ctx)
	defer stop()
	p := newPipeline(inner, r)
	s := newSource(p, stdin)
	// The source is not waited for when the work is stopped: it may be
	// waiting for standard input.
	go s.run(paths)
	c := newCollector(r)
	return c.close(c.collect(ctx, p))
}
