//go:build !unix

package output

import (
	"os"
	"time"
)

// abandoned reports whether a file or folder is so old that no process can
// still be writing it: a folder cannot be locked here.
func abandoned(file *os.File) bool {
	const longest = 24 * time.Hour
	info, err := file.Stat()
	return err == nil && time.Since(info.ModTime()) > longest
}
