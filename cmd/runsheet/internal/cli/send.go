package cli

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/validate/issue"
)

const sendHelp = `Sends an export to a FHIR R4 server, each resource once. Without --yes nothing is
sent: the server is asked what it has, and a table says what would be created;
the exit status is then 3, or 0 where that is asked for with --dry-run.

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
A hundred resources of it are read each time, so that a server that was emptied
or put back is noticed. --verify reads all of them, compares each element with
the export, computes the derived values again from what stands there, and lists
what is missing or other; --repair sends again what is missing.

A receiver may keep only part. What it refuses of a batch, or by single answers, and
what refers to that, is listed and named in the receipt; the rest is sent, the exit
status is 3, and the next run offers again what is missing. A transaction is kept
whole or not at all.

A receipt is of one patient, whose identifier it holds as a digest only. Another
patient's record, or the same log after its identifier was corrected, is refused;
--refile withdraws what was filed under the earlier patient and files the record
under the one the log names now. Before anything is written the patient at the
server is read, who must have the log's identifier.

The patient is never created unless the export was made with --create-patient.
Without --patient it is looked for by the identifier in the log.

Records go over https, or over http to this computer only. A token is read from
the file named with --token-file, or from RUNSHEET_TOKEN; or --client-id and
--key-file get one (SMART Backend Services). No secret is ever an argument, and
nothing of the patient is written to a log.
` + exitStatusHelp

const sendExample = `  runsheet send out --to https://fhir.example/r4
  runsheet send out --to https://fhir.example/r4 --token-file token --yes`

// sendTarget are the flags of every command that contacts a server.
type sendTarget struct {
	to, style, patient, receipt string
	maxEntries                  int
	tokenFile                   string
	clientID, keyFile, keyID    string
	scope                       string
	tls                         server.TLSFiles
	timeout                     time.Duration
	yes, dryRun, otherOptions   bool
	verify, repair, refile      bool
	types                       []string // see [deliver.BesideTypes]
	order                       string
}

func (t *sendTarget) add(cmd *cobra.Command) {
	t.addServer(cmd, "to", "base URL of the FHIR server")
	f := cmd.Flags()
	f.BoolVar(&t.yes, "yes", false, "really send; without it, only say what would be sent")
	f.BoolVar(&t.dryRun, "dry-run", false, "only say what would be sent (this is so without --yes)")
	f.StringVar(&t.style, "style", "auto", "auto, transaction, batch, put or single")
	f.IntVar(&t.maxEntries, "max-entries", 0, "the most resources in one request (0: a whole session)")
	f.StringVar(&t.patient, "patient", "", "the patient's reference at the server, such as Patient/123")
	f.BoolVar(&t.otherOptions, "other-options", false, "go on though the record was exported with other options, or for another patient")
	_ = cmd.RegisterFlagCompletionFunc("style", cobra.FixedCompletions([]string{"auto", "transaction", "batch", "put", "single"}, cobra.ShellCompDirectiveNoFileComp))
}

// addServer adds the flags of a command that only reads at the server; name is
// that of the server's flag.
func (t *sendTarget) addServer(cmd *cobra.Command, name, use string) {
	f := cmd.Flags()
	f.StringVar(&t.to, name, "", use)
	f.StringVar(&t.tokenFile, "token-file", "", "file with the bearer token (else RUNSHEET_TOKEN)")
	f.StringVar(&t.clientID, "client-id", "", "client id for SMART Backend Services")
	f.StringVar(&t.keyFile, "key-file", "", "private key of the client: a JWK or PEM file, P-384 or RSA")
	f.StringVar(&t.keyID, "key-id", "", "the key's id at the server, where the file does not hold it (usually the key's thumbprint by RFC 7638)")
	f.StringVar(&t.scope, "scope", "", "scopes to ask for, where the usual ones do not fit")
	f.StringVar(&t.tls.Authorities, "ca-file", "", "PEM file of certificate authorities to trust beside the system's")
	f.StringVar(&t.tls.Certificate, "client-cert", "", "PEM file of the client certificate the server asks for")
	f.StringVar(&t.tls.Key, "client-key", "", "PEM file of the client certificate's private key")
	f.DurationVar(&t.timeout, "timeout", 0, "longest wait for one answer (usually 2m)")
}

func (t *sendTarget) addOrder(cmd *cobra.Command) {
	cmd.Flags().StringVar(&t.order, "order", "", "send only what the clinic's standing order asks for: a file with a ServiceRequest, or active for those that the server has for the patient")
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
	case t.verify && (t.repair || t.refile), t.repair && t.refile:
		return none, "", wrongUse("--verify, --repair and --refile exclude each other")
	case t.maxEntries < 0:
		return none, "", wrongUse("--max-entries cannot be less than 0")
	case t.patient != "" && !patientReference(t.patient):
		return none, "", wrongUse("--patient %q: expected Patient/ID", t.patient)
	case (t.clientID == "") != (t.keyFile == ""):
		return none, "", wrongUse("--client-id and --key-file go together")
	case (t.tls.Certificate == "") != (t.tls.Key == ""):
		return none, "", wrongUse("--client-cert and --client-key go together")
	case t.clientID != "" && t.tokenFile != "":
		return none, "", wrongUse("either a token, or a client id and a key")
	}
	style, err := deliver.ParseStyle(cmp.Or(t.style, "auto"))
	if err != nil {
		return none, "", usageError{err}
	}
	target, err := server.ParseTarget(t.to)
	if err != nil {
		return none, "", usageError{err}
	}
	return target, style, nil
}

// tokenVariable is the environment variable for a bearer token.
const tokenVariable = "RUNSHEET_TOKEN"

func (t *sendTarget) authorizer(target server.Target, opts server.Options) (server.Authorizer, error) {
	switch token := os.Getenv(tokenVariable); {
	case t.clientID != "":
		backend, err := server.NewBackend(target, t.clientID, t.keyFile, t.keyID, opts)
		if err != nil {
			return nil, err
		}
		backend.Scope, backend.Types = t.scope, t.types
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

// sender reads the server's capabilities and prepares to send.
func (t *sendTarget) sender(ctx context.Context, target server.Target, style deliver.Style, r *receipt.Receipt, io streams) (*deliver.Sender, *server.Client, error) {
	config, err := t.tls.Config()
	if err != nil {
		return nil, nil, err
	}
	opts := server.Options{UserAgent: userAgent, TLS: config}
	opts.Auth, err = t.authorizer(target, opts)
	if err != nil {
		return nil, nil, err
	}
	note := func(text string) { fmt.Fprintln(io.err, text) }
	opts.Timeout, opts.Note = t.timeout, note
	client := server.NewClient(target, opts)
	s, err := deliver.NewSender(ctx, client, r, deliver.Options{
		Style: style, MaxEntries: t.maxEntries, Patient: t.patient, Note: note, Progress: io.progress().sent,
	})
	return s, client, err
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
	cmd.Flags().BoolVar(&flags.verify, "verify", false, "send nothing, but read at the server all that the receipt names and list what is missing or other than the export")
	cmd.Flags().BoolVar(&flags.repair, "repair", false, "send again what the server no longer has of what the receipt names")
	flags.addOrder(cmd)
	cmd.Flags().BoolVar(&flags.refile, "refile", false, "withdraw what was filed under another patient, and file it under the one the log names now")
	return cmd
}

func runSend(ctx context.Context, path string, flags sendTarget, io streams) error {
	debug.SetGCPercent(gcPercentLong)
	target, style, err := flags.check()
	if err != nil {
		return err
	}
	folder, err := deliver.OpenFolder(path)
	if err != nil {
		return err
	}
	if flags.receipt == "" {
		flags.receipt = receiptBeside(path)
	}
	r, release, err := flags.openReceipt(target, folder.LogID, io)
	if err != nil {
		return err
	}
	defer release()
	if flags.refile {
		return runRefile(ctx, folder, r, flags, target, style, io)
	}
	if err := folder.GoesWith(r, flags.patient, flags.otherOptions); err != nil {
		return err
	}
	flags.types = deliver.BesideTypes(folder, r)
	sender, client, err := flags.sender(ctx, target, style, r, io)
	if err != nil {
		return err
	}
	all := len(folder.Files)
	if err := flags.narrow(ctx, r, func() (*deliver.Sender, error) { return sender, nil }, folder.Narrow, io); err != nil {
		return err
	}
	if flags.order != "" {
		fmt.Fprintf(io.err, "The order asks for %d of the %s in the export.\n", len(folder.Files), issue.Plural(all, "record", "records"))
	}
	switch {
	case flags.verify:
		_, err := verify(ctx, folder, r, sender, io)
		return err
	case flags.repair:
		return repair(ctx, folder, r, sender, flags, io)
	case !flags.yes:
		return sendPlan(ctx, folder, sender, target, flags, io)
	}
	return sendAll(folder, sender, client, flags, io, func() error { return sender.Folder(ctx, folder) })
}

// narrow leaves out of what is sent what the clinic's order does not ask for; by
// is [deliver.Folder.Narrow] or [deliver.Narrow]. Without an order, it refuses to
// send the rest of what one chose before.
func (t *sendTarget) narrow(ctx context.Context, r *receipt.Receipt, sender func() (*deliver.Sender, error), by func(deliver.Order, string) ([]string, error), io streams) error {
	if t.order == "" {
		if r.Ordered && !t.verify && !t.repair && !t.otherOptions {
			return wrongUse("a standing order chose what was sent: give --order again, or --other-options to send the rest too")
		}
		r.Ordered = r.Ordered && !t.otherOptions
		return nil
	}
	patient := cmp.Or(t.patient, r.Patient)
	var order deliver.Order
	text, err := []byte(nil), error(nil)
	if t.order == activeOrders {
		if patient == "" {
			return wrongUse("--order active needs the patient's reference at the server: --patient Patient/ID")
		}
		var s *deliver.Sender
		if s, err = sender(); err == nil {
			order, err = s.Order(ctx, patient)
		}
	} else if text, err = os.ReadFile(t.order); err == nil {
		order, err = deliver.ParseOrder(text)
	}
	if err != nil {
		return err
	}
	unknown, err := by(order, patient)
	if err != nil {
		return err
	}
	r.Ordered = true
	for _, canonical := range unknown {
		fmt.Fprintf(io.err, "The order asks for %s, which is no profile of this record: left out.\n", canonical)
	}
	return nil
}

// activeOrders is the value of --order for those at the server.
const activeOrders = "active"

// sendAll sends and reports the result.
func sendAll(folder *deliver.Folder, sender *deliver.Sender, client *server.Client, flags sendTarget, io streams, send func() error) error {
	began := time.Now()
	err := send()
	sendSummary(io, sender.Tally(), client, time.Since(began), flags.receipt)
	if said := sayNotKept(io, sender.NotKept()); said != nil {
		return said
	}
	if err != nil {
		return fmt.Errorf("not everything was sent: %w", err)
	}
	return whole(folder, sender.Tally())
}

// openReceipt opens the receipt. If something is to be sent, it locks out
// other senders until release.
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
