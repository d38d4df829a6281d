package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

const rulesHelp = `Prints every rule: what it checks, why, on whose word, and how to mend a finding.
With an id, one rule.
` + exitStatusHelp

func newRulesCmd(io streams) *cobra.Command {
	var format, lang string
	cmd := &cobra.Command{
		Use:     "rules [ID]",
		Short:   "Print every rule: what it checks, why, its source, how to mend",
		Long:    rulesHelp,
		Example: "  runsheet rules\n  runsheet rules inv-obs-6\n  runsheet rules log-date --lang de",
		Args:    cobra.MaximumNArgs(1),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			var ids []string
			for _, r := range issue.Rules() {
				ids = append(ids, r.ID+"\t"+r.What)
			}
			return ids, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(_ *cobra.Command, args []string) error {
			return runRules(args, format, lang, io)
		},
	}
	cmd.Flags().StringVar(&lang, "lang", "", "language of the rules about a log: "+strings.Join(issue.Languages(), " or "))
	cmd.Flags().StringVar(&format, "format", "text", "text, json or markdown")
	return cmd
}

func runRules(args []string, format, lang string, io streams) error {
	language, err := issue.ParseLanguage(lang)
	if err != nil {
		return wrongUse("--lang: %w", err)
	}
	rules := issue.Rules()
	if len(args) == 1 {
		rule, ok := issue.Lookup(args[0])
		if !ok {
			return wrongUse("no rule %q; 'runsheet rules' lists them all", args[0])
		}
		rules = []issue.Rule{rule}
	}
	for i := range rules {
		rules[i], _ = language.Rule(rules[i]) // rules about FHIR records are English
	}
	switch format {
	case "json":
		return report.WriteJSON(io.out, rules)
	case "markdown":
		return rulesMarkdown(io.out, rules)
	case "text":
		return rulesText(io.out, rules, language)
	default:
		return wrongUse("unknown format %q: expected text, json or markdown", format)
	}
}

func rulesText(w io.Writer, rules []issue.Rule, language issue.Language) error {
	for i, r := range rules {
		if i > 0 {
			fmt.Fprintln(w)
		}
		if _, err := fmt.Fprintf(w, "%s (%s, %s)\n", r.ID, r.Layer, r.Severity); err != nil {
			return err
		}
		for _, line := range [...][2]string{{"checks", r.What}, {"why", r.Why}, {"source", r.Source}, {"mend", r.Mend}} {
			if _, err := fmt.Fprintf(w, "  %-7s %s\n", language.Text(issue.T(line[0]))+":", line[1]); err != nil {
				return err
			}
		}
	}
	return nil
}

// rulesMarkdown is the page of all rules, one table for each layer.
func rulesMarkdown(w io.Writer, rules []issue.Rule) error {
	cell := strings.NewReplacer("|", "\\|", "\n", " ")
	layer := issue.Layer("")
	for _, r := range rules {
		if r.Layer != layer {
			layer = r.Layer
			fmt.Fprintf(w, "\n## %s\n\n| rule | severity | checks | why | source | mend |\n|---|---|---|---|---|---|\n", layer)
		}
		if _, err := fmt.Fprintf(w, "| `%s` | %s | %s | %s | %s | %s |\n", r.ID, r.Severity,
			cell.Replace(r.What), cell.Replace(r.Why), cell.Replace(r.Source), cell.Replace(r.Mend)); err != nil {
			return err
		}
	}
	return nil
}
