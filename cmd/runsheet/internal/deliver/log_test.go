package deliver

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// The small log: one session done, one skipped, one cut short.
const smallLog = "../../../../fhirmap/testdata/small"

var smallPatient = servertest.Patient("urn:oid:2.25.331383638406541845489215601853980652438", "HHD-00007")

// edited copies a log and replaces texts in its files: file, old, new, ...
func edited(t *testing.T, log string, changes ...string) string {
	t.Helper()
	folder := t.TempDir()
	names, err := os.ReadDir(log)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		text, err := os.ReadFile(filepath.Join(log, n.Name()))
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i+2 < len(changes); i += 3 {
			if changes[i] == n.Name() {
				if strings.Count(string(text), changes[i+1]) != 1 {
					t.Fatalf("%q stands %d times in %s", changes[i+1], strings.Count(string(text), changes[i+1]), n.Name())
				}
				text = []byte(strings.Replace(string(text), changes[i+1], changes[i+2], 1))
			}
		}
		if err := os.WriteFile(filepath.Join(folder, n.Name()), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

// mapped is a log as sessions to deliver.
func mapped(t testing.TB, folder string, opts fhirmap.Options) []Session {
	t.Helper()
	month := monthOf(t, folder, opts)
	month.Beside = nil
	return sessionsOf(t, month)
}

// mappedAll is [mapped] with the weeks of the log, as an export holds them.
func mappedAll(t testing.TB, folder string, opts fhirmap.Options) []Session {
	t.Helper()
	return sessionsOf(t, monthOf(t, folder, opts))
}

func monthOf(t testing.TB, folder string, opts fhirmap.Options) *fhirmap.Month {
	t.Helper()
	log, _, err := session.ReadFolder(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if opts.Tool.Name == "" {
		opts.Tool = fhirmap.Tool{Name: "runsheet", Version: "test"}
	}
	month, err := fhirmap.Map(log, opts)
	if err != nil {
		t.Fatal(err)
	}
	return month
}

func sessionsOf(t testing.TB, month *fhirmap.Month) []Session {
	t.Helper()
	sessions, _, err := SessionsOf(month)
	if err != nil {
		t.Fatal(err)
	}
	return sessions
}

// delivery is one run of the program: it opens the receipt, sends, and keeps
// what was said.
type delivery struct {
	t          *testing.T
	server     *servertest.Server
	receipt    string
	style      Style
	max        int
	patient    string
	auth       server.Authorizer
	later      int // days after the first amendment
	provenance string
	waits      []time.Duration
	notes      []string
	tally      Tally
	client     *server.Client
}

func newDelivery(t *testing.T, s *servertest.Server, style Style) *delivery {
	return &delivery{t: t, server: s, receipt: filepath.Join(t.TempDir(), "receipt.json"), style: style}
}

func (d *delivery) open() *receipt.Receipt {
	d.t.Helper()
	r, err := receipt.Open(d.receipt, d.server.Base, "")
	if err != nil {
		d.t.Fatal(err)
	}
	return r
}

func (d *delivery) sender(ctx context.Context, r *receipt.Receipt) (*Sender, error) {
	d.t.Helper()
	target, err := server.ParseTarget(d.server.Base)
	if err != nil {
		d.t.Fatal(err)
	}
	note := func(text string) { d.notes = append(d.notes, text) }
	d.client = server.NewClient(target, server.Options{
		Auth: d.auth, Attempts: 4, Note: note,
		Wait: func(_ context.Context, w time.Duration) error { d.waits = append(d.waits, w); return nil },
	})
	return NewSender(ctx, d.client, r, Options{Style: d.style, MaxEntries: d.max, Patient: d.patient, Note: note})
}

// send sends sessions as one run of the program.
func (d *delivery) send(sessions []Session) error {
	d.t.Helper()
	s, err := d.sender(d.t.Context(), d.open())
	if err != nil {
		return err
	}
	defer func() { d.tally = s.Tally() }()
	for _, one := range sessions {
		if err := s.Session(d.t.Context(), one); err != nil {
			return err
		}
	}
	return nil
}

func (d *delivery) mustSend(sessions []Session) {
	d.t.Helper()
	if err := d.send(sessions); err != nil {
		d.t.Fatalf("send: %v\nnotes: %v", err, d.notes)
	}
}

// amend carries out the difference of a log and the receipt.
func (d *delivery) amend(sessions []Session, reason string) (Plan, error) {
	d.t.Helper()
	r := d.open()
	opts := AmendOptions{
		Reason: reason, Now: time.Date(2025, 12, 1+d.later, 9, 0, 0, 0, time.UTC), Software: softwareOf(sessions), Provenance: d.provenance,
	}
	plan := MakePlan(r, sessions, nil, opts)
	s, err := d.sender(d.t.Context(), r)
	if err != nil {
		return plan, err
	}
	err = s.Amend(d.t.Context(), plan, opts)
	d.tally = s.Tally()
	did := d.tally
	did.Created, did.Present, did.Stores = did.Created+did.Present, 0, 0 // what was cut off may be there
	if want := plan.Counts(); err == nil && did != want {
		d.t.Errorf("planned %+v, done %+v", want, did)
	}
	return plan, err
}

func softwareOf(sessions []Session) *fhirmap.Resource {
	for _, s := range sessions {
		for _, r := range s.Resources {
			if r.Role == "device:software" {
				return &r
			}
		}
	}
	return nil
}

// stored is a resource at the server, with what the tests ask of it.
type stored struct {
	raw          json.RawMessage
	ResourceType string `json:"resourceType"`
	ID           string `json:"id"`
	Status       string `json:"status"`
	Meta         struct {
		VersionID string `json:"versionId"`
	} `json:"meta"`
	Identifier []struct {
		System, Value string
	} `json:"identifier"`
	Value struct {
		Value json.Number `json:"value"`
	} `json:"valueQuantity"`
	Note     []struct{ Text string }
	Recorded string `json:"recorded"`
}

func holdings(t *testing.T, s *servertest.Server) []stored {
	t.Helper()
	var out []stored
	for _, raw := range s.State(t).Resources {
		r := stored{raw: raw}
		if err := json.Unmarshal(raw, &r); err != nil {
			t.Fatal(err)
		}
		out = append(out, r)
	}
	return out
}

// same holds what the server has against what the log says: every resource of
// the log once, with its content and its references; nothing else but what
// extra allows; and the receipt true of each.
func (d *delivery) same(sessions []Session, extra ...string) {
	d.t.Helper()
	r := d.open()
	byPlace := map[string]stored{}
	for _, h := range holdings(d.t, d.server) {
		byPlace[h.ResourceType+"/"+h.ID] = h
	}
	patient := ""
	for place := range byPlace {
		if strings.HasPrefix(place, "Patient/") {
			patient = place
		}
	}
	s := &Sender{receipt: r, rules: rules{style: d.style}}
	wanted := map[string]bool{patient: true}
	for _, session := range sessions {
		for _, resource := range session.Resources {
			e, ok := r.Of(resource.Identity)
			if !ok {
				d.t.Errorf("not in the receipt: %s %s", resource.Type, resource.Role)
				continue
			}
			there, ok := byPlace[e.Reference()]
			if !ok {
				d.t.Errorf("in the receipt and not at the server: %s %s", resource.Type, resource.Role)
				continue
			}
			wanted[e.Reference()] = true
			content, err := s.content(resource.JSON, nil)
			if err != nil {
				d.t.Errorf("%s: %v", resource.Role, err)
			}
			if resource.Type != "Provenance" && !contains(there.raw, content) {
				d.t.Errorf("%s %s is another at the server:\n%s\nlog:\n%s", resource.Type, resource.Role, there.raw, content)
			}
			if e.Version != there.Meta.VersionID {
				d.t.Errorf("%s %s: version %s in the receipt, %s at the server", resource.Type, resource.Role, e.Version, there.Meta.VersionID)
			}
			if strings.Contains(string(there.raw), `"reference":"urn:`) || strings.Contains(string(there.raw), `"reference":"Patient?`) {
				d.t.Errorf("%s %s has a reference that leads nowhere", resource.Type, resource.Role)
			}
		}
	}
	allowed := map[string]int{}
	for _, e := range extra {
		allowed[e]++
	}
	for place, h := range byPlace {
		key := h.ResourceType + " " + h.Status
		if !wanted[place] {
			allowed[key]--
			if allowed[key] < 0 {
				d.t.Errorf("more at the server than the log says: %s\n%s", place, h.raw)
			}
		}
	}
	for key, n := range allowed {
		if n > 0 {
			d.t.Errorf("%d of %q expected beside the log", n, key)
		}
	}
}

// valid holds everything at the server to the validator: what was corrected
// or withdrawn is a valid resource too.
func (d *delivery) valid() {
	d.t.Helper()
	for _, h := range holdings(d.t, d.server) {
		for _, f := range validate.New(validate.Options{Schema: true}).Bytes(h.raw, "server.json") {
			if f.Severity == issue.Error {
				d.t.Errorf("%s at %s: %s %s", f.Rule, f.Expression, f.Details, f.Value)
			}
		}
	}
}

// writes counts the requests that may have changed something.
func writes(s servertest.State) int {
	n := 0
	for _, r := range s.Requests {
		if r.Write {
			n++
		}
	}
	return n
}

// number is an environment variable's number, or the usual one.
func number(t *testing.T, name string, usual int) int {
	t.Helper()
	text := os.Getenv(name)
	if text == "" {
		return usual
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
