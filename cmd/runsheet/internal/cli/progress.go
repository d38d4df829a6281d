package cli

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// progressLine is a line on a terminal that says how far a command is, once that
// takes more than a second. It is written over, and removed before anything else is
// written. It has no colour, so NO_COLOR changes nothing; in a pipe, or on a
// terminal that does not obey escape sequences, there is none.
type progressLine struct {
	to          *os.File // nil: there is none
	wait, every time.Duration

	mu     sync.Mutex
	began  time.Time
	step   time.Time // when the work began of which steps are counted
	done   int64     // steps so far
	shown  time.Time
	stands bool
	timer  *time.Timer // shows that the log is read, unless something else is written before
}

func newProgressLine(to io.Writer) *progressLine {
	p := &progressLine{wait: time.Second, every: 250 * time.Millisecond, began: time.Now()}
	if isTerminal(to) {
		p.to = to.(*os.File)
	}
	return p
}

// progress is the line that the streams of a command share.
func (s streams) progress() *progressLine {
	if to, ok := s.err.(*shown); ok {
		return to.progress
	}
	return &progressLine{}
}

// show writes the line; of is 0 if it is not known how much there is to do.
func (p *progressLine) show(done, of int64, text string) {
	if p.to == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.stopTimer()
	now := time.Now()
	if p.step.IsZero() || done < p.done {
		p.step = now
	}
	p.done = done
	if now.Sub(p.began) < p.wait || now.Sub(p.shown) < p.every {
		return
	}
	if took := now.Sub(p.step); of > done && done > 0 && took >= p.wait {
		left := time.Duration(float64(took) / float64(done) * float64(of-done))
		text += ", about " + left.Round(time.Second).String() + " left"
	}
	if width, _, err := term.GetSize(int(p.to.Fd())); err == nil && width > 0 && len(text) >= width {
		text = text[:width-1] // a line that wraps cannot be removed
	}
	p.write(text)
	p.shown = now
}

func (p *progressLine) write(text string) {
	fmt.Fprint(p.to, "\r\033[K", text)
	p.stands = text != ""
}

func (p *progressLine) stopTimer() {
	if p.timer != nil {
		p.timer.Stop()
		p.timer = nil
	}
}

// reading shows that a log is read, once that takes long.
func (p *progressLine) reading() {
	if p.to == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.timer = time.AfterFunc(p.wait, func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		if p.timer != nil {
			p.write("reading the log")
		}
	})
}

// clear removes the line.
func (p *progressLine) clear() {
	if p == nil || p.to == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.stopTimer()
	if p.stands {
		p.write("")
	}
}

// log shows how much of a log is read and checked.
func (p *progressLine) log(now export.Progress) {
	if now.Of == 0 {
		p.reading()
		return
	}
	p.show(int64(now.Sessions), int64(now.Of), fmt.Sprintf("%s read, %d of %s, %s", issue.Plural(now.Rows, "row", "rows"),
		now.Sessions, issue.Plural(now.Of, "session", "sessions"), issue.Plural(now.Resources, "resource", "resources")))
}

// sent shows how many sessions are sent.
func (p *progressLine) sent(done, of int) {
	p.show(int64(done), int64(of), fmt.Sprintf("%d of %s", done, issue.Plural(of, "session", "sessions")))
}

// checked returns a function that shows how much of the records at paths is
// checked.
func (p *progressLine) checked(paths []string) func(validate.Progress) error {
	var total int64
	if p.to != nil {
		total = bytesAt(paths)
	}
	return func(now validate.Progress) error {
		const mega = 1e6
		megabytes := float64(now.Bytes) / mega
		p.show(now.Bytes, total, fmt.Sprintf("%s, %s, %.0f MB, %.0f MB/s", issue.Plural(now.Files, "file", "files"),
			issue.Plural(now.Resources, "resource", "resources"), megabytes, megabytes/time.Since(p.began).Seconds()))
		return nil
	}
}

// bytesAt is the size of the FHIR files at paths, 0 if one cannot be known.
func bytesAt(paths []string) (total int64) {
	for _, path := range paths {
		err := filepath.WalkDir(path, func(name string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() || name != path && !strings.HasSuffix(name, "json") {
				return err
			}
			info, err := entry.Info()
			if err == nil {
				total += info.Size()
			}
			return err
		})
		if err != nil {
			return 0
		}
	}
	return total
}
