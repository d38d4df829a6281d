package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/manifest"
)

// receiptBeside is the receipt beside an export.
func receiptBeside(out string) string {
	return strings.TrimRight(filepath.Clean(out), string(filepath.Separator)) + manifest.ReceiptEnding
}

// exportMessages exports a log as HL7 v2 messages, and notes them in the
// receipt beside the export.
func exportMessages(log *session.Log, opts *export.Options, write func() (export.Result, error)) (export.Result, error) {
	r, release, err := receipt.Hold(receiptBeside(opts.Out), deliver.AsMessages, log.About.LogID)
	if err != nil {
		return export.Result{}, fmt.Errorf("choose another place with -o: %w", err)
	}
	if !r.Fits(log.About.PatientSystem, log.About.PatientValue) {
		return export.Result{}, errors.Join(fmt.Errorf("%s is the receipt of another patient: choose another place with -o", receiptBeside(opts.Out)), release())
	}
	kept := deliver.NewFirstMessages(r)
	opts.Kept = kept
	written, err := write()
	if err == nil && written.Sessions > 0 {
		r.Bind(log.About.PatientSystem, log.About.PatientValue)
		if r.Options, err = json.Marshal(opts.Mapping.Recorded()); err == nil {
			err = kept.Save()
		}
	}
	return written, errors.Join(err, release())
}

// amendMessages writes what has changed in a log since it was exported as
// messages. The files are in place before the receipt says so: after an
// interruption the same command writes the same messages again, with the same
// ids.
func amendMessages(ctx context.Context, path string, flags amendFlags, io streams) (err error) {
	switch {
	case flags.to != "" || flags.yes || flags.order != "":
		return wrongUse("--as hl7v2 writes files and sends nothing: leave --to, --yes and --order out")
	case flags.out == "" || flags.receipt == "":
		return wrongUse("--as hl7v2 needs the receipt that 'runsheet export --as hl7v2' wrote and a new folder: --receipts FILE -o OUT")
	}
	if err := flags.findings.check(); err != nil {
		return err
	}
	if _, err := os.Stat(flags.receipt); errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: there is no such receipt; 'runsheet export --as hl7v2' writes one", flags.receipt)
	}
	r, release, err := receipt.Hold(flags.receipt, deliver.AsMessages, "")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, release()) }()
	if err := flags.settleOptions(r, io); err != nil {
		return err
	}
	changed, err := planAmendment(ctx, path, &flags, r, nil, io)
	if err != nil {
		return err
	}
	verdict := flags.findings.verdict(changed.findings)
	switch doubt := changed.plan.Doubt(); {
	case changed.plan.Empty():
		fmt.Fprintln(io.err, "Nothing has changed: by the receipt the messages say what the log says.")
		return verdict
	case doubt != nil && !flags.many:
		return doubt
	case flags.dryRun:
		fmt.Fprintln(io.err, "Nothing was written.")
		return verdict
	}
	log := export.MessageLog(changed.log)
	messages, err := deliver.Messages(changed.plan, r, log, changed.opts)
	if err != nil {
		return err
	}
	var files []export.MessageFile
	for _, m := range messages {
		files = append(files, export.MessageFile{Message: m.Message, Label: m.Label, Identity: m.Identity})
	}
	if err := export.Amendments(flags.out, log, files); err != nil {
		return err
	}
	if err := deliver.Written(r, messages); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "Wrote %d messages to %s. Receipt: %s\n", len(messages), flags.out, flags.receipt)
	return verdict
}
