package validate

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"sync"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
)

// The work of Paths goes through three stages. The source cuts what is to be
// read into parts: a file, some lines of NDJSON, a manifest. As many checkers as
// there are jobs each take a part and run the layers that look at a document
// by itself, and prepare its comparison with others. The collector takes the
// parts back in the order in which they were cut, compares their documents with
// those before and keeps what was found. So
// the report does not depend on the number of jobs, and only as many parts
// exist at once as there is room for.

// Sizes of parts. Where a part ends depends on the input alone.
const (
	// partSize and partLines are the most of NDJSON in one part, unless a
	// single line is longer.
	partSize  = 64 << 10
	partLines = 256
	// roomPerJob is how many parts may be under way for each job, a part of
	// more than roomSize bytes standing for several.
	roomPerJob = 8
	roomSize   = 2 << 20
	// keepSize is the most bytes that a document may have for the memory it took
	// to be used again.
	keepSize = 1 << 20
)

// part is a piece of the work.
type part struct {
	room int

	kind     kind
	name     string
	path     string // of a file that the checker reads, else data is given
	line     int    // of the first line in its file
	manifest *month.Manifest
	session  string
	isNew    bool // begins a file
	data     []byte

	// findings are about no document, notes say what was not checked; expected
	// comes with a manifest.
	findings []issue.Finding
	notes    []string
	expected *month.Expected
	verify   func() ([]issue.Finding, error)

	outcomes []*outcome
	used     int // of outcomes
	isLarge  bool
	err      error
	ready    chan struct{}
}

// kind is what a part holds.
type kind uint8

const (
	ofFindings kind = iota // nothing to check
	ofDocument
	ofLines
)

// roomFor is how much room a part of so many bytes takes.
func roomFor(size int64) int { return 1 + int(min(size/roomSize, 1<<20)) }

// reset makes a part ready for another use of its memory.
func (p *part) reset() {
	kept := part{data: p.data[:0], outcomes: p.outcomes, ready: p.ready}
	if p.isLarge || cap(p.data) > 2*keepSize {
		kept = part{ready: p.ready}
	}
	*p = kept
}

// next returns the room for another document of the part.
func (p *part) next() *outcome {
	if p.used == len(p.outcomes) {
		p.outcomes = append(p.outcomes, &outcome{})
	}
	p.used++
	return p.outcomes[p.used-1]
}

// pipeline carries parts from the source through the checkers to the collector.
type pipeline struct {
	ctx         context.Context
	opts        Options
	rooms       chan struct{}
	work, order chan *part

	mu   sync.Mutex
	free []*part // the one used last is the first to be used again
}

func newPipeline(ctx context.Context, r *run) *pipeline {
	opts := r.opts
	rooms := opts.jobs() * roomPerJob
	p := &pipeline{
		ctx: ctx, opts: opts, rooms: make(chan struct{}, rooms),
		// Every part takes room, so these never fill up.
		work: make(chan *part, rooms), order: make(chan *part, rooms),
	}
	for range opts.jobs() {
		go p.check(r.worker())
	}
	return p
}

// part returns an empty part.
func (p *pipeline) part() *part {
	p.mu.Lock()
	defer p.mu.Unlock()
	if last := len(p.free) - 1; last >= 0 {
		one := p.free[last]
		p.free = p.free[:last]
		return one
	}
	return &part{ready: make(chan struct{}, 1)}
}

// send hands a part on as soon as there is room for it. Only one goroutine may
// send.
func (p *pipeline) send(one *part) error {
	one.room = min(max(one.room, 1), cap(p.rooms))
	for range one.room {
		select {
		case p.rooms <- struct{}{}:
		case <-p.ctx.Done():
			return p.ctx.Err()
		}
	}
	p.work <- one
	p.order <- one
	return nil
}

// release takes a part back.
func (p *pipeline) release(one *part) {
	room := one.room
	one.reset()
	p.mu.Lock()
	p.free = append(p.free, one)
	p.mu.Unlock()
	for range room {
		<-p.rooms
	}
}

// check is one checker: it takes parts until there are no more.
func (p *pipeline) check(c *worker) {
	for one := range p.work {
		if one.err == nil && p.ctx.Err() == nil {
			one.err = c.part(one)
		}
		one.ready <- struct{}{}
	}
}

// part checks one part.
func (c *worker) part(p *part) error {
	if p.path != "" {
		if err := c.read(p); err != nil {
			return err
		}
	}
	switch {
	case p.verify != nil:
		findings, err := p.verify()
		p.findings = append(p.findings, findings...)
		return err
	case p.kind == ofLines:
		c.lines(p)
	case p.kind == ofDocument:
		c.document(p, p.data, 0)
	}
	return nil
}

func (c *worker) document(p *part, data []byte, line int) {
	into := p.next()
	into.digest.Reset()
	into.share.Reset()
	d := c.doc
	d.begin(p.name, line, p.manifest, p.session)
	c.check(d, data)
	c.finish(into)
	if len(data) > keepSize {
		p.isLarge, c.doc = true, newDocument()
	}
}

func (c *worker) lines(p *part) {
	number := p.line
	for rest := p.data; len(rest) > 0; number++ {
		var line []byte
		line, rest, _ = bytes.Cut(rest, []byte{'\n'})
		if line = bytes.TrimRight(line, "\r"); len(bytes.TrimSpace(line)) > 0 {
			c.document(p, line, number)
		}
	}
}

// read reads the file of a part, up to one byte beyond the limit on documents,
// so that the parser can report the excess.
func (c *worker) read(p *part) error {
	f, err := os.Open(p.path)
	if err != nil {
		return err
	}
	defer f.Close()
	var size int64
	if info, err := f.Stat(); err == nil {
		size = info.Size()
	}
	limit := int64(c.opts.most(doc.DefaultMaxBytes)) + 1
	into := bytes.NewBuffer(p.data[:0])
	into.Grow(int(min(size, limit)) + bytes.MinRead)
	if _, err := into.ReadFrom(io.LimitReader(f, limit)); err != nil {
		return fmt.Errorf("reading %s: %w", p.name, err)
	}
	p.data = into.Bytes()
	return nil
}
