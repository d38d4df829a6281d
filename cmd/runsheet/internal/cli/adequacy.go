package cli

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/adequacy"
	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap"
	"runsheet.example/validate/issue"
)

const adequacyHelp = `Computes adequacy and fluid measures from a log, for each session and each week:
value, method, inputs and source. Published figures are printed only with --figures,
and only those whose stated scope (age, sessions a week, residual clearance) includes
the patient. The weekly dose stands twice: by regression from blood samples, and by urea
kinetics of the week as it was: every session done at its hour, and urea at the hour
of one planned and not done.

From exported records (a FHIR JSON file or a folder of them) it lists the computed
values they state beside the same computed again from the inputs they name; a
value that comes out differently ends with exit status 3.

A value is never called good or bad. What cannot be computed says why with
--explain.
` + exitStatusHelp

const adequacyExample = `  runsheet adequacy november
  runsheet adequacy november --all --figures
  runsheet adequacy november --explain
  runsheet adequacy november --format csv > november-values.csv
  runsheet adequacy out`

type adequacyFlags struct {
	mapFlags
	format string
	adequacy.Options
}

// measured is the common output of both kinds of input.
type measured interface {
	Text(w io.Writer, opts adequacy.Options) error
	JSON(w io.Writer, opts adequacy.Options) error
	CSV(w io.Writer) error
}

func newAdequacyCmd(io streams) *cobra.Command {
	var flags adequacyFlags
	cmd := &cobra.Command{
		Use:     "adequacy LOG|BUNDLES",
		Short:   "Compute adequacy and fluid measures, with method and source",
		Long:    adequacyHelp,
		Example: adequacyExample,
		Args:    exactly(1, "one log, or one file or folder of FHIR JSON"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runAdequacy(cmd.Context(), args[0], flags, io)
		},
	}
	cmd.Flags().StringVar(&flags.format, "format", "text", "text, json or csv")
	flags.mapFlags.add(cmd)
	cmd.Flags().BoolVar(&flags.All, "all", false, "show every table with its definitions")
	cmd.Flags().BoolVar(&flags.Figures, "figures", false, "show published figures, each with its scope, grade and source")
	cmd.Flags().BoolVar(&flags.Explain, "explain", false, "show each formula with its numbers, inputs and source")
	return cmd
}

func runAdequacy(ctx context.Context, path string, flags adequacyFlags, io streams) error {
	switch flags.format {
	case "text", "json", "csv":
	default:
		return wrongUse("unknown format %q: expected text, json or csv", flags.format)
	}
	log, findings, err := flags.logOrRecords(ctx, []string{path})
	if err != nil {
		return err
	}
	if log == nil {
		return interruptible(ctx, func() error { return recordAdequacy(path, flags, io) })
	}
	if err := flags.print(adequacy.Of(log), io); err != nil {
		return err
	}
	if findings, err = export.Check(ctx, log, findings, fhirmap.Options{Tool: tool}); err != nil {
		return err
	}
	if flags.format == "text" {
		summary(io.err, log, findings, issue.English)
		flags.reportHint(io.err, log, path, issue.English)
	}
	var f findingFlags
	return f.verdict(findings)
}

func (f adequacyFlags) print(m measured, io streams) error {
	switch f.format {
	case "json":
		return m.JSON(io.out, f.Options)
	case "csv":
		return m.CSV(io.out)
	default:
		return m.Text(io.out, f.Options)
	}
}

func recordAdequacy(path string, flags adequacyFlags, io streams) error {
	records, err := adequacy.ReadRecords(path, nil)
	if err != nil {
		return err
	}
	if err := flags.print(records, io); err != nil {
		return err
	}
	disagree, notAgain := records.Disagree()
	if flags.format == "text" {
		fmt.Fprintf(io.err, "%s: %s, %d differ, %d could not be computed again.\n",
			issue.Plural(records.Files(), "file", "files"), issue.Plural(len(records.Rows()), "computed value", "computed values"), disagree, notAgain)
	}
	if disagree > 0 {
		return errFindings
	}
	return nil
}
