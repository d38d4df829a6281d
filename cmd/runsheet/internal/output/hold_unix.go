//go:build unix

package output

import (
	"errors"
	"os"
	"syscall"
)

// Lock marks a file or folder as in use until it is closed or the process ends,
// in any way. It returns [ErrLocked] if another process holds it.
func Lock(file *os.File) error {
	err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return ErrLocked
	}
	return err
}

// abandoned reports whether no process holds it.
func abandoned(file *os.File) bool { return Lock(file) == nil }
