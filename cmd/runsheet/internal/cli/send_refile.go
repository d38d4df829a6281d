package cli

import (
	"context"
	"errors"
	"fmt"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
)

// refiledReason is the reason in the Provenance of withdrawn resources.
const refiledReason = "the patient's identifier in the log was wrong and was corrected"

// runRefile withdraws a record filed under another patient and files the
// export under its own. Without --yes it prints the plan.
func runRefile(ctx context.Context, folder *deliver.Folder, r *receipt.Receipt, flags sendTarget, target server.Target, style deliver.Style, io streams) error {
	if !r.HasSessions() || !errors.Is(folder.Fits(r), deliver.ErrAnotherPerson) {
		return wrongUse("the receipt is of the patient the export names: there is nothing to file anew")
	}
	first, err := folder.Session(0)
	if err != nil {
		return err
	}
	exported, err := fhirmap.ParseManifestOptions(folder.Options)
	if err != nil {
		return err
	}
	opts := deliver.AmendOptions{Reason: refiledReason, Refile: true, Now: time.Now(), Software: deliver.Software(first)}
	if exported != nil {
		opts.Provenance, opts.Tags = exported.Provenance, exported.Tags
	}
	plan := deliver.RefilePlan(r, opts)
	fmt.Fprintf(io.err, "Filed under another patient, %s: to be withdrawn.\n", orNothing(r.Patient))
	if err := printPlan(plan, false, io); err != nil {
		return err
	}
	anew := r.Anew()
	var left error
	if flags.yes {
		earlier := flags
		earlier.patient = ""
		sender, _, err := earlier.sender(ctx, target, style, r, io)
		if err != nil {
			return err
		}
		left = sender.Amend(ctx, plan, opts)
		var conflicts *deliver.ErrConflicts
		if left != nil && !errors.As(left, &conflicts) {
			return fmt.Errorf("not everything was withdrawn, and nothing filed anew: %w", left)
		}
		r.Person, r.Patient, r.Named, r.Options = "", "", false, folder.Options
		if err := r.Save(); err != nil {
			return err
		}
		anew = r
	}
	sender, client, err := flags.sender(ctx, target, style, anew, io)
	if err != nil {
		return err
	}
	if !flags.yes {
		return sendPlan(ctx, folder, sender, target, flags, io)
	}
	return sendAll(folder, sender, client, flags, io, func() error {
		return errors.Join(explained(left, io), sender.Folder(ctx, folder))
	})
}
