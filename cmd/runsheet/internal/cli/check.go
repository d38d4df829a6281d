package cli

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

const checkHelp = `Reads a log and says, at each cell, what looks wrong and how to mend it. Nothing
is changed and nothing leaves this computer.

An error is something that cannot be right; the session it is in will not be
exported. Sessions are checked as an export checks them, so those that are ready
here are those that it writes. A warning is something worth a second look.

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
	language, err := issue.ParseLanguage(opts.lang)
	if err != nil {
		return wrongUse("--lang: %w", err)
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
		language = issue.Language(log.About.Language)
		opts.language = language
	}
	if opts.lot != "" {
		recall(io.out, io.err, log, opts.lot)
		if issue.HasErrors(findings) {
			fmt.Fprintln(io.err, "The log has mistakes that can hide sessions: run runsheet check without --lot.")
		}
		return opts.verdict(findings)
	}
	if findings, err = throughGate(ctx, log, findings); err != nil {
		return err
	}
	findings = inSheetOrder(path, findings)
	if opts.annotate != "" {
		if opts.path != "" && !isWorkbook(path) {
			return wrongUse("--annotate with --map marks the cells of a workbook, and %s is none", path)
		}
		if err := annotate(ctx, path, opts.annotate, findings, io); err != nil {
			return err
		}
	}
	if err := opts.print(io.out, findings, ifNone(findings, path), nil); err != nil {
		return err
	}
	switch {
	case opts.format != "text":
	case language == issue.German:
		germanSummary(io.err, log, findings)
	default:
		summary(io.err, log, findings)
	}
	closingLine(io.err, log.Tally, language, opts.all)
	return opts.verdict(findings)
}

// throughGate adds the findings for which an export would hold sessions back,
// so that an export writes every session called ready.
func throughGate(ctx context.Context, log *session.Log, findings []issue.Finding) ([]issue.Finding, error) {
	var usual mappingFlags
	usual.complete()
	found, err := export.Check(ctx, log, usual.mapping)
	findings = append(findings, found...)
	issue.Sort(findings)
	return findings, err
}

// summary is the one sentence that a person wants first: is it ready?
func summary(w io.Writer, log *session.Log, findings []issue.Finding) {
	errors, warnings, _ := issue.Count(findings)
	ready, held := readyAndHeld(log)
	switch {
	case len(log.Sessions) == 0:
		fmt.Fprintln(w, "There are no sessions to send yet.")
	case errors == 0 && warnings == 0:
		fmt.Fprintf(w, "Your %s is ready: %s, nothing to look at.\n", span(log), plural(ready, "session", "sessions"))
	case held == 0 && errors == 0:
		fmt.Fprintf(w, "Your %s is ready: %s. %s to look at.\n", span(log), plural(ready, "session", "sessions"), plural(warnings, "thing", "things"))
	default:
		fmt.Fprintf(w, "Your %s needs mending: %s ready, %s held back. %s to mend, %s to look at.\n", span(log),
			plural(ready, "session", "sessions"), plural(held, "session", "sessions"),
			plural(errors, "mistake", "mistakes"), plural(warnings, "thing", "things"))
	}
}

// readyAndHeld counts the sessions that are ready and those held back.
func readyAndHeld(log *session.Log) (ready, held int) {
	for _, s := range log.Sessions {
		if s.Broken {
			held++
		} else {
			ready++
		}
	}
	return ready, held
}

// covered are the first and the last day of a log, zero if it has none.
func covered(log *session.Log) (first, last time.Time) {
	for _, s := range log.Sessions {
		if !s.Date.OK() {
			continue
		}
		if first.IsZero() || s.Date.Time.Before(first) {
			first = s.Date.Time
		}
		if s.Date.Time.After(last) {
			last = s.Date.Time
		}
	}
	return first, last
}

// span describes the period of the log in words.
func span(log *session.Log) string {
	first, last := covered(log)
	switch {
	case first.IsZero():
		return "log"
	case first.Year() == last.Year() && first.Month() == last.Month():
		return first.Format("January 2006")
	case first.Year() == last.Year():
		return "log from " + first.Format("2 January") + " to " + last.Format("2 January 2006")
	default:
		return "log from " + first.Format("2 January 2006") + " to " + last.Format("2 January 2006")
	}
}
