package receipt

import (
	"errors"
	"fmt"
	"os"
)

// errLocked means that another process holds the lock.
var errLocked = errors.New("locked")

// Lock keeps a second sender away from the receipt until the returned function
// is called or the process ends, however it ends: two senders at once would
// make duplicates.
func (r *Receipt) Lock() (unlock func(), err error) {
	path := r.path + ".lock"
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("the receipt cannot be locked: %w", err)
	}
	if err := lockFile(file); err != nil {
		file.Close()
		if errors.Is(err, errLocked) {
			return nil, fmt.Errorf("another runsheet is sending with the same receipt (%s): wait until it has ended", r.path)
		}
		return nil, fmt.Errorf("the receipt cannot be locked: %w", err)
	}
	return func() { file.Close() }, nil
}
