package validate

import (
	"context"
	"errors"
	"io"
	"runtime"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
)

// Progress is the progress of a call of Paths.
type Progress struct {
	// Files, Resources and Bytes count the input read.
	Files, Resources int
	Bytes            int64
	// Ended reports that this is the last call: the work is done or stopped.
	Ended bool
}

// Count is how often a rule was raised with a severity, accepted or not.
type Count struct {
	Rule     string
	Severity issue.Severity
	Accepted bool
	N        int
}

// maxJobs is far above the number of processors of any machine.
const maxJobs = 1024

// jobs is the number of documents checked concurrently.
func (o Options) jobs() int {
	if o.Jobs > 0 {
		return min(o.Jobs, maxJobs)
	}
	return runtime.GOMAXPROCS(0)
}

// most is the byte limit from the options, or the default.
func (o Options) most(otherwise int) int {
	if o.MaxBytes > 0 {
		return o.MaxBytes
	}
	return otherwise
}

// collector receives the parts in their order.
type collector struct {
	*run
	bytes int64
}

// collect receives all parts.
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
		if err := ctx.Err(); err != nil || one == nil {
			return err
		}
		if err := c.take(one); err != nil {
			return err
		}
		p.release(one)
		if err := c.watch(false); err != nil {
			return err
		}
	}
}

// take processes one part.
func (c *collector) take(p *part) error {
	if p.err != nil {
		return p.err
	}
	c.bytes += int64(len(p.data))
	if p.isNew {
		c.out.Files++
		if c.opts.ListFiles {
			c.out.FileNames = append(c.out.FileNames, p.name)
		}
	}
	from := month.Source{File: p.name, Manifest: p.manifest, Session: p.session}
	for _, o := range p.outcomes[:p.used] {
		from.Line = o.line
		c.run.take(from, o)
	}
	for _, f := range p.findings {
		c.keepLast(f)
	}
	for _, note := range p.notes {
		c.note(note)
	}
	return nil
}

// watch reports the progress.
func (c *collector) watch(ended bool) error {
	if c.opts.Watch == nil {
		return nil
	}
	return c.opts.Watch(Progress{Files: c.out.Files, Resources: c.out.Resources, Bytes: c.bytes, Ended: ended})
}

// read sends the content of paths through the pipeline.
func (r *run) read(ctx context.Context, paths []string, stdin io.Reader) (*Report, error) {
	inner, stop := context.WithCancel(ctx)
	defer stop()
	p := newPipeline(inner, r)
	s := newSource(p, stdin)
	// Do not wait for a stopped source: it may be blocked on standard input.
	go s.run(paths)
	c := &collector{run: r}
	err := c.collect(ctx, p)
	found := c.finish()
	if last := c.watch(true); last != nil && !errors.Is(err, last) {
		err = errors.Join(err, last)
	}
	return found, err
}
