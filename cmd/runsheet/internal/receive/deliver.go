package receive

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/fhirmap"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// sending is what sending one log came to.
type sending struct {
	tally  deliver.Tally // planned or done
	failed error
}

// deliver sends or amends every log, one after another. A log that fails does
// not stop the others.
func (r *run) deliver(ctx context.Context) {
	r.sent = map[string]sending{}
	if r.opts.Server == nil {
		return
	}
	for _, at := range r.state.places() {
		if ctx.Err() != nil {
			return
		}
		var out sending
		out.tally, out.failed = r.deliverLog(ctx, at)
		r.sent[at] = out
	}
}

func (r *run) deliverLog(ctx context.Context, at string) (done deliver.Tally, err error) {
	log := r.state.Logs[at]
	p, err := r.find(roster.Identifier{System: log.System, Value: log.Value})
	if err != nil {
		return done, err
	}
	folder, err := deliver.OpenFolder(filepath.Join(r.opts.Work, filepath.FromSlash(at), exportName))
	if err != nil {
		return done, err
	}
	file := folder.Path + manifest.ReceiptEnding
	if !r.opts.Server.Send {
		kept, err := receipt.Open(file, r.opts.Server.Target, folder.LogID)
		if err != nil {
			return done, err
		}
		plan, _, err := r.plan(folder, kept, p)
		return plan.Counts(), err
	}
	kept, release, err := receipt.Hold(file, r.opts.Server.Target, folder.LogID)
	if err != nil {
		return done, err
	}
	defer func() { err = errors.Join(err, release()) }()
	plan, how, err := r.plan(folder, kept, p)
	if err != nil || plan.Empty() {
		return done, err
	}
	sender, err := r.opts.Server.Sender(ctx, kept, p.Patient)
	if err != nil {
		return done, err
	}
	if p.Hospital.Value != "" {
		if err := sender.UseNumber(ctx, p.Hospital.System, p.Hospital.Value); err != nil {
			return done, err
		}
	}
	if kept.HasSessions() {
		err = sender.Amend(ctx, plan, how)
	} else {
		err = sender.Folder(ctx, folder)
	}
	if n := sender.Tally().NotKept; err == nil && n > 0 {
		err = refuse("not kept by the server, see the receipt: {}", n)
	}
	return sender.Tally(), err
}

// plan is what the server lacks of an export, by the receipt. A plan that changes
// most of a record is probably a mistake and is an error.
func (r *run) plan(folder *deliver.Folder, kept *receipt.Receipt, p roster.Person) (deliver.Plan, deliver.AmendOptions, error) {
	how := deliver.AmendOptions{Now: r.opts.Now, Provenance: r.opts.Mapping.Provenance}
	if err := folder.GoesWith(kept, p.Patient, false); err != nil {
		return deliver.Plan{}, how, err
	}
	var sessions []deliver.Session
	for i := range folder.Files {
		s, err := folder.Session(i)
		if err != nil {
			return deliver.Plan{}, how, err
		}
		sessions = append(sessions, s)
	}
	left := folder.LeftOut
	for _, label := range []string{fhirmap.ReportLabel, fhirmap.LogLabel} {
		if !folder.Has(label) {
			left = append(slices.Clone(left), label) // one that stands at the server stays
		}
	}
	how.Software = deliver.Software(sessions...)
	plan := deliver.MakePlan(kept, sessions, left, how)
	if err := plan.Doubt(); err != nil {
		return plan, how, fmt.Errorf("not sent: %w; send it with 'runsheet amend' once you know that it is right", err)
	}
	return plan, how, nil
}

// describe tells what was sent, or would be.
func (r *run) describe(s sending) string {
	t := s.tally
	changes := t.Created + t.Corrected + t.Amended + t.Withdrawn
	var out []string
	switch {
	case t == (deliver.Tally{}) && s.failed == nil:
		out = []string{r.say("has all of it")}
	case changes > 0 && !r.opts.Server.Send:
		out = []string{r.say(issue.OneOrMany(changes, "to be sent: {} change", "to be sent: {} changes"), changes)}
	case changes > 0:
		out = []string{r.say("{} created, {} corrected, {} amended, {} withdrawn", t.Created, t.Corrected, t.Amended, t.Withdrawn)}
	}
	if s.failed != nil {
		out = append(out, r.words(s.failed))
	}
	return strings.Join(out, "; ")
}
