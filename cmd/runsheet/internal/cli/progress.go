package cli

import (
	"fmt"
	"time"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// progressLine is a line on a terminal that is written over; nowhere else is it
// printed.
type progressLine struct {
	io       streams
	terminal bool
	anything bool
}

func newProgressLine(io streams) *progressLine {
	return &progressLine{io: io, terminal: isTerminal(io.err)}
}

func (p *progressLine) show(format string, args ...any) {
	if p.terminal {
		p.anything = true
		fmt.Fprintf(raw(p.io.err), "\r\033[K"+format, args...)
	}
}

// clear removes the line.
func (p *progressLine) clear() {
	if p.anything {
		fmt.Fprint(raw(p.io.err), "\r\033[K")
		p.anything = false
	}
}

// sent shows how many sessions are sent.
func (p *progressLine) sent(done, of int) {
	p.show("%d of %d sessions", done, of)
	if done == of {
		p.clear()
	}
}

// checked returns a function that shows how much is checked, once that takes
// more than a second.
func (p *progressLine) checked() func(validate.Progress) error {
	const every, mega = 250 * time.Millisecond, 1e6
	began := time.Now()
	shown := began.Add(time.Second - every)
	return func(now validate.Progress) error {
		if now.Ended || time.Since(shown) < every {
			return nil
		}
		shown = time.Now()
		megabytes := float64(now.Bytes) / mega
		p.show("%s, %s, %.0f MB, %.0f MB/s", issue.Plural(now.Files, "file", "files"),
			issue.Plural(now.Resources, "resource", "resources"), megabytes, megabytes/time.Since(began).Seconds())
		return nil
	}
}
