//go:build unix

package receipt

import (
	"errors"
	"os"
	"syscall"
)

// lockFile takes the lock, which the system releases when the process ends.
func lockFile(file *os.File) error {
	err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return errLocked
	}
	return err
}
