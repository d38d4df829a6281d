package cli

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"strings"
	"unicode"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/form"
	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/cmd/runsheet/internal/questionnaire"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/issue"
)

const newHelp = `Writes an empty log to fill in: a workbook when the name ends in .xlsx, with
instructions on its first sheet; a form to fill in by hand when it ends in .pdf,
with the month on one page and a session on another, to print once a session; a
FHIR Questionnaire for portals and apps when it ends in .json; or else a folder with
one CSV file for each kind of entry, log.toml for who and what it is about, and
READ-ME-FIRST.txt.

The folder or file must not exist yet.

The locale decides how a workbook shows dates, times and numbers, --lang the
language of its words; check reads either. --short leaves out the sheet for what is looked at and used before a
treatment. --from carries a log folder over into a workbook as it is.
` + exitStatusHelp

const newExample = `  runsheet new november.xlsx
  runsheet new november.xlsx --letter --locale en-US --units us
  runsheet new november.xlsx --large-print
  runsheet new november.xlsx --lang de
  runsheet new november.xlsx --from november
  runsheet new november.xlsx --clinic clinic.toml
  runsheet new november
  runsheet new session.pdf --large-print`

// newFlags are the options of a new workbook.
type newFlags struct {
	letter     bool
	largePrint bool
	short      bool
	locale     string
	from       string
	units      string
	clinic     string
	lang       string
}

func newNewCmd(io streams) *cobra.Command {
	var flags newFlags
	cmd := &cobra.Command{
		Use:     "new DIR|FILE.xlsx|FILE.pdf|FILE.json",
		Short:   "Write an empty log to fill in",
		Long:    newHelp,
		Example: newExample,
		Args:    exactly(1, "the name of one new folder, workbook or form"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runNew(cmd.Context(), args[0], flags, io)
		},
	}
	cmd.Flags().BoolVar(&flags.letter, "letter", false, "lay a workbook or form out for US Letter paper instead of A4")
	cmd.Flags().BoolVar(&flags.largePrint, "large-print", false, "large letters in a workbook or form, with fewer columns shown at first")
	cmd.Flags().BoolVar(&flags.short, "short", false, "without what is looked at and used before a treatment")
	cmd.Flags().StringVar(&flags.locale, "locale", "", "dates and numbers of a workbook: "+strings.Join(workbook.Locales(), ", ")+" (default en-GB)")
	cmd.Flags().StringVar(&flags.units, "units", "", "us: weights in lb and body temperature in °F")
	cmd.Flags().StringVar(&flags.clinic, "clinic", "", "a file from the clinic with its numbering, zone, units and formats (see README)")
	cmd.Flags().StringVar(&flags.lang, "lang", "", "language of a workbook or form: "+strings.Join(issue.Languages(), " or ")+" (default the clinic's)")
	cmd.Flags().StringVar(&flags.from, "from", "", "fill a workbook from this log folder")
	_ = cmd.RegisterFlagCompletionFunc("locale", cobra.FixedCompletions(workbook.Locales(), cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

func runNew(ctx context.Context, path string, flags newFlags, io streams) error {
	var clinic session.Clinic
	err := interruptible(ctx, func() (err error) {
		clinic, err = flags.readClinic()
		return err
	})
	if err != nil {
		return err
	}
	language, err := parseLanguage(cmp.Or(flags.lang, clinic.Language()))
	if err != nil {
		return err
	}
	if strings.HasSuffix(strings.ToLower(path), ".pdf") {
		return newForm(path, clinic, language, flags, io)
	}
	id, err := uuid.NewRandom()
	if err != nil {
		return fmt.Errorf("making the log's id: %w", err)
	}
	if questionnaire.Named(path) {
		return newQuestionnaire(path, questionnaire.Options{LogID: id.String(), Language: language, Units: clinic.Units, Short: flags.short}, flags, io)
	}
	if strings.HasSuffix(strings.ToLower(path), ".xlsx") {
		return newWorkbook(ctx, path, workbook.Options{LogID: id.String(), Clinic: clinic, Language: language}, flags, io)
	}
	if flags != (newFlags{units: flags.units, clinic: flags.clinic, short: flags.short}) {
		return wrongUse("--letter, --large-print, --lang, --locale and --from are for workbooks and forms: give a name that ends in .xlsx or .pdf, such as %s.xlsx", path)
	}
	if err := session.WriteTemplate(path, session.TemplateOptions{LogID: id.String(), Clinic: clinic, Short: flags.short}); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "Wrote the folder %s. Open READ-ME-FIRST.txt in it, fill in, then run: runsheet check %s\n", path, quoted(path))
	return nil
}

func newForm(path string, clinic session.Clinic, language issue.Language, flags newFlags, io streams) error {
	if flags.locale != "" || flags.from != "" {
		return wrongUse("--locale and --from are for workbooks: give a name that ends in .xlsx")
	}
	opts := form.Options{Paper: pdf.A4, LargePrint: flags.largePrint, Short: flags.short, Units: clinic.Units, Language: language}
	if flags.letter {
		opts.Paper = pdf.Letter
	}
	data, err := form.Bytes(opts)
	return writeNew(path, data, err, io, "Wrote the form %s. Print the month once, and the rest once for each session.\n", path)
}

// writeNew writes a file that does not exist yet, and says so.
func writeNew(path string, data []byte, err error, io streams, said string, args ...any) error {
	if err == nil {
		_, err = output.Single(path, data, false, nil)
	}
	if err == nil {
		fmt.Fprintf(io.err, said, args...)
	}
	return err
}

// newQuestionnaire writes an empty log as a FHIR Questionnaire.
func newQuestionnaire(path string, opts questionnaire.Options, flags newFlags, io streams) error {
	if flags != (newFlags{units: flags.units, clinic: flags.clinic, short: flags.short, lang: flags.lang}) {
		return wrongUse("--letter, --large-print, --locale and --from are for workbooks and forms on paper")
	}
	data, err := questionnaire.Bytes(opts)
	return writeNew(path, data, err, io, "Wrote the FHIR Questionnaire %s. Check a QuestionnaireResponse to it like any log: runsheet check response.json\n", path)
}

// quoted is a path in the form to type in a shell.
func quoted(path string) string {
	plain := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune(`._-/\\:+,@%`, r)
	}
	if path != "" && strings.IndexFunc(path, func(r rune) bool { return !plain(r) }) < 0 {
		return path
	}
	return `"` + path + `"`
}

// readClinic reads the clinic's file; --units takes precedence.
func (f newFlags) readClinic() (clinic session.Clinic, err error) {
	if f.clinic != "" {
		data, err := os.ReadFile(f.clinic)
		if err != nil {
			return clinic, err
		}
		if clinic, err = session.ParseClinic(data); err != nil {
			return clinic, wrongUse("%s: %w", f.clinic, err)
		}
	}
	if f.units != "" {
		clinic.Units = session.Units(f.units)
	}
	if clinic.Units != "" && clinic.Units != session.USUnits {
		return clinic, wrongUse("--units %q: expected us, or leave it out for kg and °C", f.units)
	}
	return clinic, nil
}

func newWorkbook(ctx context.Context, path string, opts workbook.Options, flags newFlags, io streams) (err error) {
	if opts.Locale, err = workbook.ParseLocale(cmp.Or(flags.locale, opts.Clinic.Locale, workbook.LocaleOf(flags.lang))); err != nil {
		return usageError{err}
	}
	opts.LargePrint, opts.Short = flags.largePrint, flags.short
	if flags.letter {
		opts.Paper = workbook.Letter
	}
	if flags.from != "" {
		var grid *session.Grid
		if err := interruptible(ctx, func() (err error) {
			if grid, _, err = session.ReadGrid(os.DirFS(flags.from)); err != nil {
				return fmt.Errorf("%s: %w", flags.from, err)
			}
			return nil
		}); err != nil {
			return err
		}
		opts.Content = grid
	}
	data, err := workbook.Bytes(opts)
	return writeNew(path, data, err, io, "Wrote the workbook %s. Read its first sheet, fill in, then run: runsheet check %s\n", path, quoted(path))
}
