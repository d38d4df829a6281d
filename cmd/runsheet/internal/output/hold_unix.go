//go:build unix

package output

import (
	"os"
	"syscall"
)

// hold marks a temporary file or folder as in use, until it is closed or the
// process ends.
func hold(file *os.File) { _ = syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) }

// abandoned reports whether no process holds it.
func abandoned(file *os.File) bool {
	return syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) == nil
}
