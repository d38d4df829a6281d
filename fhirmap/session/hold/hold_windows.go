package hold

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// Lock holds a file until it is closed or the process ends, in any way. It
// returns [ErrLocked] if another holds it. The byte that is locked is far
// behind the end, so that others can read the file. A folder cannot be held.
func Lock(file *os.File) error {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err := windows.LockFileEx(windows.Handle(file.Fd()), flags, 0, 1, 0, &windows.Overlapped{OffsetHigh: 1})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return ErrLocked
	}
	return err
}

// diskFull is what the system reports for a full disk.
var diskFull error = windows.ERROR_DISK_FULL
