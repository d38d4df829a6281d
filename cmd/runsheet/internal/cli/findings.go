package cli

import (
	"io"
	"os"
	"slices"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// findingFlags are the flags of every command that prints findings.
type findingFlags struct {
	format string
	all    bool
	strict bool
	least  string // severity
	// language is set by commands whose output is for the person who keeps a
	// log.
	language issue.Language
}

func (f *findingFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.format, "format", "text", "how findings are printed: text, json, outcome (FHIR OperationOutcome), csv or junit (for pipelines, without values)")
	cmd.Flags().BoolVar(&f.all, "all", false, "print every finding, not just the first of each kind")
	cmd.Flags().StringVar(&f.least, "min-severity", "information", "print only findings of this severity or a worse one: information, warning or error; all are counted")
	cmd.Flags().BoolVar(&f.strict, "strict", false, "exit 3 for warnings too")
	_ = cmd.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(report.Formats(), cobra.ShellCompDirectiveNoFileComp))
}

// print writes the findings about documents; the list need not include
// documents that findings name.
func (f *findingFlags) print(w io.Writer, findings []issue.Finding, documents, notChecked []string) error {
	format, err := report.ParseFormat(f.format)
	if err != nil {
		return usageError{err}
	}
	var least issue.Severity
	_ = least.UnmarshalText([]byte(f.least)) // checked before any work
	if least > issue.Information {
		findings = slices.DeleteFunc(slices.Clone(findings), func(one issue.Finding) bool { return one.Severity < least })
	}
	if format == report.Text {
		w = raw(w) // it escapes its texts, and may colour them
	}
	return report.Print(w, format, findings, report.Options{
		All: f.all, Colour: colour(w), Documents: documents, NotChecked: notChecked, Strict: f.strict, Language: f.language,
	})
}

// ifNone is the name of the log for findings without a place.
func ifNone(findings []issue.Finding, path string) []string {
	if len(findings) > 0 {
		return nil
	}
	return []string{path}
}

// check refuses an unknown format or severity before any work is done.
func (f *findingFlags) check() error {
	if _, err := report.ParseFormat(f.format); err != nil {
		return usageError{err}
	}
	if err := new(issue.Severity).UnmarshalText([]byte(f.least)); err != nil {
		return wrongUse("--min-severity: %w", err)
	}
	return nil
}

// parseLanguage reads the value of --lang.
func parseLanguage(name string) (issue.Language, error) {
	language, err := issue.ParseLanguage(name)
	if err != nil {
		err = wrongUse("--lang: %w", err)
	}
	return language, err
}

// verdict is errFindings if the findings require exit code 3.
func (f *findingFlags) verdict(findings []issue.Finding) error {
	errors, warnings, _ := issue.Count(findings)
	if errors > 0 || f.strict && warnings > 0 {
		return errFindings
	}
	return nil
}

// colour reports whether w is a terminal that supports colour. Colour never
// carries meaning alone.
func colour(w io.Writer) bool {
	if _, no := os.LookupEnv("NO_COLOR"); no {
		return false
	}
	return isTerminal(w)
}

// isTerminal reports whether w is a terminal that obeys escape sequences.
func isTerminal(w io.Writer) bool {
	file, ok := raw(w).(*os.File)
	return ok && term.IsTerminal(int(file.Fd())) && takesEscapes(file)
}
