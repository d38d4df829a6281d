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

// Paths works in three stages. The source cuts the input into parts: a file,
// some lines of NDJSON, a manifest. Checkers, one per job, take a part each,
// run the layers that check a document by itself, and prepare its comparison
// with others. The collector receives the parts in their original order,
// compares their documents with earlier ones and keeps the findings. So the
// report does not depend on the number of jobs, and the number of parts in
// memory is bounded.

// Sizes of parts. The ends of parts depend on the input alone.
const (
	// partSize and partLines limit the NDJSON in one part, unless a single
	// line is longer.
	partSize  = 64 << 10
	partLines = 256
	// roomPerJob is the number of parts in progress for each job; a part of
	// more than roomSize bytes counts as several.
	roomPerJob = 8
	roomSize   = 2 << 20
	// keepSize is the largest document whose memory is reused.
	keepSize = 1 << 20
)

// part is a unit of work.
type part struct {
	room int

	kind     kind
	name     string
	path     string // of a file that the checker reads; otherwise data is set
	line     int    // of the first line in its file
	manifest *month.Manifest
	session  string
	isNew    bool // first part of a file
	data     []byte

	// findings belong to no document; notes describe what was not checked.
	findings []issue.Finding
	notes    []string
	verify   func() ([]issue.Finding, error)

	outcomes []*outcome
	used     int // of outcomes
	isLarge  bool
	err      error
	ready    chan struct{}
}

// kind is the content of a part.
type kind uint8

const (
	ofFindings kind = iota // nothing to check
	ofDocument
	ofLines
)

// roomFor returns the room of a part of a given size.
func roomFor(size int64) int { return 1 + int(min(size/roomSize, 1<<20)) }

// reset clears a part and keeps its memory.
func (p *part) reset() {
	kept := part{data: p.data[:0], outcomes: p.outcomes, ready: p.ready}
	if p.isLarge || cap(p.data) > 2*keepSize {
		kept = part{ready: p.ready}
	}
	*p = kept
}

// next returns a buffer for another document of the part.
func (p *part) next() *outcome {
	if p.used == len(p.outcomes) {
		p.outcomes = append(p.outcomes, &outcome{})
	}
	p.used++
	return p.outcomes[p.used-1]
}

// pipeline carries parts from the source through the checkers to the
// collector.
type pipeline struct {
	ctx         context.Context
	opts        Options
	rooms       chan struct{}
	work, order chan *part

	mu   sync.Mutex
	free []*part // last in, first out
}

func newPipeline(ctx context.Context, r *run) *pipeline {
	opts := r.opts
	rooms := opts.jobs() * roomPerJob
	p := &pipeline{
		ctx: ctx, opts: opts, rooms: make(chan struct{}, rooms),
		// Every part claims room first, so these channels never block.
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

// send sends a part as soon as there is room for it. Only one goroutine may
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

// release frees a part for reuse.
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

// check is the loop of one checker.
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
		p.isLarge, c.doc = true, newDocument(c.opts.Codes)
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

// read reads the file of a part, up to one byte beyond the document limit, so
// that the parser reports the excess.
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
