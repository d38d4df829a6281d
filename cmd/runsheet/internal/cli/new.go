package cli

import (
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"runsheet.example/fhirmap/session"
)

const newHelp = `Writes an empty log to fill in: a folder with one CSV file for each kind of entry,
log.toml for who and what it is about, and READ-ME-FIRST.txt.

The folder must not exist yet.
` + exitStatusHelp

func newNewCmd(io streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "new DIR",
		Short:   "Write an empty log to fill in",
		Long:    newHelp,
		Example: "  runsheet new november",
		Args:    exactly(1, "the name of one new folder"),
		RunE: func(_ *cobra.Command, args []string) error {
			return runNew(args[0], io)
		},
	}
	return cmd
}

func runNew(dir string, io streams) error {
	if strings.HasSuffix(strings.ToLower(dir), ".xlsx") {
		return wrongUse("workbooks are not written yet: give the name of a folder, such as %s", strings.TrimSuffix(dir, ".xlsx"))
	}
	id, err := uuid.NewRandom()
	if err != nil {
		return fmt.Errorf("making the log's id: %w", err)
	}
	if err := session.WriteTemplate(dir, session.TemplateOptions{LogID: id.String()}); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "Wrote the folder %s. Open READ-ME-FIRST.txt in it, fill in, then run: runsheet check %s\n", dir, dir)
	return nil
}
