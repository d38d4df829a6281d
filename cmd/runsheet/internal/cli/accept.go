package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"runsheet.example/validate"
	"runsheet.example/validate/accept"
)

// acceptFlags are the flags that accept findings.
type acceptFlags struct{ path, today string }

func (a *acceptFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&a.path, "accept", "", "a TOML file of findings that are accepted until a day")
	cmd.Flags().StringVar(&a.today, "today", "", "with --accept: the day on which entries expire or not, as YYYY-MM-DD (default: today)")
}

func (a *acceptFlags) read(opts *validate.Options) error {
	today := time.Now()
	if a.today != "" {
		day, err := time.Parse(time.DateOnly, a.today)
		if err != nil || a.path == "" {
			return wrongUse("--today %s: expected a day such as 2026-03-31, and --accept", a.today)
		}
		today = day
	}
	if a.path == "" {
		return nil
	}
	data, err := os.ReadFile(a.path)
	if err != nil {
		return fmt.Errorf("reading the list of accepted findings: %w", err)
	}
	opts.Accept, err = accept.Parse(data, filepath.Base(a.path), today)
	if err != nil {
		return usageError{err}
	}
	return nil
}
