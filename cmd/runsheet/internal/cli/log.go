package cli

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// workbookEndings are the endings of files that hold a workbook, of the kind
// that is read or of one that a message tells how to save as such.
var workbookEndings = []string{".xlsx", ".xlsm", ".xltx", ".xltm", ".xlsb", ".xls", ".ods", ".fods", ".numbers"}

// isWorkbook reports whether a path names a workbook.
func isWorkbook(path string) bool {
	return slices.Contains(workbookEndings, strings.ToLower(filepath.Ext(path)))
}

// readLog reads and checks a log, a folder of CSV files or a workbook: the
// model, and every finding of the reader and of the checks, sorted.
func readLog(path string) (*session.Log, []issue.Finding, error) {
	read := session.ReadFolder
	if isWorkbook(path) {
		read = workbook.ReadFile
	}
	log, findings, err := read(path, readToday())
	if err != nil {
		return nil, nil, placed(path, err)
	}
	findings = check.With(log, findings)
	return log, findings, nil
}

// interruptible does what may wait for ever, such as reading a pipe that nobody
// writes to, until the person interrupts it. Work that is left so must leave
// nothing behind when the program ends within it.
func interruptible(ctx context.Context, work func() error) error {
	done := make(chan error, 1)
	go func() { done <- work() }()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case err := <-done:
		return err
	}
}

// readToday are the options of reading a log now.
func readToday() session.Options { return session.Options{Today: time.Now()} }

// placed names the file the user knows, where the system only knew its path
// within the log.
func placed(log string, err error) error {
	var path *fs.PathError
	if errors.As(err, &path) && !strings.HasPrefix(path.Path, log) {
		return &fs.PathError{Op: path.Op, Path: filepath.Join(log, path.Path), Err: path.Err}
	}
	return err
}

// inSheetOrder brings what was found in a log into the order in which the log has
// its sheets.
func inSheetOrder(path string, findings []issue.Finding) []issue.Finding {
	if !isWorkbook(path) {
		return report.InSheetOrder(findings, logFiles)
	}
	tabs, err := workbook.Tabs(path)
	if err != nil {
		return findings // one of them says why it cannot be read
	}
	return report.InSheetOrder(findings, append([]string{filepath.Base(path)}, tabs...))
}

// logFiles are the files of a log folder, in the order of the sheets that a new
// workbook has.
var logFiles = []string{
	"log.toml", string(session.SheetSessions) + ".csv", string(session.SheetChecks) + ".csv", string(session.SheetReadings) + ".csv",
	string(session.SheetMedicines) + ".csv", string(session.SheetLabs) + ".csv", string(session.SheetEvents) + ".csv",
}
