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

// workbookEndings are the extensions of workbook files, both of the supported
// kind and of kinds for which a message explains how to convert them.
var workbookEndings = []string{".xlsx", ".xlsm", ".xltx", ".xltm", ".xlsb", ".xls", ".ods", ".fods", ".numbers"}

// isWorkbook reports whether a path has the extension of a workbook.
func isWorkbook(path string) bool {
	return slices.Contains(workbookEndings, strings.ToLower(filepath.Ext(path)))
}

// readLog reads and checks a log, a folder of CSV files or a workbook. It
// returns the model and all findings of the reader and the checks, sorted.
func readLog(path string) (*session.Log, []issue.Finding, error) {
	read := session.ReadFolder
	if isWorkbook(path) {
		read = workbook.ReadFile
	}
	log, findings, err := read(path, readToday())
	if err != nil {
		return nil, nil, placed(path, err)
	}
	findings = check.Check(log, findings)
	return log, findings, nil
}

// interruptible runs work that may block forever, such as reading a pipe
// without a writer, until the person interrupts it. Abandoned work must leave
// nothing behind when the program ends.
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

// readToday are the options for reading a log at the current time.
func readToday() session.Options { return session.Options{Today: time.Now()} }

// placed inserts the file path that the user knows, where the system reported
// only the path within the log.
func placed(log string, err error) error {
	var path *fs.PathError
	if errors.As(err, &path) && !strings.HasPrefix(path.Path, log) {
		return &fs.PathError{Op: path.Op, Path: filepath.Join(log, path.Path), Err: path.Err}
	}
	return err
}

// inSheetOrder sorts findings by sheet, row and column.
func inSheetOrder(path string, findings []issue.Finding) []issue.Finding {
	if !isWorkbook(path) {
		return report.InSheetOrder(findings, logFiles)
	}
	tabs, err := workbook.Tabs(path)
	if err != nil {
		return findings // one of them explains why it is unreadable
	}
	return report.InSheetOrder(findings, append([]string{filepath.Base(path)}, tabs...))
}

// logFiles are the files of a log folder, in the sheet order of a new
// workbook.
var logFiles = []string{
	"log.toml", string(session.SheetSessions) + ".csv", string(session.SheetChecks) + ".csv", string(session.SheetReadings) + ".csv",
	string(session.SheetMedicines) + ".csv", string(session.SheetLabs) + ".csv", string(session.SheetEvents) + ".csv",
}
