//go:build unix

package output

import (
	"os"

	"runsheet.example/fhirmap/session/hold"
)

// abandoned reports whether no process holds a file or folder.
func abandoned(file *os.File) bool { return hold.Lock(file) == nil }
