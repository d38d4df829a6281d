package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/cmd/runsheet/internal/visit"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

const reportHelp = `Writes one page for a clinic visit, as an HTML or a PDF file: the numbers of the
last four weeks beside those of the four before and what was prescribed, a calendar
of the sessions, line charts on one time axis, what lies outside what was
prescribed, dose and laboratory values, and the patient's own questions.

It covers the last 13 weeks up to the last session, unless --from, --to or --weeks
say otherwise. Every number is a cell of the log, a computed value with its method,
a count, or the median, least or greatest of the sessions named. Nothing is called
good or bad.

From exported records (files or folders of FHIR JSON of one patient) it makes the
same page, without what records do not hold: prescribed times, the UF limit, and
the patient's questions.

The page names the patient by number only; --blank-name leaves a line for the name.
The HTML file needs no network and no script, and prints on one page.
` + exitStatusHelp

const reportExample = `  runsheet report november -o visit.html
  runsheet report november.xlsx -o visit.pdf --weeks 8
  runsheet report november -o visit.pdf --paper letter --lang de
  runsheet report out -o visit.html
  runsheet report november --fhir -o visit.json`

type reportFlags struct {
	mapFlags
	daysFlags
	out, paper, lang   string
	weeks              int
	noNotes, blankName bool
	fhir, force        bool
}

func newReportCmd(io streams) *cobra.Command {
	var flags reportFlags
	cmd := &cobra.Command{
		Use:     "report LOG|BUNDLES... -o visit.html|visit.pdf",
		Short:   "Write one page for a clinic visit, as HTML or PDF",
		Long:    reportHelp,
		Example: reportExample,
		Args:    atLeast(1, "one log, or files and folders of FHIR JSON"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runReport(cmd.Context(), args, flags, io)
		},
	}
	flags.mapFlags.add(cmd)
	flags.daysFlags.add(cmd, "first day of the report, such as 2025-11-01", "last day of the report")
	f := cmd.Flags()
	f.StringVarP(&flags.out, "output", "o", "", "file to write, .html or .pdf")
	f.IntVar(&flags.weeks, "weeks", 0, fmt.Sprintf("weeks up to the last session (default %d)", visit.DefaultWeeks))
	f.StringVar(&flags.paper, "paper", "", "a4 or letter (default a4)")
	f.StringVar(&flags.lang, "lang", "", "language of the page: "+strings.Join(issue.Languages(), " or "))
	f.BoolVar(&flags.noNotes, "no-notes", false, "leave out what the patient wrote in words: questions, reasons, symptoms")
	f.BoolVar(&flags.blankName, "blank-name", false, "leave a line to write the name on")
	f.BoolVar(&flags.fhir, "fhir", false, "write a .json file instead: the FHIR transaction Bundle with the report that 'export --report' adds")
	f.BoolVar(&flags.force, "force", false, "replace an older report")
	return cmd
}

// options reads the flags and refuses contradictions before any work.
func (f reportFlags) options() (opts visit.Options, err error) {
	opts = visit.Options{Weeks: f.weeks, NoNotes: f.noNotes, BlankName: f.blankName, Tool: tool.Name + " " + tool.Version}
	switch ext := strings.ToLower(filepath.Ext(f.out)); {
	case f.fhir && ext != ".json":
		return opts, wrongUse("report --fhir needs a file to write that ends in .json: -o visit.json")
	case !f.fhir && ext != ".html" && ext != ".pdf":
		return opts, wrongUse("report needs a file to write that ends in .html or .pdf: -o visit.html")
	}
	if opts.From, opts.To, err = f.daysFlags.parse(); err != nil {
		return opts, err
	}
	if f.weeks < 0 || f.weeks > 0 && f.from != "" {
		return opts, wrongUse("--weeks takes a number above 0, and not beside --from")
	}
	if opts.Paper, err = pdf.ParsePaper(f.paper); err != nil {
		return opts, wrongUse("--paper: %w", err)
	}
	opts.Language, err = parseLanguage(f.lang)
	return opts, err
}

func runReport(ctx context.Context, paths []string, flags reportFlags, io streams) error {
	opts, err := flags.options()
	if err != nil {
		return err
	}
	if flags.fhir {
		return reportRecord(ctx, paths, flags, opts, io)
	}
	record, findings, err := flags.record(ctx, paths, &opts)
	if err != nil {
		return err
	}
	report, err := visit.Make(record, opts)
	if err != nil {
		return fmt.Errorf("%s: %w", strings.Join(paths, ", "), err)
	}
	data := report.HTML
	if strings.EqualFold(filepath.Ext(flags.out), ".pdf") {
		data = report.PDF
	}
	if _, err := output.Single(flags.out, data, flags.force, visit.Ours); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "Wrote the report from %s to %s to %s.\n", report.From.Format(time.DateOnly), report.To.Format(time.DateOnly), flags.out)
	var f findingFlags
	return f.verdict(findings)
}

// reportRecord writes the report as a transaction Bundle.
func reportRecord(ctx context.Context, paths []string, flags reportFlags, opts visit.Options, io streams) error {
	log, findings, err := flags.logOrRecords(ctx, paths)
	if err != nil {
		return err
	}
	if log == nil {
		return wrongUse("report --fhir takes one log: a report made from exported records would have another identity")
	}
	if flags.lang == "" {
		opts.Language = ""
	}
	bundle, findings, err := export.Report(ctx, log, findings, fhirmap.Options{Tool: tool}, pageOf(opts))
	if err == nil && bundle == nil {
		err = visit.ErrEmptySpan
	}
	if err != nil {
		return fmt.Errorf("%s: %w", paths[0], err)
	}
	if _, err := output.Single(flags.out, bundle, flags.force, export.IsBundle); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "Wrote the report as FHIR to %s.\n", flags.out)
	var f findingFlags
	return f.verdict(findings)
}

// pageOf makes the page of a record; without a language in that of the log.
func pageOf(opts visit.Options) export.Page {
	return func(log *session.Log) (*fhirmap.Report, error) {
		opts := opts
		opts.Tool = tool.Name + " " + tool.Version
		if opts.Language == "" {
			opts.Language = languageOf(log)
		}
		record, err := visit.FromLog(log)
		if err != nil {
			return nil, err
		}
		page, err := visit.Make(record, opts)
		if errors.Is(err, visit.ErrEmptySpan) {
			return nil, nil
		}
		if err != nil {
			return nil, err
		}
		report := page.ForRecord()
		return &report, nil
	}
}

// languageOf is the language that the log asks for.
func languageOf(log *session.Log) issue.Language {
	language, _ := issue.ParseLanguage(log.About.Language) // the reader has said what is wrong with it
	return language
}

// record reads one log, or exported records. Without a choice of language a
// log has its own.
func (f reportFlags) record(ctx context.Context, paths []string, opts *visit.Options) (*visit.Record, []issue.Finding, error) {
	log, findings, err := f.logOrRecords(ctx, paths)
	if err != nil {
		return nil, nil, err
	}
	if log == nil {
		return f.records(ctx, paths)
	}
	if findings, err = export.Check(ctx, log, findings, fhirmap.Options{Tool: tool}); err != nil {
		return nil, nil, err
	}
	if f.lang == "" {
		opts.Language = languageOf(log)
	}
	record, err := visit.FromLog(log)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", paths[0], err)
	}
	return record, findings, nil
}

func (f reportFlags) records(ctx context.Context, paths []string) (record *visit.Record, _ []issue.Finding, err error) {
	boundMemory()
	err = interruptible(ctx, func() error {
		record, err = visit.FromRecords(paths)
		return err
	})
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", strings.Join(paths, ", "), err)
	}
	return record, nil, nil
}

// reportHint names the command that writes the report of a log.
func (f mapFlags) reportHint(w io.Writer, log *session.Log, path string, language issue.Language) {
	if len(log.Sessions) == 0 {
		return
	}
	command := "runsheet report " + shellWord(path) + " -o visit.html"
	for _, flag := range [...][2]string{{" --map ", f.path}, {" --about ", f.about}} {
		if flag[1] != "" {
			command += flag[0] + shellWord(flag[1])
		}
	}
	fmt.Fprintln(w, language.Text(issue.T("One page for the visit: {}", command)))
}

// shellWord puts a name between quotation marks if a shell would split it.
func shellWord(name string) string {
	if strings.ContainsAny(name, " \t'()&;") {
		return `"` + name + `"`
	}
	return name
}
