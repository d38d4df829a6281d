package cli

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// sendPlan prints what would be sent.
func sendPlan(ctx context.Context, folder *deliver.Folder, sender *deliver.Sender, target server.Target, flags sendTarget, io streams) error {
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
	tally := sender.Tally()
	tally.Differs = sum.Differs
	err = whole(folder, tally)
	if len(folder.LeftOut) > 0 {
		fmt.Fprintf(io.err, "The export left out %s with mistakes.\n", issue.Plural(len(folder.LeftOut), "session", "sessions"))
	}
	sayDifferences(io, tally)
	if missing := sender.Missing(); missing != nil {
		return missing
	}
	if sum.Create == 0 {
		fmt.Fprintln(io.err, "There is nothing to send: by the receipt, of which a sample was read, the server has it all.")
		return err
	}
	fmt.Fprintf(io.err, "Nothing was sent. Would be: %s. Add --yes to send.\n", createdWords(sum.Create, sum.Present, sum.Stores))
	if flags.dryRun { // the missing part was requested
		return nil
	}
	return errIncomplete
}

// whole is errIncomplete if sending omits a part of the log, or leaves
// different content at the server unchanged.
func whole(folder *deliver.Folder, t deliver.Tally) error {
	if len(folder.LeftOut)+t.Differs+t.Outdated+t.NotKept > 0 {
		return errIncomplete
	}
	return nil
}

// createdWords describe the result of sending, planned or done.
func createdWords(created, present, stores int) string {
	return fmt.Sprintf("%s created, %d there already, in %s", issue.Plural(created, "resource", "resources"), present, issue.Plural(stores, "request", "requests"))
}

// sayDifferences reports resources that sending does not change although they
// differ from the export.
func sayDifferences(io streams, t deliver.Tally) {
	if t.Differs > 0 {
		fmt.Fprintf(io.err, "At the server already with other content, and left as they are: %s. 'runsheet amend' corrects them.\n", issue.Plural(t.Differs, "resource", "resources"))
	}
	if t.Outdated > 0 {
		fmt.Fprintf(io.err, "Not as they were sent, and not sent again: %s. 'runsheet amend' sends corrections.\n", issue.Plural(t.Outdated, "resource", "resources"))
	}
	if t.Superseded > 0 {
		fmt.Fprintf(io.err, "Amended since, to other content than in this export: %s. The export is older, or the log was changed again.\n", issue.Plural(t.Superseded, "resource", "resources"))
	}
}

func sendSummary(io streams, t deliver.Tally, client *server.Client, took time.Duration, receiptPath string) {
	fmt.Fprintf(io.err, "%s and %d that asked; %s. Receipt: %s\n", createdWords(t.Created, t.Present, t.Stores), client.Requests()-t.Stores, took.Round(10*time.Millisecond), receiptPath)
	sayDifferences(io, t)
}

// sayNotKept lists what the server did not keep, or only in part.
func sayNotKept(io streams, list []receipt.NotKept) error {
	if len(list) == 0 {
		return nil
	}
	w := tabwriter.NewWriter(io.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "SESSION\tNOT KEPT\tWHAT\tWHY")
	part := 0
	for _, n := range list {
		kept := ""
		if n.Part {
			kept, part = " (in part)", part+1
		}
		fmt.Fprintf(w, "%s\t%s%s\t%s\t%s\n", n.Label, n.Type, kept, n.Role, n.Why)
	}
	fmt.Fprintf(io.err, "The server did not keep %s, and %d in part: the receipt names them. The next run offers again what it has nothing of.\n",
		issue.Plural(len(list)-part, "resource", "resources"), part)
	return w.Flush()
}

// verify compares the server with the receipt and the export.
func verify(ctx context.Context, folder *deliver.Folder, r *receipt.Receipt, sender *deliver.Sender, io streams) ([]deliver.Drifted, error) {
	validator := validate.New(validate.Options{})
	var computed []issue.Finding
	drifted, err := sender.Verify(ctx, folder, func(label string, collection []byte) error {
		for _, f := range validator.Bytes(collection, "session "+label+" at the server") {
			if rule, _ := issue.Lookup(f.Rule); rule.Layer == issue.LayerComputed && f.Severity == issue.Error {
				computed = append(computed, f)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if err := printDrift(drifted, io); err != nil {
		return nil, err
	}
	if err := sayNotKept(io, r.NotKept); err != nil {
		return nil, err
	}
	if len(computed) > 0 {
		fmt.Fprintln(io.err, "Computed again from what stands at the server, and other:")
		if err := report.Print(io.err, report.Text, computed, report.Options{All: true, Colour: colour(io.err)}); err != nil {
			return nil, err
		}
	}
	unsent, err := sender.Unsent(folder)
	if err != nil {
		return nil, err
	}
	sent := len(r.All())
	fmt.Fprintf(io.err, "%d of %s in the receipt stand at the server as they were sent.\n", sent-len(drifted), issue.Plural(sent, "resource", "resources"))
	if unsent > 0 {
		fmt.Fprintf(io.err, "Not sent yet: %s of the export.\n", issue.Plural(unsent, "resource", "resources"))
	}
	sayDifferences(io, sender.Tally())
	if len(drifted)+len(computed)+unsent+len(r.NotKept)+len(folder.LeftOut)+sender.Tally().Outdated > 0 {
		return drifted, errIncomplete
	}
	return drifted, nil
}

// mostDifferences limits the printed elements of one resource.
const mostDifferences = 5

func printDrift(drifted []deliver.Drifted, io streams) error {
	if len(drifted) == 0 {
		return nil
	}
	w := tabwriter.NewWriter(io.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "SESSION\tAT THE SERVER\tRESOURCE\tWHAT\tELEMENT\tSENT\tSTANDS THERE")
	for _, d := range drifted {
		state := string(d.Drift)
		if d.Drift == deliver.Changed {
			state = fmt.Sprintf("changed: version %s, not %s", d.Version, d.Entry.Version)
		}
		printDifferences(w, fmt.Sprintf("%s\t%s\t%s\t%s", d.Label, state, d.Reference(), d.Role), d.Differences)
	}
	return w.Flush()
}

// printDifferences prints a line for each element that differs, or one line.
func printDifferences(w *tabwriter.Writer, head string, list []deliver.Difference) {
	if len(list) == 0 {
		fmt.Fprintln(w, head)
	}
	for i, d := range list {
		if i == mostDifferences {
			fmt.Fprintf(w, "%s\tand %d more\n", head, len(list)-i)
			return
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", head, d.Path, orNothing(d.Ours), orNothing(d.Theirs))
	}
}

func orNothing(text string) string {
	if text == "" {
		return "nothing"
	}
	return text
}

// repair sends again what the server has lost; without --yes it lists that.
func repair(ctx context.Context, folder *deliver.Folder, r *receipt.Receipt, sender *deliver.Sender, flags sendTarget, io streams) error {
	drifted, err := verify(ctx, folder, r, sender, io)
	if err != nil && !errors.Is(err, errIncomplete) {
		return err
	}
	mend := 0
	for _, d := range drifted {
		if d.Repairable {
			mend++
		}
	}
	if !flags.yes {
		fmt.Fprintf(io.err, "Nothing was sent. To be put right: %s. Add --yes.\n", issue.Plural(mend, "resource", "resources"))
		return err
	}
	if err := sender.Repair(ctx, folder, drifted); err != nil {
		return fmt.Errorf("not everything was sent again: %w", err)
	}
	fmt.Fprintf(io.err, "Put right: %s. What stands there now:\n", issue.Plural(mend, "resource", "resources"))
	_, err = verify(ctx, folder, r, sender, io)
	return err
}
