package cli

import (
	"fmt"
	"runtime/debug"

	"github.com/spf13/cobra"

	"runsheet.example/profiles"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

const validateHelp = `Checks FHIR R4 JSON: files, folders, NDJSON, or - for standard input. Layers: bytes,
structure, invariants, profiles, references and Bundle rules, units, codes, clinical
limits and arithmetic, recomputation of computed values, provenance, and the month as
a whole. Beside a manifest.json each finding also names the log cell it came from.

Resources are held against the profiles they claim in meta.profile, as far as those
are known: ours, those of R4, and what is in a --package. With --profile they are held
against a profile they do not claim. Value sets are expanded without a server; what
could not be checked so is listed.

With --accept FILE findings are accepted until a day: they are listed and counted as
accepted and do not decide about the exit status. FILE is TOML, for instance

  format = 1
  [[accept]]
  rule = "clin-record-unusual"
  record = "Observation/w1"         # or fullUrl, or file; left out: any
  path = "Bundle.entry[*].resource" # as shown at "at"; left out: any
  reason = "confirmed by telephone"
  until = 2026-03-31                # the last day on which it accepts
  by = "J. Doe, unit informatics"

An entry that has expired accepts nothing; it is reported, as is one that matches
no finding.

"No finding" means that none of the checks found anything; what was not checked is
listed. It says nothing about the treatment.

Any amount is checked in the same memory, on all processors or as many as --jobs
says; the output is the same for any number. What there is no room for, to look for
records that stand twice, goes to a temporary file (in TMPDIR) that is gone at the
end: hashes, places and record identifiers.
` + exitStatusHelp

const validateExample = `  runsheet validate out
  runsheet validate out --format outcome
  runsheet validate exports --schema
  runsheet validate out --package guide.tgz --profile https://clinic.example/fhir/StructureDefinition/session
  cat bundle.json | runsheet validate -`

func newValidateCmd(io streams) *cobra.Command {
	var flags findingFlags
	var packages []string
	var accepted acceptFlags
	var opts validate.Options
	cmd := &cobra.Command{
		Use:     "validate PATH...",
		Short:   "Check FHIR R4 JSON: structure, rules, units, codes, arithmetic",
		Long:    validateHelp,
		Example: validateExample,
		Args:    atLeast(1, "one or more files or folders, or -"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := withProfiles(&opts, packages); err != nil {
				return err
			}
			if err := accepted.read(&opts); err != nil {
				return err
			}
			return runValidate(cmd, args, opts, flags, io)
		},
	}
	flags.add(cmd)
	cmd.Flags().BoolVar(&opts.Schema, "schema", false, "ask the JSON Schema published with R4 as well, a second opinion on structure from another engine; slower")
	cmd.Flags().StringVar(&opts.Manifest, "manifest", "", "the month's manifest.json, if it is not beside the files")
	cmd.Flags().StringArrayVar(&packages, "package", nil, "a FHIR package (.tgz) to find profiles in; may be given again")
	cmd.Flags().StringArrayVar(&opts.Profiles, "profile", nil, "URL of a profile to hold resources of its type against, claimed or not, as URL or URL|VERSION; may be given again")
	cmd.Flags().BoolVar(&opts.MustSupport, "must-support", false, "also list the must-support elements that are absent")
	codesFlag(cmd, "map of our codes to a receiver's, as for export: its codes are known, and each must stand beside ours", func(m *profiles.CodeMap) { opts.Codes = m })
	accepted.add(cmd)
	cmd.Flags().IntVar(&opts.Jobs, "jobs", 0, "how many documents are checked at once (0: as many as there are processors)")
	return cmd
}

func runValidate(cmd *cobra.Command, args []string, opts validate.Options, flags findingFlags, io streams) error {
	if err := flags.check(); err != nil {
		return err
	}
	if opts.Jobs < 0 {
		return wrongUse("--jobs cannot be less than 0")
	}
	debug.SetGCPercent(gcPercentLong)
	opts.ListFiles = flags.format == string(report.JUnit)
	opts.Watch = io.progress().checked(args)
	found, err := validate.Paths(cmd.Context(), args, io.in, opts)
	if err != nil {
		return err
	}
	if err := flags.print(io.out, found.Findings, found.FileNames, found.NotChecked); err != nil {
		return err
	}
	if flags.format == "text" {
		if len(found.Findings)+len(found.NotChecked) > 0 {
			fmt.Fprintln(io.err) // in addition to the findings above
		}
		validateSummary(io, found)
	}
	by, _ := bySeverity(found)
	if found.HasErrors() || flags.strict && by[issue.Warning] > 0 {
		return errFindings
	}
	return nil
}

// bySeverity counts findings by severity, accepted ones separately, including
// those that were not kept.
func bySeverity(found *validate.Report) (by [3]int, accepted int) {
	for _, c := range found.Counts {
		if c.Accepted {
			accepted += c.N
		} else {
			by[c.Severity] += c.N
		}
	}
	return by, accepted
}

// validateSummary describes the input read and the findings.
func validateSummary(io streams, found *validate.Report) {
	by, accepted := bySeverity(found)
	apart := ""
	if accepted > 0 {
		apart = fmt.Sprintf("; %d accepted", accepted)
	}
	fmt.Fprintf(io.err, "%s, %s: %s, %s, %d for information%s.\n",
		issue.Plural(found.Files, "file", "files"), issue.Plural(found.Resources, "resource", "resources"),
		issue.Plural(by[issue.Error], "error", "errors"), issue.Plural(by[issue.Warning], "warning", "warnings"), by[issue.Information], apart)
	if found.Dropped > 0 {
		fmt.Fprintf(io.err, "Of these, %d were counted and not kept; errors are kept before all others.\n", found.Dropped)
	}
}
