package cli

import (
	"context"
	"fmt"
	"text/tabwriter"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
)

// sendPlan prints what would be sent.
func sendPlan(ctx context.Context, folder *deliver.Folder, sender *deliver.Sender, target server.Target, io streams) error {
	rows, err := sender.Rows(ctx, folder)
	if err != nil {
		return fmt.Errorf("nothing can be sent: %w", err)
	}
	w := tabwriter.NewWriter(io.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "SESSION\tFILE\tTO CREATE\tTHERE ALREADY\tSENT BEFORE\tREQUESTS")
	var sum deliver.Row
	for _, row := range rows {
		fmt.Fprintf(w, "%s\t%s\t%d\t%d\t%d\t%d\n", row.Label, row.File, row.Create, row.Present+row.Differs, row.Sent, row.Stores)
		sum.Create, sum.Present, sum.Differs, sum.Stores = sum.Create+row.Create, sum.Present+row.Present, sum.Differs+row.Differs, sum.Stores+row.Stores
	}
	if err := w.Flush(); err != nil {
		return err
	}
	p := sender.Proposal()
	fmt.Fprintf(io.err, "To %s, style %s: %s.\n", target, p.Style, p.Reason)
	if folder.LeftOut > 0 {
		fmt.Fprintf(io.err, "The export left out %s with mistakes.\n", plural(folder.LeftOut, "session", "sessions"))
	}
	sayDifferences(io, sum.Differs, sender.Tally())
	if sum.Create == 0 {
		fmt.Fprintln(io.err, "There is nothing to send: the server has it all.")
		return nil
	}
	fmt.Fprintf(io.err, "Nothing was sent. Would be: %s. Add --yes to send.\n", createdWords(sum.Create, sum.Present, sum.Stores))
	return nil
}

// createdWords say what sending comes to, planned or done.
func createdWords(created, present, stores int) string {
	return fmt.Sprintf("%s created, %d there already, in %s", plural(created, "resource", "resources"), present, plural(stores, "request", "requests"))
}

// sayDifferences tells of resources that sending leaves as they are, though
// the export says something else.
func sayDifferences(io streams, differs int, t deliver.Tally) {
	if differs > 0 {
		fmt.Fprintf(io.err, "At the server already with other content, and left as they are: %s. 'runsheet amend' corrects them.\n", plural(differs, "resource", "resources"))
	}
	if t.Outdated > 0 {
		fmt.Fprintf(io.err, "Not as they were sent, and not sent again: %s. 'runsheet amend' sends corrections.\n", plural(t.Outdated, "resource", "resources"))
	}
	if t.Superseded > 0 {
		fmt.Fprintf(io.err, "Amended since, to other content than in this export: %s. The export is older, or the log was changed again.\n", plural(t.Superseded, "resource", "resources"))
	}
}

func sendSummary(io streams, t deliver.Tally, client *server.Client, took time.Duration, receiptPath string) {
	fmt.Fprintf(io.err, "%s and %d that asked; %s. Receipt: %s\n", createdWords(t.Created, t.Present, t.Stores), client.Requests()-t.Stores, took.Round(10*time.Millisecond), receiptPath)
	sayDifferences(io, t.Differs, t)
}

// verify holds what stands at the server against the receipt.
func verify(ctx context.Context, folder *deliver.Folder, r *receipt.Receipt, sender *deliver.Sender, io streams) error {
	drifted, err := sender.Verify(ctx)
	if err != nil {
		return err
	}
	if len(drifted) > 0 {
		w := tabwriter.NewWriter(io.out, 0, 0, 2, ' ', 0)
		fmt.Fprintln(w, "SESSION\tAT THE SERVER\tRESOURCE\tWHAT")
		for _, d := range drifted {
			state := string(d.Drift)
			if d.Drift == deliver.Changed {
				state = fmt.Sprintf("changed: version %s, not %s", d.Version, d.Entry.Version)
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", d.Label, state, d.Reference(), d.Role)
		}
		if err := w.Flush(); err != nil {
			return err
		}
	}
	unsent, err := sender.Unsent(folder)
	if err != nil {
		return err
	}
	sent := len(r.All())
	fmt.Fprintf(io.err, "%d of %s in the receipt stand at the server as they were left there.\n", sent-len(drifted), plural(sent, "resource", "resources"))
	if unsent > 0 {
		fmt.Fprintf(io.err, "Not sent yet: %s of the export.\n", plural(unsent, "resource", "resources"))
	}
	sayDifferences(io, 0, sender.Tally())
	if len(drifted)+unsent+sender.Tally().Outdated > 0 {
		return errFindings
	}
	return nil
}
