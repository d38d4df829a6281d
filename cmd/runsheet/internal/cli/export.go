package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/cmd/runsheet/internal/visit"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

const exportHelp = `Writes a log as FHIR R4: one transaction Bundle for each session in a folder, with
a manifest that names the log cell of every resource. Sending a Bundle twice
changes nothing: each resource is created only if the server has none with its
identifier.

Every Bundle is validated before anything is written. A session with an error is
left out and listed; the others are written, and the exit code is 3.

The same log gives the same bytes. Nothing leaves this computer.
` + exitStatusHelp

const exportExample = `  runsheet export november -o out
  runsheet export november -o out --report
  runsheet export november -o november.json
  runsheet export november -o bulk --as ndjson --patient Patient/123
  runsheet export november -o november.json --as document
  runsheet export november -o messages --as hl7v2
  runsheet export november -o november.zip.age --encrypt-to age1...`

type exportFlags struct {
	findingFlags
	mapFlags
	out, as string
	daysFlags
	form      export.Form // derived from as and out
	force     bool
	pretty    bool
	report    bool
	encryptTo []string
	mappingFlags
}

func newExportCmd(io streams) *cobra.Command {
	var flags exportFlags
	cmd := &cobra.Command{
		Use:     "export LOG -o OUT",
		Short:   "Write a log as FHIR R4 Bundles, checked",
		Long:    exportHelp,
		Example: exportExample,
		Args:    exactly(1, "one log folder or workbook"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runExport(cmd.Context(), args[0], flags, io)
		},
	}
	flags.findingFlags.add(cmd)
	flags.mapFlags.add(cmd)
	flags.mappingFlags.add(cmd)
	f := cmd.Flags()
	f.StringVarP(&flags.out, "output", "o", "", "folder to write, a .json file for one collection Bundle, an .age file with --encrypt-to, or - for standard output")
	f.StringVar(&flags.as, "as", "", "sessions (one transaction Bundle each), collection (one Bundle), document (one Bundle to read, for portals), ndjson (bulk import) or hl7v2 (messages ORU^R01, without the framing of MLLP)")
	f.StringArrayVar(&flags.encryptTo, "encrypt-to", nil, "write one file encrypted for this public key (age1..., or a file of such keys)")
	f.BoolVar(&flags.force, "force", false, "replace an older export")
	flags.daysFlags.add(cmd, "first day of the sessions to write, such as 2025-11-01; earlier ones still count for what is computed", "last day of the sessions to write")
	f.BoolVar(&flags.report, "report", false, fmt.Sprintf("add the report for a visit, of the days asked for or else of the last %d weeks", visit.DefaultWeeks))
	f.BoolVar(&flags.pretty, "pretty", false, "indent the JSON for reading")
	f.StringVar(&flags.mapping.Patient, "patient", "", "the patient's reference at the receiver, such as Patient/123")
	return cmd
}

// settle completes the flags and refuses contradictions before any work.
func (f *exportFlags) settle() error {
	if err := f.findingFlags.check(); err != nil {
		return err
	}
	if f.out == "" {
		return wrongUse("export needs a place to write to: -o FOLDER")
	}
	if f.report && f.mapping.NoComputed {
		return wrongUse("--report shows computed values, and --no-computed leaves them out: choose one")
	}
	if err := f.settleForm(); err != nil {
		return err
	}
	if f.mapping.AttachLog && (f.form == export.HL7v2 || f.from != "" || f.to != "") {
		return wrongUse("--attach-log adds the whole log as FHIR: it goes with neither --as hl7v2 nor --from or --to")
	}
	f.mapping.LogicalPatient = f.form.OneBundle()
	if f.form == export.NDJSON {
		f.mapping.References = fhirmap.ByTypeID
	}
	if f.form == export.NDJSON && f.mapping.Patient == "" && !f.mapping.CreatePatient {
		return wrongUse("references by Type/id need the patient's id at the receiver: --patient Patient/ID, or --create-patient")
	}
	if err := f.mapping.Check(); err != nil {
		return usageError{err}
	}
	if p := f.mapping.Patient; p != "" && !patientReference(p) {
		return wrongUse("--patient %q: expected Patient/ID", p)
	}
	return nil
}

func patientReference(s string) bool {
	id, ok := strings.CutPrefix(s, "Patient/")
	return ok && server.IsID(id)
}

func runExport(ctx context.Context, path string, flags exportFlags, io streams) error {
	if err := flags.settle(); err != nil {
		return err
	}
	to, err := recipients(flags.encryptTo)
	if err != nil {
		return err
	}
	log, findings, err := flags.readLog(ctx, path)
	if err != nil {
		return err
	}
	if log.About.Local && (len(flags.encryptTo) > 0 || flags.form == export.NDJSON || flags.form == export.HL7v2 || flags.mapping.Patient != "" || flags.mapping.CreatePatient) {
		return wrongUse("%s cannot be exported for a receiver: %w", path, deliver.ErrForOneself)
	}
	opts := export.Options{
		Mapping: flags.mapping, Form: flags.form, Pretty: flags.pretty,
		Out: flags.out, Force: flags.force, Recipients: to,
	}
	if opts.From, opts.To, err = flags.daysFlags.parse(); err != nil {
		return err
	}
	if flags.report {
		opts.Report = pageOf(visit.Options{From: opts.From, To: opts.To, NoNotes: flags.mapping.NoNotes})
	}
	if flags.out == "-" {
		opts.Out, opts.Stdout = "", raw(io.out)
	}
	write := func() (written export.Result, err error) {
		written, findings, err = export.Write(ctx, log, findings, opts)
		return written, err
	}
	if flags.form == export.HL7v2 {
		inner := write
		write = func() (export.Result, error) { return exportMessages(log, &opts, inner) }
	}
	written, err := write()
	if err != nil {
		return err
	}
	if err := flags.print(io.err, export.InSheetOrder(path, findings), ifNone(findings, path), nil); err != nil {
		return err
	}
	if written.Sessions == 0 {
		closingLine(io.err, log.Tally, flags.language, flags.all)
		fmt.Fprintln(io.err, "Nothing was written: no session is ready.")
		if flags.verdict(findings) == nil {
			return fmt.Errorf("%s: the log has no session to write", path)
		}
		return errFindings
	}
	exportSummary(io, log, written, flags)
	closingLine(io.err, log.Tally, flags.language, flags.all)
	return flags.verdict(findings)
}

func exportSummary(io streams, log *session.Log, written export.Result, flags exportFlags) {
	place := flags.out
	if place == "-" {
		place = "standard output"
	}
	if written.Outcome == output.Unchanged {
		fmt.Fprintf(io.err, "Nothing has changed: %s of your %s stand in %s already, with the same bytes.\n", issue.Plural(written.Sessions, "session", "sessions"), period(log), place)
	} else {
		fmt.Fprintf(io.err, "Wrote %s of your %s to %s.\n", issue.Plural(written.Sessions, "session", "sessions"), period(log), place)
	}
	if written.LeftOut > 0 {
		fmt.Fprintf(io.err, "Left out %s with mistakes; mend them and export again.\n", issue.Plural(written.LeftOut, "session", "sessions"))
	}
	if codes := flags.mapping.Map; codes != nil && codes.Inexact > 0 {
		fmt.Fprintf(io.err, "%s of %s not written: only one that is equal or equivalent is.\n", issue.Plural(codes.Inexact, "target", "targets"), codes.Name)
	}
	if log.About.Local {
		fmt.Fprintln(io.err, "This export is for yourself: the log does not say whose it is, so it cannot be sent.")
	}
	fmt.Fprintln(io.err, "Values were entered by the patient and calculated by software, not verified by a clinician; not for changing treatment.")
}
