package receive

import (
	"context"
	"os"
	"path/filepath"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// copyExport checks an export that a patient made and copies it. One with errors
// is refused as a whole: it was valid when it was made, so it was changed since.
func (r *run) copyExport(ctx context.Context, one item, to string) error {
	found, err := validate.Paths(ctx, []string{one.path}, nil, validate.Options{})
	if err != nil {
		return err
	}
	if found.HasErrors() {
		for _, f := range found.Findings {
			if f.Severity == issue.Error {
				return refuse("the export is not valid ({}: {}): ask for the log", f.Rule, f.Details)
			}
		}
	}
	folder, err := output.NewFolder(filepath.Join(to, exportName), true, manifest.Ours)
	if err != nil {
		return err
	}
	defer folder.Close()
	entries, err := os.ReadDir(one.path)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !e.Type().IsRegular() {
			continue
		}
		text, err := os.ReadFile(filepath.Join(one.path, e.Name()))
		if err != nil {
			return err
		}
		out, err := folder.Create(e.Name())
		if err == nil {
			_, err = out.Write(text)
		}
		if err == nil {
			err = out.Close()
		}
		if err != nil {
			return err
		}
	}
	_, err = folder.Commit()
	return err
}
