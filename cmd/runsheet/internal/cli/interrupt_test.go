//go:build unix

package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// A log that is a pipe nobody writes to can be interrupted, and nothing is left
// behind.
func TestInterruptedWhileReading(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "log.xlsx")
	folder := filepath.Join(dir, "log")
	plain := filepath.Join(dir, "plain.toml")
	for _, err := range []error{
		syscall.Mkfifo(pipe, 0o600), os.Mkdir(folder, 0o700), syscall.Mkfifo(filepath.Join(folder, "sessions.csv"), 0o600),
		os.WriteFile(filepath.Join(folder, "log.toml"), []byte("[log]\n"), 0o600), os.WriteFile(plain, []byte("format = 1\n[[table]]\n"), 0o600),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	out, work := filepath.Join(dir, "out"), t.TempDir()
	t.Setenv("TMPDIR", work)
	for _, args := range [][]string{
		{"check", pipe}, {"check", folder}, {"check", pipe, "--suggest-map"}, {"check", pipe, "--map", plain}, {"check", plain, "--map", pipe},
		{"check", plain, "--map", plain, "--about", pipe}, {"check", folder, "--annotate", out + ".xlsx"}, {"export", pipe, "-o", out}, {"export", folder, "-o", out + ".json"},
		{"adequacy", pipe}, {"map", pipe}, {"new", out, "--clinic", pipe}, {"new", out + ".xlsx", "--from", folder}, {"validate", pipe},
	} {
		ctx, cancel := context.WithCancel(context.Background())
		var said bytes.Buffer
		ended := make(chan int, 1)
		go func() { ended <- run(ctx, args, streams{&bytes.Buffer{}, &bytes.Buffer{}, &said}) }()
		time.Sleep(50 * time.Millisecond)
		cancel()
		select {
		case code := <-ended:
			if code != exitInterrupted || said.String() != "runsheet: interrupted\n" {
				t.Errorf("%q ended with %d and %q", args, code, said.String())
			}
		case <-time.After(5 * time.Second):
			t.Errorf("%q goes on", args)
		}
	}
	left, err := os.ReadDir(dir)
	if rest, err := os.ReadDir(work); err != nil || len(rest) != 0 {
		t.Errorf("temporary files left: %v, %v", rest, err)
	}
	if err != nil || len(left) != 3 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
