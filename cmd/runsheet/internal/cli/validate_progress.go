package cli

import (
	"fmt"
	"time"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// bulkProgress prints the progress of a check on a terminal, once it takes
// more than a second.
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
	fmt.Fprintf(raw(b.io.err), "\r\033[K%s, %s, %.0f MB, %.0f MB/s", issue.Plural(p.Files, "file", "files"),
		issue.Plural(p.Resources, "resource", "resources"), megabytes, megabytes/time.Since(b.began).Seconds())
}

// clear removes the progress line.
func (b *bulkProgress) clear() {
	if b.anything {
		fmt.Fprint(raw(b.io.err), "\r\033[K")
		b.anything = false
	}
}
