//go:build !windows

package cli

import "os"

// takesEscapes reports whether a terminal obeys escape sequences.
func takesEscapes(*os.File) bool { return os.Getenv("TERM") != "dumb" }
