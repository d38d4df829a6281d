package cli

import (
	"os"

	"golang.org/x/sys/windows"
)

// takesEscapes makes a console obey escape sequences, which it prints as they are
// unless it is asked to obey, and reports whether it does. Windows before 10 does
// not.
func takesEscapes(console *os.File) bool {
	handle := windows.Handle(console.Fd())
	var mode uint32
	return windows.GetConsoleMode(handle, &mode) == nil &&
		windows.SetConsoleMode(handle, mode|windows.ENABLE_VIRTUAL_TERMINAL_PROCESSING) == nil
}
