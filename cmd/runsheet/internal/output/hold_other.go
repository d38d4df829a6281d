//go:build !unix

package output

import (
	"os"
	"time"
)

// Lock does nothing: this system has no lock that ends with its process.
func Lock(*os.File) error { return nil }

// abandoned reports whether a file or folder is so old that no process can
// still be writing it.
func abandoned(file *os.File) bool {
	const longest = 24 * time.Hour
	info, err := file.Stat()
	return err == nil && time.Since(info.ModTime()) > longest
}
