package cli

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/issue"
)

const checkHelp = `Reads a log and says, at each cell, what looks wrong and how to mend it. Nothing
is changed and nothing leaves this computer.

An error is something that cannot be right; the session it is in will not be
exported. Sessions are checked as an export checks them, so those that are ready
here are those that it writes. A warning is something worth a second look.

A warning about a value that is right is answered by a row in the log: in a file
answers.csv or a sheet Answers, with the headings rule, session, sheet, column,
value and reason (answered_on, the day, if you like). The value is the text of
the cell, what the finding prints, or both. It is then shown as answered.

A log is a folder of CSV files or a workbook. --annotate writes a copy as a
workbook, with each finding as a comment on its cell and a list of all of them
on the first sheet; the log itself is left as it is.

--lot answers a recall: it lists the sessions that used a lot, and counts those
without any lot written down.

A sheet of another shape is read by a column map: --suggest-map drafts one from
its headings and contents, and --map uses it (see runsheet map --help).
` + exitStatusHelp

const checkExample = `  runsheet check november
  runsheet check november.xlsx
  runsheet check november --lang de
  runsheet check november.xlsx --annotate to-mend.xlsx
  runsheet check november --lot EX-4471
  runsheet check november --format csv > to-mend.csv
  runsheet check old-sheet.xlsx --suggest-map > map.toml
  runsheet check old-sheet.xlsx --map map.toml --about log.toml`

func newCheckCmd(io streams) *cobra.Command {
	var flags findingFlags
	var opts checkOptions
	cmd := &cobra.Command{
		Use:     "check LOG",
		Short:   "Read a log and say what looks wrong, at its cell",
		Long:    checkHelp,
		Example: checkExample,
		Args:    exactly(1, "one log folder or workbook"),
		RunE: func(cmd *cobra.Command, args []string) error {
			opts.findingFlags = flags
			return runCheck(cmd.Context(), args[0], opts, io)
		},
	}
	flags.add(cmd)
	opts.mapFlags.add(cmd)
	cmd.Flags().BoolVar(&opts.suggest, "suggest-map", false, "draft a column map for a sheet of another shape, and print it")
	cmd.Flags().StringVar(&opts.lang, "lang", "", "language of the findings: "+strings.Join(issue.Languages(), " or "))
	_ = cmd.RegisterFlagCompletionFunc("lang", cobra.FixedCompletions(issue.Languages(), cobra.ShellCompDirectiveNoFileComp))
	cmd.Flags().StringVar(&opts.lot, "lot", "", "instead of checking, list the sessions that used this lot")
	cmd.Flags().StringVar(&opts.annotate, "annotate", "", "write a copy of the log as this workbook (.xlsx), with the findings at their cells")
	return cmd
}

// checkOptions are the flags of check.
type checkOptions struct {
	findingFlags
	mapFlags
	annotate string
	suggest  bool
	lot      string
	lang     string
}

func runCheck(ctx context.Context, path string, opts checkOptions, io streams) error {
	if err := opts.findingFlags.check(); err != nil {
		return err
	}
	language, err := parseLanguage(opts.lang)
	if err != nil {
		return err
	}
	opts.language = language
	if opts.suggest {
		return interruptible(ctx, func() error { return suggestMap(path, io) })
	}
	log, findings, err := opts.readLog(ctx, path)
	if err != nil {
		return err
	}
	if opts.lang == "" && log.About.Language != "" {
		language, _ = issue.ParseLanguage(log.About.Language) // English for one that has no catalogue
		opts.language = language
	}
	if opts.lot != "" {
		recall(io.out, io.err, log, opts.lot, language)
		if issue.HasErrors(findings) {
			fmt.Fprintln(io.err, "The log has mistakes that can hide sessions: run runsheet check without --lot.")
		}
		return opts.verdict(findings)
	}
	// An export writes every session called ready.
	if findings, err = export.Check(ctx, log, findings, fhirmap.Options{Tool: tool}); err != nil {
		return err
	}
	findings = export.InSheetOrder(path, findings)
	if opts.annotate != "" {
		switch {
		case opts.path != "" && !workbook.Named(path):
			return wrongUse("--annotate with --map marks the cells of a workbook, and %s is none", path)
		case !strings.EqualFold(filepath.Ext(opts.annotate), ".xlsx"):
			return wrongUse("--annotate writes a workbook: give a name that ends in .xlsx, such as %s.xlsx", opts.annotate)
		}
		if err := export.Annotate(ctx, path, opts.annotate, findings, opts.language, fhirmap.Options{Tool: tool}); err != nil {
			return err
		}
		fmt.Fprintf(io.err, "Wrote the annotated copy %s.\n", opts.annotate)
	}
	if err := opts.print(io.out, findings, ifNone(findings, path), nil); err != nil {
		return err
	}
	if opts.format == "text" {
		summary(io.err, log, findings, language)
	}
	closingLine(io.err, log.Tally, language, opts.all)
	if opts.format == "text" {
		opts.reportHint(io.err, log, path, language)
	}
	return opts.verdict(findings)
}
