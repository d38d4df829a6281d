package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime/debug"
	"slices"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/cmd/runsheet/internal/visit"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

const amendHelp = `Compares a log with the receipt of what a server has of it, and sends exactly the
difference: what is new is created; what was corrected replaces the version
before, on the condition that nobody else changed it; what is gone from the log is
marked as entered in error, never deleted. A Provenance for each session says so.
A new version is "corrected" where a value was wrong, else "amended": by new
information, or by another version of the method by which it was computed.

Without --yes nothing is sent: a table says what would be, with exit status 3, or
0 where that is asked for with --dry-run. If nothing changed, nothing is sent.
What somebody else changed at the server since stays as it is, and so does all
that is derived from it: both are shown, with exit status 3. The options of the
export (such as --no-notes) are taken from the receipt, or from the manifest of the export beside it; one that is given and
contradicts is an error, since all it leaves out would count as a change.

With --as hl7v2 the difference to the messages of 'runsheet export --as hl7v2' is
written as messages into a new folder: each repeats its session, with C for a
value that was corrected and D for one that is withdrawn. Nothing is sent.

Where a standing order chose what was sent, --order is needed here too: of what is
new, only what it asks for is created. What the server has is corrected and
withdrawn all the same, whatever the order covers now.

A session that has mistakes now stays at the server as it is, until they are
mended. If more than half of the record would change, --many must say that it is
meant.
` + exitStatusHelp

const amendExample = `  runsheet amend november --receipts out.receipt.json --to https://fhir.example/r4
  runsheet amend november --receipts out.receipt.json --to https://fhir.example/r4 --reason "scales read wrongly" --yes
  runsheet amend november --as hl7v2 --receipts out.receipt.json -o corrections`

type amendFlags struct {
	sendTarget
	mapFlags
	findings findingFlags
	reason   string
	many     bool
	as, out  string
	mappingFlags
	// given reports whether a flag is set.
	given func(flag string) bool
}

func newAmendCmd(io streams) *cobra.Command {
	var flags amendFlags
	cmd := &cobra.Command{
		Use:     "amend LOG --receipts FILE --to URL",
		Short:   "Send what has changed in a log since it was sent",
		Long:    amendHelp,
		Example: amendExample,
		Args:    exactly(1, "one log"),
		RunE: func(cmd *cobra.Command, args []string) error {
			flags.given = cmd.Flags().Changed
			if flags.messages() {
				return amendMessages(cmd.Context(), args[0], flags, io)
			}
			return runAmend(cmd.Context(), args[0], flags, io)
		},
	}
	flags.sendTarget.add(cmd)
	flags.mapFlags.add(cmd)
	flags.mappingFlags.add(cmd)
	flags.findings.add(cmd)
	flags.addOrder(cmd)
	f := cmd.Flags()
	f.StringVar(&flags.receipt, "receipts", "", "receipt file that 'runsheet send' wrote")
	f.StringVar(&flags.reason, "reason", "", "why the log was changed; goes into the record")
	f.StringVar(&flags.as, "as", "", "hl7v2 writes the difference as HL7 v2 messages and sends nothing")
	f.StringVarP(&flags.out, "output", "o", "", "new folder to write messages to, with --as hl7v2")
	f.BoolVar(&flags.many, "many", false, "go on though more than half of the record would change")
	return cmd
}

// messages reports whether the difference is written as messages.
func (f *amendFlags) messages() bool { return f.as == string(export.HL7v2) }

func (f *amendFlags) settle() (server.Target, deliver.Style, error) {
	if f.as != "" || f.out != "" {
		return server.Target{}, "", wrongUse("amend sends, or writes a folder with --as hl7v2 -o OUT")
	}
	target, style, err := f.sendTarget.check()
	if err != nil {
		return target, style, err
	}
	if f.receipt == "" {
		return target, style, wrongUse("amend needs the receipt that 'runsheet send' wrote: --receipts FILE")
	}
	return target, style, f.findings.check()
}

// settleOptions decides the options for mapping the log.
func (f *amendFlags) settleOptions(r *receipt.Receipt, io streams) error {
	recorded, err := deliver.ExportedWith(r, f.receipt)
	if err != nil {
		return err
	}
	if recorded == nil {
		fmt.Fprintln(io.err, "Neither the receipt nor an export beside it says with which options the record was exported: give the same ones here (such as --no-notes).")
	}
	f.mapping.Options, err = deliver.Follow(r, recorded, f.mapping.Recorded(), f.given, f.patient, f.otherOptions)
	if err != nil {
		return err
	}
	if err := f.mapping.Check(); err != nil {
		return usageError{err}
	}
	r.Options, err = json.Marshal(f.mapping.Options)
	return err
}

func runAmend(ctx context.Context, path string, flags amendFlags, io streams) error {
	debug.SetGCPercent(gcPercentLong)
	target, style, err := flags.settle()
	if err != nil {
		return err
	}
	if _, err := os.Stat(flags.receipt); errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: there is no such receipt; 'runsheet send' writes one", flags.receipt)
	}
	r, release, err := flags.openReceipt(target, "", io)
	if err != nil {
		return err
	}
	defer release()
	if err := flags.settleOptions(r, io); err != nil {
		return err
	}
	changed, err := planAmendment(ctx, path, &flags, r, func() (*deliver.Sender, error) {
		sender, _, err := flags.sender(ctx, target, style, r, io)
		return sender, err
	}, io)
	if err != nil {
		return err
	}
	plan, findings := changed.plan, changed.findings
	switch {
	case plan.Empty() && !flags.yes:
		fmt.Fprintln(io.err, "Nothing has changed: by the receipt the server has what the log says.")
		return flags.findings.verdict(findings)
	case plan.Doubt() != nil && !flags.many:
		return plan.Doubt()
	case !flags.yes:
		fmt.Fprintln(io.err, "Nothing was sent. Add --yes to send.")
		if flags.dryRun {
			return flags.findings.verdict(findings)
		}
		return errIncomplete
	}
	if err := amend(ctx, plan, changed.opts, r, flags, target, style, io); err != nil {
		return err
	}
	return flags.findings.verdict(findings)
}

// amendment is the difference between a log and a receipt.
type amendment struct {
	log      *session.Log
	plan     deliver.Plan
	opts     deliver.AmendOptions
	findings []issue.Finding
}

// planAmendment reads a log, compares it with a receipt and prints the
// difference.
func planAmendment(ctx context.Context, path string, flags *amendFlags, r *receipt.Receipt, sender func() (*deliver.Sender, error), io streams) (out amendment, err error) {
	reports := deliver.Reports(r)
	flags.types = deliver.BesideTypes(nil, r)
	var month *fhirmap.Month
	out.log, month, out.findings, err = readMonth(ctx, path, *flags, reports)
	if err != nil {
		return out, err
	}
	if out.log.About.LogID != r.LogID {
		return out, fmt.Errorf("%s is the receipt of another log", flags.receipt)
	}
	if err := flags.findings.print(io.err, onlyErrors(out.findings), nil, nil); err != nil {
		return out, err
	}
	sessions, leftOut, err := deliver.SessionsOf(month)
	if err != nil {
		return out, err
	}
	if err := deliver.Fits(r, sessions...); err != nil {
		return out, err
	}
	if err := flags.narrow(ctx, r, sender, func(o deliver.Order, patient string) (unknown []string, err error) {
		sessions, unknown, err = deliver.Narrow(sessions, r, o, patient)
		return unknown, err
	}, io); err != nil {
		return out, err
	}
	out.opts = deliver.AmendOptions{
		Reason: flags.reason, Now: time.Now(), Software: deliver.Software(sessions...),
		Provenance: flags.mapping.Provenance, Tags: flags.mapping.Tags,
		Days: daysOf(out.log), Messages: flags.messages(),
	}
	out.plan = deliver.MakePlan(r, sessions, leftOut, out.opts)
	return out, printPlan(out.plan, out.opts.Messages, io)
}

func amend(ctx context.Context, plan deliver.Plan, opts deliver.AmendOptions, r *receipt.Receipt, flags amendFlags, target server.Target, style deliver.Style, io streams) error {
	sender, client, err := flags.sender(ctx, target, style, r, io)
	if err != nil {
		return err
	}
	err = sender.Amend(ctx, plan, opts)
	if err == nil {
		err = r.Save() // the options, if only they differ
	}
	if err == nil && plan.Empty() {
		fmt.Fprintln(io.err, "Nothing has changed: the server has what the log says. Nothing was sent.")
		return nil
	}
	fmt.Fprintf(io.err, "Sent: %s; %s in %s. Receipt: %s\n", amendedWords(sender.Tally()),
		issue.Plural(client.Requests(), "request", "requests"), time.Since(opts.Now).Round(10*time.Millisecond), flags.receipt)
	if said := sayNotKept(io, sender.NotKept()); said != nil {
		return said
	}
	if err != nil {
		return fmt.Errorf("not everything was sent: %w", explained(err, io))
	}
	if len(sender.NotKept()) > 0 {
		return errIncomplete
	}
	return nil
}

// daysOf are the days of the sessions in UTC, by their ids.
func daysOf(log *session.Log) map[string]time.Time {
	days := map[string]time.Time{}
	for _, s := range log.Sessions {
		if s.Date.OK() {
			y, m, d := s.Date.Time.Date()
			days[s.ID] = time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
		}
	}
	return days
}

// explained prints what somebody else changed at the server beside the value
// in the log, and what was held back because of it.
func explained(err error, io streams) error {
	var conflicts *deliver.ErrConflicts
	if !errors.As(err, &conflicts) {
		return err
	}
	w := tabwriter.NewWriter(io.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "SESSION\tLEFT AS IT IS\tRESOURCE\tWHAT\tELEMENT\tIN THE LOG\tAT THE SERVER")
	for _, c := range conflicts.Conflicts {
		state := "changed at the server"
		if c.Gone {
			state = "removed at the server"
		}
		printDifferences(w, fmt.Sprintf("%s\t%s\t%s\t%s", c.Label, state, c.Reference(), c.Role), c.Differences)
		for _, r := range c.HeldBack {
			fmt.Fprintf(w, "%s\tderived from it\t%s\t%s\n", c.Label, r.Type, r.Role)
		}
	}
	return errors.Join(err, w.Flush())
}

// readMonth reads, maps and validates a log, like an export.
func readMonth(ctx context.Context, path string, flags amendFlags, reports []fhirmap.Span) (*session.Log, *fhirmap.Month, []issue.Finding, error) {
	log, findings, err := flags.readLog(ctx, path)
	if err != nil {
		return nil, nil, nil, err
	}
	if log.About.Local {
		return nil, nil, nil, fmt.Errorf("%s cannot be sent: %w", path, deliver.ErrForOneself)
	}
	var pages []export.Page
	for _, span := range reports {
		pages = append(pages, pageOf(visit.Options{From: span.From, To: span.To, NoNotes: flags.mapping.NoNotes}))
	}
	month, findings, err := export.Month(ctx, log, findings, flags.mapping, pages...)
	return log, month, findings, err
}

func onlyErrors(findings []issue.Finding) []issue.Finding {
	var out []issue.Finding
	for _, f := range findings {
		if f.Severity == issue.Error {
			out = append(out, f)
		}
	}
	return out
}

// printPlan prints the differences, one line for each resource.
func printPlan(plan deliver.Plan, messages bool, io streams) error {
	place, verb := "at the server", "sent"
	if messages {
		place, verb = "at the receiver", "written"
	}
	for _, label := range plan.Kept {
		fmt.Fprintf(io.err, "Session %s has mistakes now and stays %s as it is.\n", label, place)
	}
	if plan.Empty() {
		return nil
	}
	w := tabwriter.NewWriter(io.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "SESSION\tCHANGE\tRESOURCE\tWHAT")
	for _, s := range plan.Sessions {
		for _, r := range append(slices.Clone(s.Shared), s.New...) {
			fmt.Fprintf(w, "%s\tcreated\t%s\t%s\n", s.Label, r.Type, r.Role)
		}
		for _, r := range s.Correct {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", s.Label, r.Kind, r.Type, r.Role)
		}
		for _, e := range s.Withdraw {
			fmt.Fprintf(w, "%s\twithdrawn\t%s\t%s\n", s.Label, e.Type, e.Role)
		}
		if s.Provenance {
			fmt.Fprintf(w, "%s\tcreated\tProvenance\tamendment\n", s.Label)
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if plan.Unfinished > 0 {
		fmt.Fprintln(io.err, "An amendment that was cut off is completed.")
	}
	fmt.Fprintf(io.err, "To be %s: %s.\n", verb, amendedWords(plan.Counts()))
	return nil
}

// amendedWords describe the result of an amendment, planned or done.
func amendedWords(t deliver.Tally) string {
	return fmt.Sprintf("%d created, %d corrected, %d amended, %d withdrawn (as entered in error)", t.Created, t.Corrected, t.Amended, t.Withdrawn)
}
