package open

import (
	"slices"
	"sync"
	"time"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/edit"
	"runsheet.example/validate/issue"
)

// checked is a log as read and checked.
type checked struct {
	digest   string
	log      *session.Log // nil if the log cannot be read
	findings []issue.Finding
	err      error
	found    map[int]int // index of a session and its counts, by row
	counts   []counts
	other    []issue.Finding // those of no session
}

// rowKey is a row of a sheet.
type rowKey struct {
	sheet session.Sheet
	row   int
}

// counts are the numbers of findings of a session.
type counts struct {
	Mistakes, Looks, Answered int
	Held                      bool // it stays out of an export
}

// checker reads and checks the log in the background: a page does not wait for
// the checks of a log of years.
type checker struct {
	dir     string
	files   *edit.Cache
	mu      sync.Mutex
	last    *checked
	running chan struct{} // closed when the run ends; nil when none runs
}

// of returns the findings about the log with a digest. If they are not there
// within the time it returns nil, and the checks go on.
func (c *checker) of(digest string, wait time.Duration) *checked {
	deadline := time.NewTimer(wait)
	defer deadline.Stop()
	for {
		c.mu.Lock()
		if c.last != nil && c.last.digest == digest {
			defer c.mu.Unlock()
			return c.last
		}
		if c.running == nil {
			c.running = make(chan struct{})
			go c.run(c.running)
		}
		done := c.running
		c.mu.Unlock()
		select {
		case <-done:
		case <-deadline.C:
			return nil
		}
	}
}

// run reads and checks the log as it is on disk now.
func (c *checker) run(done chan struct{}) {
	result := c.read()
	c.mu.Lock()
	defer c.mu.Unlock()
	c.last, c.running = result, nil
	close(done)
}

func (c *checker) read() *checked {
	result := &checked{}
	for range 3 { // until no save came between the digest and the reading
		l, err := c.files.Open(c.dir)
		if err != nil {
			return &checked{err: err}
		}
		result.digest = l.Digest()
		result.log, result.findings, result.err = export.Input{Path: c.dir}.Read()
		if again, err := c.files.Open(c.dir); err == nil && again.Digest() == result.digest {
			break
		}
	}
	if result.err != nil {
		result.log = nil
		return result
	}
	result.findings = export.InSheetOrder(c.dir, result.findings)
	result.index()
	return result
}

// add puts the mistakes that an export found into a checked log, so that each is
// shown at its cell.
func (c *checker) add(to *checked, found []issue.Finding) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.last == nil || c.last.digest != to.digest {
		return
	}
	next := *c.last
	next.findings = slices.Clone(next.findings)
	for _, f := range found {
		same := func(other issue.Finding) bool { return other.Rule == f.Rule && slices.Equal(other.Cells, f.Cells) }
		switch at := slices.IndexFunc(next.findings, same); {
		case f.Severity != issue.Error:
		case at < 0:
			next.findings = append(next.findings, f)
		default:
			next.findings[at] = f
		}
	}
	next.index()
	c.last = &next
}

// index finds the session of each row, and counts the findings of each.
func (c *checked) index() {
	c.found, c.counts, c.other = map[int]int{}, make([]counts, len(c.log.Sessions)), nil
	byID := map[string]int{}
	for i, s := range c.log.Sessions {
		byID[s.ID] = i
		c.found[s.Cell.Row] = i
		c.counts[i].Held = s.Broken
	}
	for _, f := range c.findings {
		at, ok := byID[f.Session]
		if f.Session == "" {
			ok = false
			if len(f.Cells) > 0 && sheetOfFile(f.Cells[0].File) == session.SheetSessions {
				at, ok = c.found[f.Cells[0].Row]
			}
		}
		switch {
		case f.Severity == issue.Information:
		case !ok:
			c.other = append(c.other, f)
		case f.Accepted != nil:
			c.counts[at].Answered++
		case f.Severity == issue.Error:
			c.counts[at].Mistakes++
		default:
			c.counts[at].Looks++
		}
	}
}

// otherFound are the findings of no session.
func (c *checked) otherFound(l issue.Language) (out []found) {
	if c != nil {
		for _, f := range c.other {
			out = append(out, foundOf(l, f))
		}
	}
	return out
}

// countsOf are the numbers of findings of the session in a row.
func (c *checked) countsOf(row int) counts {
	if c.sessionAt(row) == nil {
		return counts{}
	}
	return c.counts[c.found[row]]
}

// sessionAt is the session in a row, nil where there is none and while the log
// is being checked.
func (c *checked) sessionAt(row int) *session.Session {
	if c == nil || c.log == nil {
		return nil
	}
	if at, ok := c.found[row]; ok {
		return c.log.Sessions[at]
	}
	return nil
}
