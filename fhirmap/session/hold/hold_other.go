//go:build !unix && !windows

package hold

import (
	"errors"
	"os"
)

// Lock does nothing: this system has no lock that ends with its process.
func Lock(*os.File) error { return nil }

var diskFull = errors.New("the disk is full")
