package open

import (
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
)

// redirectFile writes a page that leads the browser to an address. Only its
// owner can read it. The browser gets the name of the file and not the address,
// because every user of the computer can list the arguments of a process.
//
// It is in the home folder: browsers in a sandbox see neither the temporary
// folder nor hidden folders (memory).
func redirectFile(address string) (string, error) {
	dir, err := os.UserHomeDir()
	if err != nil {
		dir = os.TempDir()
	}
	file, err := os.CreateTemp(dir, "runsheet-*.html") // mode 0600
	if err != nil {
		if file, err = os.CreateTemp("", "runsheet-*.html"); err != nil {
			return "", fmt.Errorf("writing the page that opens the browser: %w", err)
		}
	}
	_, err = fmt.Fprintf(file, "<!doctype html><meta charset=utf-8><title>Runsheet</title><meta http-equiv=refresh content=\"0; url=%[1]s\"><p><a href=\"%[1]s\">Runsheet</a>\n", html.EscapeString(address))
	if closed := file.Close(); err == nil {
		err = closed
	}
	return filepath.Clean(file.Name()), err
}

// StartBrowser opens a file with the program that the system uses for web pages.
func StartBrowser(file string) error {
	var cmd *exec.Cmd
	switch runtime.GOOS {
	case "darwin":
		cmd = exec.Command("open", file)
	case "windows":
		cmd = exec.Command("rundll32", "url.dll,FileProtocolHandler", file)
	default:
		cmd = exec.Command("xdg-open", file)
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	go func() { _ = cmd.Wait() }() // its result says nothing about the browser
	return nil
}
