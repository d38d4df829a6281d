package output

import (
	"errors"
	"fmt"

	"golang.org/x/sys/unix"
)

// exchange swaps two folders in one step. Some file systems cannot do that.
func exchange(a, b string) error {
	err := unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.ENOTSUP) {
		return errors.ErrUnsupported
	}
	if err != nil {
		return fmt.Errorf("%s could not be replaced: %w", b, err)
	}
	return nil
}

// flush writes the folder's files to disk: all at once, which takes no longer
// for thousands of files.
func (f *Folder) flush() error {
	if err := unix.Syncfs(int(f.held.Fd())); err != nil {
		return fmt.Errorf("%s could not be written to the disk: %w", f.dir, err)
	}
	return nil
}
