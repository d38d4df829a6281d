// Package hold keeps a second process away from a file by a lock that ends with
// the process that has it.
package hold

import (
	"errors"
	"os"
)

// ErrLocked means that another holds a file.
var ErrLocked = errors.New("locked")

// SyncFolder flushes the names in a folder to disk. Systems that cannot do that
// report an error, which does not concern the files.
func SyncFolder(path string) {
	if dir, err := os.Open(path); err == nil {
		_ = dir.Sync()
		dir.Close()
	}
}

// IsDiskFull reports an error of a full disk.
func IsDiskFull(err error) bool { return errors.Is(err, diskFull) }
