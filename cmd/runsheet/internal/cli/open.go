package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/open"
	"runsheet.example/fhirmap/session/workbook"
)

const openHelp = `Shows a log as pages in the browser: write treatments down, see at each field what
looks wrong and why, and hand the log over. The pages are served on this computer
and to this computer only; nothing leaves it.

LOG is a log folder; without it, it is the folder "Runsheet log" in your home
folder. A log that is not there can be begun on the page. Of a workbook, or of
a sheet of another shape whose columns you confirm on the page, the log is a copy
in a folder beside it; the file is not changed. Each save keeps the files before it
(the last 50), and can be undone.

It ends with Close on the page, with Ctrl-C, or 60 minutes after the last page.
` + exitStatusHelp

const openExample = `  runsheet open
  runsheet open november
  runsheet open november.xlsx
  runsheet open november --no-browser`

func newOpenCmd(io streams) *cobra.Command {
	var noBrowser bool
	cmd := &cobra.Command{
		Use:     "open [LOG]",
		Short:   "Show a log as pages in the browser, on this computer only",
		Long:    openHelp,
		Example: openExample,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return exactly(1, "one log, or none")(cmd, args)
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			opts := open.Options{Tool: tool, Browser: open.StartBrowser, Say: func(line string) { fmt.Fprintln(io.err, line) }}
			if noBrowser {
				opts.Browser = nil
			}
			var err error
			if opts.Log, opts.File, err = logToOpen(args); err != nil {
				return err
			}
			id, err := uuid.NewRandom()
			if err != nil {
				return fmt.Errorf("making the log's id: %w", err)
			}
			opts.LogID = id.String()
			boundMemory()
			return open.Serve(cmd.Context(), opts)
		},
	}
	cmd.Flags().BoolVar(&noBrowser, "no-browser", false, "do not start a browser; print what to open instead")
	return cmd
}

// logToOpen is the folder of the log as a whole path, since the page shows it,
// and the file that it is a copy of, if any.
func logToOpen(args []string) (log, file string, err error) {
	if len(args) == 0 {
		home, err := os.UserHomeDir()
		return filepath.Join(home, "Runsheet log"), "", err
	}
	log, err = filepath.Abs(args[0])
	info, missing := os.Stat(log)
	isSheet := workbook.Named(log) || strings.EqualFold(filepath.Ext(log), ".csv")
	switch {
	case missing == nil && !info.IsDir() && isSheet:
		return strings.TrimSuffix(log, filepath.Ext(log)) + " log", log, err
	case missing != nil && isSheet:
		return "", "", fmt.Errorf("%s: there is no such file", args[0])
	case missing == nil && !info.IsDir():
		return "", "", wrongUse("%s is a file; a log is a folder with sessions.csv in it, a workbook or a sheet (.csv)", args[0])
	}
	return log, "", err
}
