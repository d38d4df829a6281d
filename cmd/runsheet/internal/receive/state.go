package receive

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// state is received.json: what earlier runs took and refused for good, so that
// a file that stays in the inbox is read once, and an older version that comes
// late is known as such. After another format, program, rule or option all items
// are read again.
type state struct {
	Made  string             `json:"made"`  // digest of what exports depend on besides the log
	Items map[string]decided `json:"items"` // by the SHA-256 of the item
	Logs  map[string]Log     `json:"logs"`  // by their place in the work folder
}

// decided is an item that no later run reads again: it was taken, or with a
// reason refused for good.
type decided struct {
	Name   string    `json:"name"`
	System string    `json:"identifierSystem"`
	Value  string    `json:"identifierValue"`
	Newest time.Time `json:"newest"`
	Order  int       `json:"order"` // from 1, as decided first
	Reason string    `json:"reason,omitempty"`
	Again  bool      `json:"again,omitempty"` // to be read again after all
}

// decide records what was decided on an item.
func (r *run) decide(a arrival, reason string) {
	r.state.Items[a.item.sha256] = decided{
		Name: a.item.name, System: a.person.System, Value: a.person.Value, Newest: a.newest.UTC(), Order: r.state.order(a.item.sha256), Reason: reason,
	}
}

// Log is the version of a log that was taken last.
type Log struct {
	Item     string    `json:"item"`
	SHA256   string    `json:"sha256"`
	System   string    `json:"identifierSystem"`
	Value    string    `json:"identifierValue"`
	LogID    string    `json:"logId"`
	Newest   time.Time `json:"newest"`
	Received string    `json:"received"` // the day
	Days     []string  `json:"days"`
	Sessions int       `json:"sessions"`
	LeftOut  int       `json:"leftOut"` // sessions with mistakes
	Errors   int       `json:"errors"`
	Warnings int       `json:"warnings"`
	Reply    string    `json:"reply,omitempty"` // file to send back
	// New, Changed and Gone count sessions against the version before.
	New     int `json:"new"`
	Changed int `json:"changed"`
	Gone    int `json:"gone"`
}

const stateFormat = 2

func loadState(opts Options) (*state, error) {
	made, err := json.Marshal([]any{stateFormat, opts.Mapping.Tool, opts.Mapping.Recorded(), issue.RulesDigest(), opts.Language})
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(made)
	out := &state{}
	file := filepath.Join(opts.Work, manifest.Received)
	text, err := os.ReadFile(file)
	if err == nil {
		err = json.Unmarshal(text, out)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w; put it back from a copy, or begin another work folder", file, err)
	}
	if out.Items == nil {
		out.Items, out.Logs = map[string]decided{}, map[string]Log{}
	}
	if out.Made != hex.EncodeToString(sum[:]) {
		out.Made = hex.EncodeToString(sum[:])
		for sum, item := range out.Items {
			item.Again = true
			out.Items[sum] = item
		}
	}
	return out, nil
}

func (s *state) save(work string) error {
	text, err := json.MarshalIndent(s, "", " ")
	if err != nil {
		return err
	}
	return replace(filepath.Join(work, manifest.Received), append(text, '\n'))
}

// replace writes a file of the work folder in place of the one before.
func replace(path string, text []byte) error {
	_, err := output.Single(path, text, true, func([]byte) bool { return true })
	return err
}

// places lists the places of logs in a fixed order.
func (s *state) places() []string { return slices.Sorted(maps.Keys(s.Logs)) }

// place is the folder of a log in the work folder.
func place(i roster.Identifier, logID string) string {
	return "people/" + short(i.String()) + "/" + short(logID)
}

func short(text string) string {
	const digits = 16
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])[:digits]
}

// choose returns the arrivals to take: of each log the newest version. It sets
// aside older ones, two of which neither is newer, logs with the id of another
// patient's, and a second log of the same days.
func (r *run) choose(arrived []arrival) (out []arrival) {
	byLog := map[string][]arrival{}
	people := map[string]map[roster.Identifier]bool{}
	for _, a := range arrived {
		if people[a.logID] == nil {
			people[a.logID] = map[roster.Identifier]bool{}
		}
		people[a.logID][a.person.Identifier] = true
	}
	for _, log := range r.state.Logs {
		if people[log.LogID] != nil {
			people[log.LogID][roster.Identifier{System: log.System, Value: log.Value}] = true
		}
	}
	for _, a := range arrived {
		_, known := r.state.Logs[a.place()]
		if len(people[a.logID]) > 1 && !known {
			r.hold(a, refuse("the log's id is also that of another patient's log: it was made from a copy of that one, or is the wrong person's"))
			continue
		}
		byLog[a.place()] = append(byLog[a.place()], a)
	}
	for _, at := range slices.Sorted(maps.Keys(byLog)) {
		if a, ok := r.newest(byLog[at]); ok && r.isApart(a, out) {
			out = append(out, a)
		}
	}
	return out
}

// onePersonEach sets aside archives that hold logs of more than one patient.
func (r *run) onePersonEach(arrived []arrival) []arrival {
	people := map[string]map[roster.Identifier]bool{}
	for _, a := range arrived {
		if people[a.item.archive] == nil {
			people[a.item.archive] = map[roster.Identifier]bool{}
		}
		if a.person.Value != "" {
			people[a.item.archive][a.person.Identifier] = true
		}
	}
	return slices.DeleteFunc(arrived, func(a arrival) bool {
		mixed := a.item.archive != "" && len(people[a.item.archive]) > 1
		if mixed {
			r.hold(a, refuse("{} holds logs of {} patients: look whose it is and take it apart", a.item.archive, len(people[a.item.archive])))
		}
		return mixed
	})
}

// newest returns the newest of some versions of one log, unless a newer one was
// taken before.
func (r *run) newest(versions []arrival) (arrival, bool) {
	slices.SortStableFunc(versions, func(a, b arrival) int { return r.version(a).compare(r.version(b)) })
	first := versions[0]
	before, known := r.state.Logs[first.place()]
	taken := version{before.Newest, r.state.order(before.SHA256)}
	var equal []arrival
	for _, a := range versions {
		switch {
		case a.item.sha256 == first.item.sha256 && a.item.name != first.item.name:
			r.same = append(r.same, Same{Item: a.item.name, As: first.item.name})
		case known && r.version(a).compare(taken) > 0:
			r.older(a, before.Item, before.Newest)
		case r.version(a).compare(r.version(first)) > 0:
			r.older(a, first.item.name, first.newest)
		default:
			equal = append(equal, a)
		}
	}
	if len(equal) > 1 {
		for _, a := range equal {
			r.hold(a, refuse("it is one of {} different versions of a log that arrived together and end at the same moment: ask which one counts, and take the other away", len(equal)))
		}
	}
	if len(equal) == 0 {
		return arrival{}, false
	}
	return equal[0], len(equal) == 1
}

// version is what of two versions of a log tells the newer one: its last moment, and
// at the same moment which of them arrived later.
type version struct {
	newest time.Time
	order  int
}

func (r *run) version(a arrival) version { return version{a.newest, r.state.order(a.item.sha256)} }

// compare is below 0 if a is newer than b.
func (a version) compare(b version) int {
	return cmp.Or(b.newest.Compare(a.newest), cmp.Compare(b.order, a.order))
}

// order is the place of an item among those that were decided on.
func (s *state) order(sha256 string) int {
	if item, seen := s.Items[sha256]; seen {
		return item.Order
	}
	return len(s.Items) + 1
}

// older sets aside a version that is older than another. One that was taken
// before the other came is only not taken again.
func (r *run) older(a arrival, than string, newest time.Time) {
	if before, seen := r.state.Items[a.item.sha256]; seen && before.Reason == "" {
		r.decide(a, "")
		return
	}
	reason := refuse("it is older than {}, which was taken: it ends on {}, the other on {}; if it corrects that one, ask for it again after the next treatment", than, a.newest.Format(time.DateOnly), newest.Format(time.DateOnly))
	r.decide(a, r.words(reason))
	r.hold(a, reason)
}

// isApart sets aside a log of whose days the same patient has another log: the
// record would have these sessions twice.
func (r *run) isApart(a arrival, others []arrival) bool {
	twice := func(item string, days []string) bool {
		for _, day := range days {
			if slices.Contains(a.days, day) {
				r.hold(a, refuse("it has a session on {}, and so has another log of the same patient, {}: the record would have it twice", day, item))
				return true
			}
		}
		return false
	}
	for _, at := range r.state.places() {
		log := r.state.Logs[at]
		if at != a.place() && (roster.Identifier{System: log.System, Value: log.Value}) == a.person.Identifier && twice(log.Item, log.Days) {
			return false
		}
	}
	for _, other := range others {
		if other.person.Identifier == a.person.Identifier && twice(other.item.name, other.days) {
			return false
		}
	}
	return true
}

// sums are the digests of an export's sessions.
type sums struct {
	sums    map[string]string // by file
	leftOut int
}

// readSums reads the manifest of an export.
func readSums(export string) (sums, error) {
	out := sums{sums: map[string]string{}}
	text, err := os.ReadFile(filepath.Join(export, manifest.Name))
	if err != nil {
		return out, err
	}
	var m manifest.Manifest
	if err := json.Unmarshal(text, &m); err != nil {
		return out, err
	}
	for _, f := range m.Files {
		if f.Status != "" { // not the weeks, nor a report
			out.sums[f.File] = f.SHA256
		}
	}
	out.leftOut = len(m.LeftOut)
	return out, nil
}

// since counts what differs from an earlier export.
func (s sums) since(before sums) (added, changed, gone int) {
	for file, sum := range s.sums {
		switch was, ok := before.sums[file]; {
		case !ok:
			added++
		case was != sum:
			changed++
		}
	}
	for file := range before.sums {
		if _, ok := s.sums[file]; !ok {
			gone++
		}
	}
	return added, changed, gone
}
