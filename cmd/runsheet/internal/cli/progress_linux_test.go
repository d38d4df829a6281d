package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap"
)

// terminal returns a pseudo-terminal, and a function that closes it and returns
// what was written to it.
func terminal(t *testing.T) (tty *os.File, written func() string) {
	t.Helper()
	control, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	number, err := unix.IoctlGetInt(int(control.Fd()), unix.TIOCGPTN)
	if err == nil {
		err = unix.IoctlSetPointerInt(int(control.Fd()), unix.TIOCSPTLCK, 0)
	}
	if err == nil {
		tty, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	}
	if err != nil {
		t.Fatal(err)
	}
	all := make(chan string, 1)
	go func() {
		text, _ := io.ReadAll(control) // ends with an error when the terminal is closed
		all <- string(text)
	}()
	return tty, func() string {
		tty.Close()
		defer control.Close()
		return <-all
	}
}

// slowly gives one resource and another after more than a second.
func slowly() io.Reader {
	r, w := io.Pipe()
	go func() {
		for range 2 {
			fmt.Fprintln(w, `{"resourceType":"Basic","code":{"text":"x"}}`)
			time.Sleep(1100 * time.Millisecond)
		}
		w.Close()
	}()
	return r
}

// A command that takes more than a second shows how far it is, only on a terminal
// that can move its cursor, and removes that before it prints anything. It uses no
// colour, with NO_COLOR or without.
func TestProgressIsForTerminals(t *testing.T) {
	for _, tc := range []struct {
		name, variable, value string
		want                  bool
	}{{"terminal", "NO_COLOR", "1", true}, {"dumb terminal", "TERM", "dumb", false}, {"pipe", "", "", false}} {
		t.Run(tc.name, func(t *testing.T) {
			t.Setenv("TERM", "xterm")
			if tc.variable != "" {
				t.Setenv(tc.variable, tc.value)
			}
			tty, written := terminal(t)
			errs := tty
			if tc.name == "pipe" {
				r, w, err := os.Pipe()
				if err != nil {
					t.Fatal(err)
				}
				defer r.Close()
				written = func() string { w.Close(); text, _ := io.ReadAll(r); return string(text) }
				errs = w
			}
			var out strings.Builder
			if code := run(t.Context(), []string{"validate", "-"}, streams{slowly(), &out, errs}); code == exitCouldNotRun {
				t.Error(out.String())
			}
			text := written()
			if got := strings.Contains(text, "\r\033[K1 file, 2 resources, 0 MB, 0 MB/s\r\033[K"); got != tc.want {
				t.Errorf("shown %v: %q", got, text)
			}
			if !tc.want && strings.Contains(text, "\r\033") || strings.HasSuffix(text, "MB/s") || strings.Count(text, "m") > 0 && strings.Contains(text, "\033[3") {
				t.Errorf("%q", text)
			}
		})
	}
}

// Of a log the rows read, the sessions and resources checked are shown, and how
// long it will take.
func TestProgressOfALog(t *testing.T) {
	tty, written := terminal(t)
	t.Setenv("TERM", "xterm")
	p := newProgressLine(tty)
	p.wait, p.every = 0, 0
	ctx := export.WithWatch(context.Background(), p.log)
	log, findings, err := mapFlags{}.readLog(ctx, "../../../../testdata/month")
	if err != nil {
		t.Fatal(err)
	}
	if _, err = export.Check(ctx, log, findings, fhirmap.Options{Tool: tool}); err != nil {
		t.Fatal(err)
	}
	p.clear()
	text := written()
	last := text[strings.LastIndex(strings.TrimSuffix(text, "\r\033[K"), "\r\033[K"):]
	of := fmt.Sprintf("\r\033[K%d rows read, %d of %d sessions, ", log.Tally.Rows, len(log.Sessions), len(log.Sessions))
	if !strings.HasPrefix(last, of) || !strings.HasSuffix(last, " resources\r\033[K") || !strings.Contains(text, " left\r") {
		t.Errorf("%q in %q", last, text)
	}
}

// Reading that takes long is said, and not said any more once sessions are
// checked.
func TestProgressWhileReading(t *testing.T) {
	for _, goesOn := range []bool{false, true} {
		tty, written := terminal(t)
		t.Setenv("TERM", "xterm")
		p := newProgressLine(tty)
		p.wait = 50 * time.Millisecond
		p.log(export.Progress{})
		if goesOn {
			p.log(export.Progress{Of: 1})
		}
		time.Sleep(300 * time.Millisecond)
		p.clear()
		if text := written(); strings.Contains(text, "reading") == goesOn {
			t.Errorf("%q", text)
		}
	}
}

// The time left is known from the size of the files, not from standard input.
func TestBytesAt(t *testing.T) {
	dir := t.TempDir()
	for name, size := range map[string]int{"a.json": 10, "b.ndjson": 20, "c.txt": 40} {
		if err := os.WriteFile(dir+"/"+name, make([]byte, size), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for want, paths := range map[int64][]string{30: {dir}, 50: {dir, dir + "/b.ndjson"}, 40: {dir + "/c.txt"}, 0: {dir, "-"}} {
		if got := bytesAt(paths); got != want {
			t.Errorf("%v: %d", paths, got)
		}
	}
}
