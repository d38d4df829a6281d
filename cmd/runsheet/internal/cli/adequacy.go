package cli

import (
	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/adequacy"
)

const adequacyHelp = `Computes adequacy and fluid measures from a log, for each session and each week:
value, method, inputs and source, and the published figures to read beside them.

A value is never called good or bad. What cannot be computed says why with
--explain.
` + exitStatusHelp

type adequacyFlags struct {
	format  string
	explain bool
}

func newAdequacyCmd(io streams) *cobra.Command {
	var flags adequacyFlags
	cmd := &cobra.Command{
		Use:     "adequacy LOG",
		Short:   "Compute adequacy and fluid measures, with method and source",
		Long:    adequacyHelp,
		Example: "  runsheet adequacy november\n  runsheet adequacy november --explain\n  runsheet adequacy november --format csv > november-values.csv",
		Args:    exactly(1, "one log folder"),
		RunE: func(_ *cobra.Command, args []string) error {
			return runAdequacy(args[0], flags, io)
		},
	}
	cmd.Flags().StringVar(&flags.format, "format", "text", "text, json or csv")
	cmd.Flags().BoolVar(&flags.explain, "explain", false, "show each formula with its numbers, inputs and source")
	return cmd
}

func runAdequacy(path string, flags adequacyFlags, io streams) error {
	switch flags.format {
	case "text", "json", "csv":
	default:
		return wrongUse("unknown format %q: expected text, json or csv", flags.format)
	}
	log, findings, err := readLog(path)
	if err != nil {
		return err
	}
	table := adequacy.Of(log)
	switch flags.format {
	case "json":
		err = adequacy.JSON(io.out, table.Rows())
	case "csv":
		err = adequacy.CSV(io.out, table.Rows())
	default:
		err = table.Text(io.out, flags.explain)
	}
	if err != nil {
		return err
	}
	if flags.format == "text" {
		summary(io.err, log, findings)
	}
	var f findingFlags
	return f.verdict(findings)
}
