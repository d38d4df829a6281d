package output

import (
	"errors"
	"fmt"

	"golang.org/x/sys/unix"
)

// exchange swaps two folders in one step. Some file systems cannot do that.
func exchange(a, b string) error {
	err := unix.RenamexNp(a, b, unix.RENAME_SWAP)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOTSUP) {
		return errors.ErrUnsupported
	}
	if err != nil {
		return fmt.Errorf("%s could not be replaced: %w", b, err)
	}
	return nil
}
