// Package receive makes a unit's work folder from what patients sent in: logs,
// workbooks, sheets of another shape, exports, zip files and age files, in any
// mix, again and again. It matches each with the unit's roster by the patient's
// identifier inside it, never by a file name. What belongs to nobody, to two, or
// to somebody else is set aside with the reason. It changes nothing in the inbox.
//
// The work folder holds, for each log of each patient,
//
//	people/PATIENT/LOG/export                the export of the newest version
//	people/PATIENT/LOG/export.receipt.json   what the server has of it
//	people/PATIENT/LOG/reply.xlsx            the log with its findings, to send back;
//	                                         reply.txt of another shape or a form
//
// where PATIENT and LOG are the first 16 hexadecimal digits of the SHA-256 of the
// identifier ("system|value") and of the log's id, so that no path names anybody;
// received.json, what was taken and from which file ([state]); and the rows of
// the status page as status.html, status.txt, status.csv and status.json.
//
// A run that is killed is repeated: each file is replaced in one step, and what
// received.json does not list yet is read again.
package receive

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session/hold"
	"runsheet.example/validate/issue"
)

// Options are the choices of a run.
type Options struct {
	Inbox, Roster, Work string
	// Mapping is how logs are mapped. The patient of each is the roster's.
	Mapping fhirmap.Options
	// Identities are the private keys for age files.
	Identities []age.Identity
	// Language is that of the status; replies have that of their log.
	Language issue.Language
	// Now is the time of the run.
	Now time.Time
	// Server is where records go to; nil if nowhere.
	Server *Server
}

// Server is a FHIR server that takes the records.
type Server struct {
	// Target is the base of its addresses, as it stands in receipts.
	Target string
	// Send sends; without it only a plan is made.
	Send bool
	// Sender prepares to send one log under the patient's reference, which is
	// empty to let the identifier of the log decide.
	Sender func(ctx context.Context, r *receipt.Receipt, patient string) (*deliver.Sender, error)
}

// Run receives what stands in the inbox and returns the status of all patients
// on the roster. An error means that the run as a whole failed; what is wrong
// with one patient's files stands in the status.
func Run(ctx context.Context, opts Options) (Status, error) {
	people, err := roster.Read(opts.Roster)
	if err != nil {
		return Status{}, err
	}
	if err := apart(opts.Inbox, opts.Work); err != nil {
		return Status{}, err
	}
	if err := os.MkdirAll(opts.Work, 0o700); err != nil {
		return Status{}, err
	}
	lock, err := os.Open(opts.Work)
	if err != nil {
		return Status{}, err
	}
	defer lock.Close()
	if err := hold.Lock(lock); err != nil {
		return Status{}, fmt.Errorf("%s: another run is at work in it", opts.Work)
	}
	kept, err := loadState(opts)
	if err != nil {
		return Status{}, err
	}
	unpacked := filepath.Join(opts.Work, ".unpacked")
	if err := os.RemoveAll(unpacked); err != nil { // of a run that was killed
		return Status{}, err
	}
	if err := os.Mkdir(unpacked, 0o700); err != nil {
		return Status{}, err
	}
	defer os.RemoveAll(unpacked)
	run := &run{opts: opts, roster: people, state: kept, unpacked: unpacked, held: map[roster.Identifier][]string{}}
	if err := run.receive(ctx); err != nil {
		return Status{}, err
	}
	run.deliver(ctx)
	if err := ctx.Err(); err != nil {
		return Status{}, err
	}
	status := run.status()
	return status, status.write(opts.Work)
}

// apart refuses a work folder inside the inbox, which would receive its own
// exports, and the other way round.
func apart(inbox, work string) error {
	if info, err := os.Stat(inbox); err != nil {
		return err
	} else if !info.IsDir() {
		return fmt.Errorf("%s: expected a folder of what patients sent", inbox)
	}
	a, err := filepath.Abs(inbox)
	b, failed := filepath.Abs(work)
	if err = errors.Join(err, failed); err != nil {
		return err
	}
	a, b = a+string(filepath.Separator), b+string(filepath.Separator)
	if strings.HasPrefix(a, b) || strings.HasPrefix(b, a) {
		return errors.New("the inbox and the work folder cannot be one inside the other")
	}
	return nil
}

// run is one run. aside are the items that belong to nobody or cannot be read.
type run struct {
	opts     Options
	roster   roster.Roster
	state    *state
	unpacked string
	aside    []Aside
	same     []Same
	held     map[roster.Identifier][]string // items set aside by the person they are of
	sent     map[string]sending             // by the place of a log
}

// receive reads the items, decides which to take, and writes their exports.
func (r *run) receive(ctx context.Context) error {
	items, err := r.items()
	if err != nil {
		return err
	}
	var arrived []arrival
	for _, one := range items {
		if err := ctx.Err(); err != nil {
			return err
		}
		now, err := r.read(one)
		if err != nil && !errors.As(err, &now.refused) {
			return fmt.Errorf("%s: %w", one.name, err)
		}
		arrived = append(arrived, now)
	}
	for _, one := range r.choose(r.unseen(r.onePersonEach(arrived))) {
		if err := ctx.Err(); err != nil {
			return err
		}
		err := r.take(ctx, one)
		var reason *refusal
		switch {
		case errors.As(err, &reason):
			r.hold(one, err)
		case err != nil:
			return fmt.Errorf("%s: %w", one.item.name, err)
		}
		if err := r.state.save(r.opts.Work); err != nil {
			return err
		}
	}
	return nil
}

// refusal is why an item is set aside, in words for the unit.
type refusal struct{ text issue.Text }

func (e *refusal) Error() string { return e.text.String() }

func refuse(key string, args ...any) error { return &refusal{issue.T(key, args...)} }

// say is a text in the language of the unit.
func (r *run) say(key string, args ...any) string { return r.opts.Language.Text(issue.T(key, args...)) }

// words are an error in the language of the unit, as far as it is ours.
func (r *run) words(err error) string {
	var ours *refusal
	if errors.As(err, &ours) {
		return r.opts.Language.Text(ours.text)
	}
	return err.Error()
}

// hold sets aside an item of a person, if it is known whose it is.
func (r *run) hold(a arrival, why error) {
	r.held[a.person.Identifier] = append(r.held[a.person.Identifier], a.item.name)
	r.setAside(a.item.name, why)
}

func (r *run) setAside(name string, why error) {
	r.aside = append(r.aside, Aside{Item: name, Reason: r.words(why)})
	slices.SortFunc(r.aside, func(a, b Aside) int { return strings.Compare(a.Item, b.Item) })
}
