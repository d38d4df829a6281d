package cli

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// annotate writes a copy of a log as a workbook with its findings. It first
// converts a folder to a workbook and reads that, so that each finding refers
// to a cell of the copy.
func annotate(ctx context.Context, path, to string, findings []issue.Finding, io streams) error {
	if !strings.EqualFold(filepath.Ext(to), ".xlsx") {
		return wrongUse("--annotate writes a workbook: give a name that ends in .xlsx, such as %s.xlsx", to)
	}
	var data []byte
	var err error
	if isWorkbook(path) {
		data, err = os.ReadFile(path)
	} else if data, err = carriedOver(path); err == nil {
		findings, err = findingsIn(ctx, data, filepath.Base(to))
	}
	if err != nil {
		return err
	}
	var copied bytes.Buffer
	if err := workbook.Annotate(&copied, bytes.NewReader(data), int64(len(data)), findings); err != nil {
		return err
	}
	if _, err := output.Single(to, copied.Bytes(), false, nil); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "Wrote the annotated copy %s.\n", to)
	return nil
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
func findingsIn(ctx context.Context, data []byte, name string) ([]issue.Finding, error) {
	log, findings, err := workbook.Read(bytes.NewReader(data), int64(len(data)), name, readToday())
	if err != nil {
		return nil, err
	}
	findings = check.Check(log, findings)
	if findings, err = throughGate(ctx, log, findings); err != nil {
		return nil, err
	}
	tabs, err := workbook.TabsIn(data)
	return report.InSheetOrder(findings, append([]string{name}, tabs...)), err
}
