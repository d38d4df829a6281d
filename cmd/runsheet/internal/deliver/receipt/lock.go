package receipt

import (
	"errors"
	"fmt"
	"os"

	"runsheet.example/fhirmap/session/hold"
)

// lock keeps a second sender away from the receipt until the caller calls the
// returned function or the process ends, in any way: two senders at once would
// create duplicates. On a system without such locks the person must run one
// sender at a time.
func lock(receipt string) (unlock func(), err error) {
	path := receipt + ".lock"
	for {
		file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
		if err == nil {
			err = hold.Lock(file)
		}
		switch {
		case errors.Is(err, hold.ErrLocked):
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
		file.Close() // its owner removed it in between
	}
}

// stillThere reports whether the name still refers to the locked file.
func stillThere(file *os.File, path string) bool {
	locked, err := file.Stat()
	if err != nil {
		return false
	}
	named, err := os.Stat(path)
	return err == nil && os.SameFile(locked, named)
}
