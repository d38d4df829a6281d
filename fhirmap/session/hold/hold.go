// Package hold keeps a second process away from a file by a lock that ends with
// the process that has it.
package hold

import "errors"

// ErrLocked means that another holds a file.
var ErrLocked = errors.New("locked")

// IsDiskFull reports an error of a full disk.
func IsDiskFull(err error) bool { return errors.Is(err, diskFull) }
