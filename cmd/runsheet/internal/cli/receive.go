package cli

import (
	"context"
	"fmt"
	"os"
	"strings"
	"time"

	"filippo.io/age"
	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/receive"
	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/validate/issue"
)

const receiveHelp = `For a unit: takes what patients sent in, in one folder and in any mix, and makes a
work folder of it: for each log an export and, where there is something to mend, a
copy with the findings to send back; for all of them one status page (status.html,
.txt, .csv, .json). The inbox stays as it is, and may be received again and again.

An inbox holds log folders, workbooks, export folders, zip files of these, and any
of them encrypted for the unit (.age, with --identity). A sheet of another shape is
a folder with map.toml and log.toml beside it; without map.toml the roster names
the map. Each is matched with the roster by the patient's number inside it, never
by a file name. What nobody on the roster has sent, what two rows or two patients
claim, an older version after a newer one, a log whose id is another patient's or
whose days another log of the patient has, is set aside with the reason.

` + roster.Help + `

The status is in the language of --lang, except the headings of its CSV file; what
goes back to a patient is in the language of their log.

With --to each patient's record is compared with its receipt, and with --yes sent
or amended, one after another; one that fails stops no other. Run it again after an
interruption.

Exit status: 0 done, 1 could not run, 2 wrong use, 3 something was set aside, left
out or not sent, or --yes is missing and there is something to send, 130 interrupted.`

const receiveExample = `  runsheet receive inbox --roster roster.csv -o work
  runsheet receive inbox --roster roster.csv -o work --identity unit-key.txt
  runsheet receive inbox --roster roster.csv -o work --to https://fhir.example/r4 --token-file token --yes`

type receiveFlags struct {
	sendTarget
	mappingFlags
	roster, out string
	lang        string
	identities  []string
}

func newReceiveCmd(io streams) *cobra.Command {
	var flags receiveFlags
	cmd := &cobra.Command{
		Use:     "receive INBOX --roster FILE -o WORK",
		Short:   "For a unit: receive what patients sent, checked and matched",
		Long:    receiveHelp,
		Example: receiveExample,
		Args:    exactly(1, "one folder of what patients sent"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runReceive(cmd.Context(), args[0], flags, io)
		},
	}
	flags.sendTarget.add(cmd)
	flags.mappingFlags.add(cmd)
	f := cmd.Flags()
	f.StringVar(&flags.roster, "roster", "", "CSV file of the unit's patients")
	f.StringVarP(&flags.out, "output", "o", "", "work folder")
	f.StringVar(&flags.lang, "lang", "", "language of the status: "+strings.Join(issue.Languages(), " or "))
	f.StringArrayVar(&flags.identities, "identity", nil, "file with a private key for .age files; may be given again")
	for _, name := range []string{"patient", "other-options"} { // of one patient
		_ = f.MarkHidden(name)
	}
	return cmd
}

func runReceive(ctx context.Context, inbox string, flags receiveFlags, io streams) error {
	switch {
	case flags.roster == "" || flags.out == "":
		return wrongUse("receive needs the unit's patients and a place to work in: --roster FILE -o WORK")
	case flags.patient != "" || flags.otherOptions:
		return wrongUse("--patient and --other-options are for one patient's record: the roster names the patient of each")
	case flags.to == "" && (flags.yes || flags.dryRun):
		return wrongUse("--yes and --dry-run are for sending: --to https://HOST/PATH")
	}
	if err := flags.mapping.Check(); err != nil {
		return usageError{err}
	}
	opts := receive.Options{Inbox: inbox, Roster: flags.roster, Work: flags.out, Mapping: flags.mapping, Now: time.Now()}
	var err error
	if opts.Language, err = parseLanguage(flags.lang); err != nil {
		return err
	}
	if opts.Identities, err = identities(flags.identities); err != nil {
		return err
	}
	if flags.to != "" {
		if opts.Server, err = flags.server(io); err != nil {
			return err
		}
	}
	boundMemory()
	status, err := receive.Run(ctx, opts)
	if err != nil {
		return err
	}
	text, err := status.Text()
	if err != nil {
		return err
	}
	_, _ = io.out.Write(text)
	fmt.Fprintln(io.err, status.T("Wrote {}/status.html, .txt, .csv and .json.", flags.out))
	return flags.verdict(status, io)
}

// verdict is the exit status, and says what --yes would do.
func (f *receiveFlags) verdict(status receive.Status, io streams) error {
	if f.to != "" && !f.yes {
		fmt.Fprintln(io.err, status.T("Nothing was sent. Add --yes to send."))
		if status.Waiting() && !f.dryRun {
			return errIncomplete
		}
	}
	if !status.Complete() {
		return errFindings
	}
	return nil
}

// server prepares to send to the server that the flags name.
func (f *receiveFlags) server(io streams) (*receive.Server, error) {
	target, style, err := f.sendTarget.check()
	if err != nil {
		return nil, err
	}
	return &receive.Server{Target: target.String(), Send: f.yes, Sender: func(ctx context.Context, r *receipt.Receipt, patient string) (*deliver.Sender, error) {
		one := f.sendTarget
		one.patient, one.types = patient, deliver.BesideTypes(nil, r)
		sender, _, err := one.sender(ctx, target, style, r, io)
		return sender, err
	}}, nil
}

// identities reads private keys for age files.
func identities(files []string) (out []age.Identity, err error) {
	for _, name := range files {
		file, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		parsed, err := age.ParseIdentities(file)
		_ = file.Close() // only read
		if err != nil {
			return nil, wrongUse("--identity %s: expected a file with a key that begins with AGE-SECRET-KEY-1", name)
		}
		out = append(out, parsed...)
	}
	return out, nil
}
