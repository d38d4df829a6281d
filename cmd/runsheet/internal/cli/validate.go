package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

const validateHelp = `Checks FHIR R4 JSON: files, folders, NDJSON, or - for standard input. Layers: bytes,
structure, invariants, references and Bundle rules, units, codes, clinical limits
and arithmetic, recomputation of computed values, provenance, and the month as a
whole. Beside a manifest.json each finding also names the log cell it came from.

"No finding" means that none of the checks found anything; what was not checked is
listed. It says nothing about the treatment.
` + exitStatusHelp

const validateExample = `  runsheet validate out
  runsheet validate out --format outcome
  cat bundle.json | runsheet validate -`

func newValidateCmd(io streams) *cobra.Command {
	var flags findingFlags
	var noSchema bool
	var opts validate.Options
	cmd := &cobra.Command{
		Use:     "validate PATH...",
		Short:   "Check FHIR R4 JSON: structure, rules, units, codes, arithmetic",
		Long:    validateHelp,
		Example: validateExample,
		Args:    atLeast(1, "one or more files or folders, or -"),
		RunE: func(cmd *cobra.Command, args []string) error {
			opts.Schema = !noSchema
			return runValidate(cmd, args, opts, flags, io)
		},
	}
	flags.add(cmd)
	cmd.Flags().BoolVar(&noSchema, "no-schema", false, "leave out the published JSON Schema, the slower second engine")
	cmd.Flags().StringVar(&opts.Manifest, "manifest", "", "the month's manifest.json, if it is not beside the files")
	return cmd
}

func runValidate(cmd *cobra.Command, args []string, opts validate.Options, flags findingFlags, io streams) error {
	if err := flags.check(); err != nil {
		return err
	}
	found, err := validate.Paths(cmd.Context(), args, io.in, opts)
	if err != nil {
		return err
	}
	if err := flags.print(io.out, found.Findings, found.NotChecked); err != nil {
		return err
	}
	if flags.format == "text" {
		errors, warnings, information := issue.Count(found.Findings)
		fmt.Fprintf(io.err, "%s, %s: %s, %s, %d for information.\n",
			plural(found.Files, "file", "files"), plural(found.Resources, "resource", "resources"),
			plural(errors, "error", "errors"), plural(warnings, "warning", "warnings"), information)
	}
	if found.HasErrors() {
		return errFindings
	}
	return flags.verdict(found.Findings)
}
