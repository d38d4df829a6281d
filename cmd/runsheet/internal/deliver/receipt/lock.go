package receipt

import (
	"errors"
	"fmt"
	"os"
)

// errLocked means that another process holds the lock.
var errLocked = errors.New("locked")

// lock keeps a second sender away from the receipt until the returned function
// is called or the process ends, however it ends: two senders at once would
// make duplicates.
func lock(receipt string) (unlock func(), err error) {
	path := receipt + ".lock"
	for {
		file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
		if err == nil {
			err = lockFile(file)
		}
		switch {
		case errors.Is(err, errLocked):
			file.Close()
			return nil, fmt.Errorf("another runsheet is sending with the same receipt (%s): wait until it has ended", receipt)
		case err != nil:
			return nil, fmt.Errorf("the receipt cannot be locked: %w", err)
		case stillThere(file, path):
			return func() {
				os.Remove(path)
				file.Close()
			}, nil
		}
		file.Close() // its owner took it away in between
	}
}

// stillThere reports whether the locked file is the one that has the name now.
func stillThere(file *os.File, path string) bool {
	locked, err := file.Stat()
	if err != nil {
		return false
	}
	named, err := os.Stat(path)
	return err == nil && os.SameFile(locked, named)
}
