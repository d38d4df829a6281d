package cli

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
)

const sendHelp = `Sends an export to a FHIR R4 server, each resource once. Without --yes nothing is
sent: the server is asked what it has, and a table says what would be created.

What the server can do is read first (its CapabilityStatement) and the form of
sending proposed from it:
  transaction  each session whole or not at all, on the condition of its identifiers
  batch        many resources at once, what others refer to first
  single       one resource at a time, on the condition of its identifier
  put          one resource at a time, under our own ids

What the server has taken is kept in a receipt file. Run the same command again
after an interruption: it goes on where it stopped, and nothing stands there
twice. Keep the receipt: 'runsheet amend' needs it to correct what was sent. It
holds no value, but the days of the sessions and the patient's id at the server.
A resource or two of it are read each time, so that a server that was emptied is
noticed; --verify reads all of them, and lists what is missing or was changed.

The patient is never created unless the export was made with --create-patient.
Without --patient it is looked for by the identifier in the log.

Records go over https, or over http to this computer only. A token is read from
the file named with --token-file, or from RUNSHEET_TOKEN; or --client-id and
--key-file get one (SMART Backend Services). No secret is ever an argument, and
nothing of the patient is written to a log.
` + exitStatusHelp

const sendExample = `  runsheet send out --to https://fhir.example/r4
  runsheet send out --to https://fhir.example/r4 --token-file token --yes`

// sendTarget are the flags of every command that speaks to a server.
type sendTarget struct {
	to, style, patient, receipt string
	maxEntries                  int
	tokenFile                   string
	clientID, keyFile, keyID    string
	scope                       string
	timeout                     time.Duration
	yes, dryRun                 bool
	otherOptions, verify        bool
}

func (t *sendTarget) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&t.to, "to", "", "base URL of the FHIR server")
	f.BoolVar(&t.yes, "yes", false, "really send; without it, only say what would be sent")
	f.BoolVar(&t.dryRun, "dry-run", false, "only say what would be sent (this is so without --yes)")
	f.StringVar(&t.style, "style", "auto", "auto, transaction, batch, put or single")
	f.IntVar(&t.maxEntries, "max-entries", 0, "the most resources in one request (0: a whole session)")
	f.StringVar(&t.patient, "patient", "", "the patient's reference at the server, such as Patient/123")
	f.StringVar(&t.tokenFile, "token-file", "", "file with the bearer token (else RUNSHEET_TOKEN)")
	f.StringVar(&t.clientID, "client-id", "", "client id for SMART Backend Services")
	f.StringVar(&t.keyFile, "key-file", "", "private key of the client: a JWK or PEM file, P-384 or RSA")
	f.StringVar(&t.keyID, "key-id", "", "the key's id at the server, where the file does not hold it")
	f.StringVar(&t.scope, "scope", "", "scopes to ask for, where the usual ones do not fit")
	f.DurationVar(&t.timeout, "timeout", 0, "longest wait for one answer (usually 2m)")
	f.BoolVar(&t.otherOptions, "other-options", false, "go on though the record was exported with other options, or for another patient")
	_ = cmd.RegisterFlagCompletionFunc("style", cobra.FixedCompletions([]string{"auto", "transaction", "batch", "put", "single"}, cobra.ShellCompDirectiveNoFileComp))
}

// check refuses contradictions before any work.
func (t *sendTarget) check() (server.Target, deliver.Style, error) {
	var none server.Target
	switch {
	case t.to == "":
		return none, "", wrongUse("a server is needed: --to https://HOST/PATH")
	case t.yes && t.dryRun:
		return none, "", wrongUse("--yes and --dry-run exclude each other")
	case t.yes && t.verify:
		return none, "", wrongUse("--verify sends nothing: leave --yes out")
	case t.maxEntries < 0:
		return none, "", wrongUse("--max-entries cannot be less than 0")
	case t.patient != "" && !patientReference(t.patient):
		return none, "", wrongUse("--patient %q: expected Patient/ID", t.patient)
	case (t.clientID == "") != (t.keyFile == ""):
		return none, "", wrongUse("--client-id and --key-file go together")
	case t.clientID != "" && t.tokenFile != "":
		return none, "", wrongUse("either a token, or a client id and a key")
	}
	style, err := deliver.ParseStyle(t.style)
	if err != nil {
		return none, "", usageError{err}
	}
	target, err := server.ParseTarget(t.to)
	if err != nil {
		return none, "", usageError{err}
	}
	return target, style, nil
}

// tokenVariable is the environment variable that may hold a bearer token.
const tokenVariable = "RUNSHEET_TOKEN"

func (t *sendTarget) authorizer(target server.Target) (server.Authorizer, error) {
	switch token := os.Getenv(tokenVariable); {
	case t.clientID != "":
		backend, err := server.NewBackend(target, t.clientID, t.keyFile, t.keyID, userAgent)
		if err != nil {
			return nil, err
		}
		backend.Scope = t.scope
		return backend, nil
	case t.tokenFile != "":
		return &server.TokenFile{Path: t.tokenFile}, nil
	case token != "":
		return server.FixedToken(token), nil
	default:
		return nil, nil
	}
}

const userAgent = "runsheet/" + Version

// sender asks the server what it can do and makes ready to send.
func (t *sendTarget) sender(ctx context.Context, target server.Target, style deliver.Style, r *receipt.Receipt, io streams) (*deliver.Sender, *server.Client, error) {
	auth, err := t.authorizer(target)
	if err != nil {
		return nil, nil, err
	}
	note := func(text string) { fmt.Fprintln(io.err, text) }
	client := server.NewClient(target, server.Options{Auth: auth, Timeout: t.timeout, UserAgent: userAgent, Note: note})
	s, err := deliver.NewSender(ctx, client, r, deliver.Options{
		Style: style, MaxEntries: t.maxEntries, Patient: t.patient, Note: note, Progress: progress(io),
	})
	return s, client, err
}

// progress shows how far it is, on a terminal only.
func progress(io streams) func(done, of int) {
	if !isTerminal(io.err) {
		return nil
	}
	return func(done, of int) {
		fmt.Fprintf(io.err, "\r%d of %d sessions", done, of)
		if done == of {
			fmt.Fprint(io.err, "\r\033[K")
		}
	}
}

func newSendCmd(io streams) *cobra.Command {
	var flags sendTarget
	cmd := &cobra.Command{
		Use:     "send OUT --to URL",
		Short:   "Send an export to a FHIR server, each resource once",
		Long:    sendHelp,
		Example: sendExample,
		Args:    exactly(1, "one export folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runSend(cmd.Context(), args[0], flags, io)
		},
	}
	flags.add(cmd)
	cmd.Flags().StringVar(&flags.receipt, "receipt", "", "receipt file (usually OUT.receipt.json, beside the export)")
	cmd.Flags().BoolVar(&flags.verify, "verify", false, "send nothing, but read at the server all that the receipt names and list what is missing or changed")
	return cmd
}

func runSend(ctx context.Context, path string, flags sendTarget, io streams) error {
	debug.SetGCPercent(gcPercentSending)
	target, style, err := flags.check()
	if err != nil {
		return err
	}
	folder, err := deliver.OpenFolder(path)
	if err != nil {
		return err
	}
	if flags.receipt == "" {
		flags.receipt = strings.TrimRight(filepath.Clean(path), string(filepath.Separator)) + receiptEnding
	}
	r, release, err := flags.openReceipt(target, folder.LogID, io)
	if err != nil {
		return err
	}
	defer release()
	if err := goesWith(folder, r, flags); err != nil {
		return err
	}
	sender, client, err := flags.sender(ctx, target, style, r, io)
	if err != nil {
		return err
	}
	if flags.verify {
		return verify(ctx, folder, r, sender, io)
	}
	if !flags.yes {
		return sendPlan(ctx, folder, sender, target, io)
	}
	began := time.Now()
	err = sender.Folder(ctx, folder)
	sendSummary(io, sender.Tally(), client, time.Since(began), flags.receipt)
	if err != nil {
		return fmt.Errorf("not everything was sent: %w", err)
	}
	return nil
}

// openReceipt opens the receipt, and when something is to be sent keeps other
// senders away from it until release.
func (t *sendTarget) openReceipt(target server.Target, logID string, io streams) (r *receipt.Receipt, release func(), err error) {
	release = func() {}
	if t.yes {
		var closed func() error
		r, closed, err = receipt.Hold(t.receipt, target.String(), logID)
		release = func() {
			if err := closed(); err != nil {
				fmt.Fprintf(io.err, "runsheet: %v; it is true all the same\n", err)
			}
		}
	} else {
		r, err = receipt.Open(t.receipt, target.String(), logID)
	}
	if err == nil && r.CutOff() {
		fmt.Fprintln(io.err, "The receipt's last line was cut off when the program was stopped: what it would have said is looked for at the server.")
	}
	return r, release, err
}

// goesWith refuses an export that does not go with what was sent before.
func goesWith(folder *deliver.Folder, r *receipt.Receipt, flags sendTarget) error {
	exported, err := fhirmap.ParseManifestOptions(folder.Options)
	if err != nil {
		return fmt.Errorf("%s: %w", folder.Path, err)
	}
	if r.HasSessions() {
		if err := sameOptions(r, folder, flags.otherOptions); err != nil {
			return err
		}
	}
	patient := flags.patient
	if patient == "" && exported != nil {
		patient = exported.Patient
	}
	if err := samePatient(r, patient, flags.otherOptions); err != nil {
		return err
	}
	if exported != nil {
		r.Options = folder.Options
	}
	return nil
}
