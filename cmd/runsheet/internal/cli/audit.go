package cli

import (
	"context"
	"fmt"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/audit"
	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/profiles"
)

const auditHelp = `Audits exported records: of one patient or of a unit, as many folders and days as
there are, for instance the work folder of receive. It answers five questions, each
by yes, no or cannot be told, and never in one word for all:

  complete    every planned session of every patient is there, or the record or the
              roster says why not
  whole       the files and resources are those of their manifests: none is missing,
              added or changed
  signed      somebody vouches for the manifests
  recomputed  every computed value follows from the inputs that it names, by method
              and version
  valid       every record keeps the rules by itself, as validate checks them

What cannot be told stands first. Without --roster nobody misses a patient of whom
nothing is there; without --from and --to nobody misses the first or the last month.

` + roster.Help + `

A week has as many sessions as the roster says, or else the prescriptions in the
records. Each day of leave, and each day before the first or after the last one asked
for, may account for one session that is not there.

--sample N draws sessions to compare with what the patient wrote, with the log cells of
each value: those whose HMAC-SHA-256 under the key --seed is smallest, taken over the
identifier of the Procedure (urn:uuid:...). Have the records sealed first, and only then
name a seed that nobody could know before: whoever knows it knows what will be drawn.
A session that was held back cannot be drawn.

A yes has its limits. Complete rests on the unit's own roster; whole and signed say that
these are the files that somebody vouches for, not that they are true. Where the log is
at hand, the strongest proof is to export it again: the same log gives the same bytes.

A manifest is signed by manifest.json.sig beside it, or by a list of manifests that
is signed (see 'runsheet sign' and 'runsheet seal'). Without --signers nobody vouches
for the key; with it a manifest without a signature is an error. Keys are judged by the
day of the audit. A list of more than the folders given is one of others that are absent.

With --receipts each export is compared with the receipt beside it, of send or receive:
was everything sent, with this content? With --server as well, each resource of the receipt
is read at the server, where it must stand in the version that the receipt names. Only
then is a server asked. A receipt is the sender's own word: no signature covers it.

Many machines can share the work: --lines writes the files, sorted by patient; any
number of programs with --shard read the lines of whole patients and write a row for
each; --merge adds the rows up. The report is the one that audit writes by itself, and
is refused while a row is missing. Give all the same --roster, --merge all of the rest.

` + auditCopyHelp + `
Nothing is written into the folders, and no link is followed.
` + exitStatusHelp

const auditExample = `  runsheet audit work --roster roster.csv --from 2025-01-01 --to 2025-12-31
  runsheet audit out --format html > audit.html
  runsheet audit work --inputs values.csv --sample 20 --seed "a line from today's paper"
  runsheet audit out --pseudonymous copy --key ../copy.key --new-key
  runsheet audit work --lines | runsheet audit --shard - > rows && runsheet audit --merge rows`

type auditFlags struct {
	daysFlags
	audit.Options
	copy           copyFlags
	format, inputs string
	all, receipts  bool
	at             sendTarget
	// The steps of an audit on many machines, at most one of them.
	lines, shard, merge bool
}

func newAuditCmd(io streams) *cobra.Command {
	var flags auditFlags
	cmd := &cobra.Command{
		Use:     "audit DIR...",
		Short:   "Audit exported records: complete, whole, signed, recomputed, valid",
		Long:    auditHelp,
		Example: auditExample,
		Args:    atLeast(1, "one or more folders of exported records"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if flags.copy.given(cmd) > 0 {
				return flags.copy.run(cmd, args, io)
			}
			return runAudit(cmd.Context(), args, flags, io)
		},
	}
	flags.daysFlags.add(cmd, "the first day", "the last day")
	f := cmd.Flags()
	f.StringVar(&flags.Roster, "roster", "", "CSV file of the unit's patients")
	f.StringVar(&flags.format, "format", "text", strings.Join(audit.Formats, ", "))
	f.BoolVar(&flags.all, "all", false, "print every week and every finding as text")
	f.StringVar(&flags.inputs, "inputs", "", "CSV file to write: each input of each computed value, for another program")
	f.IntVar(&flags.Sample, "sample", 0, "how many sessions to draw for comparison with the patient's own notes")
	f.StringVar(&flags.Seed, "seed", "", "the key of the draw")
	f.StringVar(&flags.Signers, "signers", "", "file of allowed signers, as of ssh-keygen: who may sign manifests")
	f.StringArrayVar(&flags.Seals, "seal", nil, "signed list of manifests, with its signature beside it; may be given again")
	f.BoolVar(&flags.receipts, "receipts", false, "compare each export with the receipt beside it (OUT.receipt.json): was everything sent, as it is here?")
	flags.at.addServer(cmd, "server", "with --receipts, also read at the server with this base URL what the receipts name")
	f.BoolVar(&flags.lines, "lines", false, "write the files as NDJSON, for --shard")
	f.BoolVar(&flags.shard, "shard", false, "read such lines from standard input (-), and write a row for each patient")
	f.BoolVar(&flags.merge, "merge", false, "the arguments are files of such rows")
	flags.copy.add(cmd)
	codesFlag(cmd, "map of our codes to a receiver's, as for export", func(m *profiles.CodeMap) { flags.Validate.Codes = m })
	f.IntVar(&flags.Validate.Jobs, "jobs", 0, "how many documents are checked at once (0: as many as there are processors)")
	_ = cmd.RegisterFlagCompletionFunc("format", cobra.FixedCompletions(audit.Formats, cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

func runAudit(ctx context.Context, dirs []string, flags auditFlags, io streams) error {
	_, _, err := flags.parse()
	switch {
	case err != nil:
		return err
	case !slices.Contains(audit.Formats, flags.format):
		return wrongUse("unknown format %q: expected %s", flags.format, strings.Join(audit.Formats, ", "))
	case flags.Sample < 0 || (flags.Sample > 0) != (flags.Seed != ""):
		return wrongUse("--sample N and --seed TEXT go together")
	case flags.at.to != "" && !flags.receipts:
		return wrongUse("--server goes with --receipts")
	case (flags.lines || flags.shard || flags.merge) && (flags.inputs != "" || flags.Sample > 0 || flags.receipts):
		return wrongUse("--inputs, --sample and --receipts need the records: use them without --lines, --shard and --merge")
	case flags.lines && flags.shard || flags.shard && flags.merge || flags.merge && flags.lines:
		return wrongUse("--lines, --shard and --merge are three steps: give one")
	case flags.shard && !slices.Equal(dirs, []string{"-"}):
		return wrongUse("--shard reads standard input: write audit --shard -")
	case flags.Validate.Jobs < 0:
		return wrongUse("--jobs cannot be less than 0")
	}
	flags.From, flags.To, flags.Now, flags.Program = flags.from, flags.to, time.Now(), tool.Name+" "+tool.Version
	if flags.receipts {
		s, err := newSent(&flags.at, io)
		if err != nil {
			return err
		}
		flags.Sent = s.compare
	}
	debug.SetGCPercent(gcPercentLong)
	switch {
	case flags.lines:
		return audit.Lines(dirs, io.out, flags.Options)
	case flags.shard:
		return audit.Shard(ctx, io.in, io.out, flags.Options)
	}
	var inputs *output.File
	if flags.inputs != "" {
		if inputs, err = output.NewFile(flags.inputs, false, nil); err != nil {
			return err
		}
		defer inputs.Close()
		flags.Inputs = inputs
	}
	var found *audit.Report
	if flags.merge {
		found, err = audit.Merge(dirs, flags.Options)
	} else {
		found, err = audit.Run(ctx, dirs, flags.Options)
	}
	if err == nil && inputs != nil {
		_, err = inputs.Commit()
	}
	if err == nil {
		err = found.Print(io.out, flags.format, flags.all)
	}
	if err != nil {
		return err
	}
	if flags.format != "text" {
		for _, v := range found.Verdicts {
			fmt.Fprintf(io.err, "%s: %s\n", v.Question, v.Answer)
		}
	}
	if found.HasErrors() {
		return errFindings
	}
	return nil
}
