package export

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/cmd/runsheet/internal/questionnaire"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/fhirmap/session/columnmap"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// Input is a log as a person names it: a folder of CSV files, a workbook or a
// QuestionnaireResponse, or with Map a sheet of another shape. About, which may be nil, is the log.toml
// of such a sheet.
type Input struct {
	Path  string
	Map   *columnmap.Map
	About *columnmap.About
}

// Read reads and checks the log. It returns the model and all findings of the
// reader and the checks, sorted.
func (in Input) Read() (log *session.Log, findings []issue.Finding, err error) {
	today := session.Options{Today: time.Now()}
	switch {
	case in.Map != nil:
		log, findings, err = columnmap.Read(in.Path, in.Map, in.About, today)
	case questionnaire.Named(in.Path):
		log, findings, err = questionnaire.ReadFile(in.Path, today)
	case workbook.Named(in.Path):
		log, findings, err = workbook.ReadFile(in.Path, today)
	default:
		log, findings, err = session.ReadFolder(in.Path, today)
	}
	if err != nil {
		return nil, nil, err
	}
	return log, check.Check(log, findings), nil
}

// InSheetOrder sorts findings about the log at a path by sheet, row and column.
func InSheetOrder(path string, findings []issue.Finding) []issue.Finding {
	if !workbook.Named(path) {
		return report.InSheetOrder(findings, logFiles)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return findings
	}
	return inTabOrder(filepath.Base(path), data, findings)
}

func inTabOrder(name string, data []byte, findings []issue.Finding) []issue.Finding {
	tabs, err := workbook.Tabs(data)
	if err != nil {
		return findings // one of them explains why it is unreadable
	}
	return report.InSheetOrder(findings, append([]string{name}, tabs...))
}

// logFiles are the files of a log folder, in the sheet order of a new
// workbook.
var logFiles = []string{
	"log.toml", string(session.SheetSessions) + ".csv", string(session.SheetChecks) + ".csv", string(session.SheetReadings) + ".csv",
	string(session.SheetMedicines) + ".csv", string(session.SheetLabs) + ".csv", string(session.SheetEvents) + ".csv",
}

// Annotate writes a copy of the log at a path as a workbook with its findings in
// a language.
// It first converts a folder to a workbook and reads that, so that each finding
// refers to a cell of the copy.
func Annotate(ctx context.Context, path, to string, findings []issue.Finding, language issue.Language, opts fhirmap.Options) error {
	var data []byte
	var err error
	if questionnaire.Named(path) {
		return fmt.Errorf("%s: the answers of a form are corrected where they were made; there is no copy with the findings", path)
	}
	if workbook.Named(path) {
		data, err = os.ReadFile(path)
	} else if data, err = carriedOver(path); err == nil {
		findings, err = findingsIn(ctx, data, filepath.Base(to), opts)
	}
	if err != nil {
		return err
	}
	copied, err := workbook.Annotate(data, findings, language)
	if err != nil {
		return err
	}
	_, err = output.Single(to, copied, false, nil)
	return err
}

// carriedOver returns a log folder as a workbook.
func carriedOver(dir string) ([]byte, error) {
	grid, _, err := session.ReadGrid(os.DirFS(dir))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", dir, err)
	}
	return workbook.Bytes(workbook.Options{Content: grid})
}

// findingsIn reads and checks a workbook in memory.
func findingsIn(ctx context.Context, data []byte, name string, opts fhirmap.Options) ([]issue.Finding, error) {
	log, findings, err := workbook.Read(data, name, session.Options{Today: time.Now()})
	if err != nil {
		return nil, err
	}
	findings, err = Check(ctx, log, check.Check(log, findings), opts)
	return inTabOrder(name, data, findings), err
}
