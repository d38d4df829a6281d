package edit

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"runsheet.example/fhirmap/session/hold"
)

// Held is a log that this process has open.
type Held struct{ file *os.File }

// LockedError is returned for a log that another process has open.
type LockedError struct {
	// Who is what that process says of itself ([Held.Say]), "" for nothing.
	Who string
}

func (e *LockedError) Error() string {
	if e.Who == "" {
		return "the log is open in another window of this program"
	}
	return "the log is open in another window of this program: " + e.Who
}

// Lock keeps other processes from opening the log, until [Held.Release] or the
// end of this process in any way. It returns a [LockedError] if another has it.
func Lock(dir string) (*Held, error) {
	history := filepath.Join(dir, historyName)
	if err := os.MkdirAll(history, 0o700); err != nil {
		return nil, plain("the log cannot be opened for changes", err)
	}
	path := filepath.Join(history, openName)
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, plain("the log cannot be opened for changes", err)
	}
	switch err := hold.Lock(file); {
	case err == nil:
		return &Held{file}, file.Truncate(0)
	case errors.Is(err, hold.ErrLocked):
		defer file.Close()
		who, _ := os.ReadFile(path)
		return nil, &LockedError{Who: strings.TrimSpace(string(who))}
	default:
		file.Close()
		return nil, fmt.Errorf("the log cannot be opened for changes: %w", err)
	}
}

// Say writes who has the log, such as the address of its page, for the
// [LockedError] of others.
func (h *Held) Say(who string) error {
	if err := h.file.Truncate(0); err != nil {
		return err
	}
	_, err := h.file.WriteAt([]byte(who+"\n"), 0)
	return err
}

// Release lets others open the log.
func (h *Held) Release() { h.file.Close() }
