//go:build unix

package hold

import (
	"errors"
	"os"
	"syscall"
)

// Lock holds a file or folder until it is closed or the process ends, in any
// way. It returns [ErrLocked] if another holds it.
func Lock(file *os.File) error {
	err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return ErrLocked
	}
	return err
}

// diskFull is what the system reports for a full disk.
var diskFull error = syscall.ENOSPC
