package deliver

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
	"runsheet.example/profiles"
	"runsheet.example/validate/manifest"
)

// Order is a standing order of the receiver: which part of a record it wants, so
// that the patient need not know. It is a ServiceRequest by the pattern of HL7's
// guide for continuous glucose monitoring (STU 1, 1.0.0, extension
// data-submission-schedule): profiles of what is wanted and, optionally, the time
// before the last session that is covered. How often to send is the sender's to
// arrange.
type Order struct {
	// Subject is the patient that the order is for.
	Subject   ref
	Schedules []Schedule
}

// Schedule is one of an order's lists.
type Schedule struct {
	Profiles []string // canonical URLs
	// Lookback gives the first day that is covered, from the last one; nil for
	// all days.
	Lookback func(last time.Time) time.Time
}

// scheduleURL is the canonical URL of the guide's extension.
const scheduleURL = "http://hl7.org/fhir/uv/cgm/StructureDefinition/data-submission-schedule"

// ParseOrder reads a ServiceRequest. One that is not active is an error.
func ParseOrder(text []byte) (Order, error) {
	var in struct {
		ResourceType, Status string
		DoNotPerform         bool
		Subject              ref
		Extension            []struct {
			URL       string
			Extension []struct {
				URL            string
				ValueCanonical string
				ValueQuantity  struct {
					Value json.Number
					Code  string
				}
			}
		}
	}
	if err := json.Unmarshal(text, &in); err != nil || in.ResourceType != "ServiceRequest" {
		return Order{}, errors.New("the order is no ServiceRequest in JSON")
	}
	if in.Status != "active" || in.DoNotPerform {
		return Order{}, fmt.Errorf("the order is not in force (status %q): nothing is sent", in.Status)
	}
	out := Order{Subject: in.Subject}
	for _, schedule := range in.Extension {
		if schedule.URL != scheduleURL {
			continue
		}
		var one Schedule
		for _, part := range schedule.Extension {
			switch part.URL {
			case "submissionDataProfile":
				one.Profiles = append(one.Profiles, part.ValueCanonical)
			case "lookbackPeriod":
				back, err := lookback(part.ValueQuantity.Value.String(), part.ValueQuantity.Code)
				if err != nil {
					return Order{}, err
				}
				one.Lookback = back
			}
		}
		out.Schedules = append(out.Schedules, one)
	}
	if len(out.Schedules) == 0 {
		return Order{}, fmt.Errorf("the order does not say what to send: it has no extension %s", scheduleURL)
	}
	return out, nil
}

// lookback steps back whole days, weeks, months or years.
func lookback(value, code string) (func(time.Time) time.Time, error) {
	var n int
	if _, err := fmt.Sscanf(value, "%d", &n); err != nil || n <= 0 || fmt.Sprint(n) != value {
		return nil, fmt.Errorf("the order's lookback period is %q: expected a whole number above 0", value)
	}
	switch code {
	case "d":
		return func(last time.Time) time.Time { return last.AddDate(0, 0, 1-n) }, nil
	case "wk":
		return func(last time.Time) time.Time { return last.AddDate(0, 0, 1-7*n) }, nil
	case "mo":
		return func(last time.Time) time.Time { return last.AddDate(0, -n, 1) }, nil
	case "a":
		return func(last time.Time) time.Time { return last.AddDate(-n, 0, 1) }, nil
	}
	return nil, fmt.Errorf("the order's lookback period has the unit %q: expected d, wk, mo or a", code)
}

// Order reads the orders in force that the server has for a patient; what they
// ask for together is one order.
func (s *Sender) Order(ctx context.Context, patient string) (Order, error) {
	query := url.Values{"subject": {patient}, "status": {"active"}}
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodGet, Path: "ServiceRequest?" + query.Encode()})
	if err != nil {
		return Order{}, err
	}
	var bundle struct {
		Entry []struct{ Resource json.RawMessage }
	}
	if err := json.Unmarshal(reply.Body, &bundle); err != nil {
		return Order{}, errors.New("the server's answer to the search for orders cannot be read")
	}
	var out Order
	for _, e := range bundle.Entry {
		if one, err := ParseOrder(e.Resource); err == nil && one.Subject.Reference == patient {
			out.Subject = one.Subject
			out.Schedules = append(out.Schedules, one.Schedules...)
		}
	}
	if len(out.Schedules) == 0 {
		return out, fmt.Errorf("the server has no standing order in force for %s that says what to send", patient)
	}
	return out, nil
}

// kinds are the records that a profile of ours asks for. A session goes as a
// whole, since its values refer to it.
func kinds(canonical string) string {
	canonical, _, _ = strings.Cut(canonical, "|")
	name := path.Base(canonical)
	artifact, _, err := profiles.Find(name)
	switch {
	case err != nil || artifact.Name != name || artifact.Type != "StructureDefinition":
		return ""
	case name == "runsheet-report", name == "runsheet-summary":
		return fhirmap.ReportLabel
	case strings.HasPrefix(name, "runsheet-week-") || name == "runsheet-week" || name == "runsheet-weeks":
		return fhirmap.WeeksLabel
	default:
		return sessionKind
	}
}

const sessionKind = "session"

// Narrow leaves out of an export what an order does not ask for. It returns the
// profiles that it does not know. An order for another patient is an error.
func (f *Folder) Narrow(o Order, patient string) (unknown []string, err error) {
	sessions := make([]Session, len(f.Files))
	for i := range f.Files {
		if sessions[i], err = f.Session(i); err != nil {
			return nil, err
		}
		sessions[i].Resources = slices.DeleteFunc(sessions[i].Resources, func(r fhirmap.Resource) bool { return r.Type != "Procedure" }) // an export may be large
	}
	system, value, err := f.Person()
	if err != nil {
		return nil, err
	}
	wanted, unknown, err := o.choose(sessions, person{system, value}, patient)
	if err != nil {
		return nil, err
	}
	at := -1
	f.Files = slices.DeleteFunc(f.Files, func(manifest.File) bool { at++; return !wanted[at] })
	return unknown, nil
}

// Narrow leaves out of the sessions of a log what an order does not ask for and
// the receipt does not name: what was sent is corrected, also when the order no
// longer covers its day.
func Narrow(sessions []Session, r *receipt.Receipt, o Order, patient string) (kept []Session, unknown []string, err error) {
	sent := map[string]bool{}
	for _, e := range r.All() {
		sent[e.Session] = true
	}
	var whose person
	if len(sessions) > 0 {
		if whose, err = sessions[0].person(); err != nil {
			return nil, nil, err
		}
	}
	wanted, unknown, err := o.choose(sessions, whose, patient)
	for i, s := range sessions {
		if err == nil && (wanted[i] || sent[s.Identity]) {
			kept = append(kept, s)
		}
	}
	return kept, unknown, err
}

// choose tells which sessions an order asks for, and the profiles that it does
// not know.
func (o Order) choose(sessions []Session, whose person, patient string) (wanted []bool, unknown []string, err error) {
	if o.Subject.Identifier != (person{}) && o.Subject.Identifier != whose || o.Subject.Reference != "" && patient != "" && o.Subject.Reference != patient {
		return nil, nil, errors.New("the order is for another patient: nothing is sent")
	}
	days := make([]time.Time, len(sessions))
	var last time.Time
	for i, s := range sessions {
		if days[i], err = s.day(); err != nil {
			return nil, nil, err
		}
		if days[i].After(last) {
			last = days[i]
		}
	}
	wanted = make([]bool, len(sessions))
	for _, schedule := range o.Schedules {
		asked := map[string]bool{}
		for _, canonical := range schedule.Profiles {
			kind := kinds(canonical)
			if kind == "" && !slices.Contains(unknown, canonical) {
				unknown = append(unknown, canonical)
			}
			asked[kind] = true
		}
		for i, s := range sessions {
			kind := s.Label
			if !slices.Contains(fhirmap.Besides, kind) {
				kind = sessionKind
			}
			inTime := schedule.Lookback == nil || days[i].IsZero() || !days[i].Before(schedule.Lookback(last))
			wanted[i] = wanted[i] || asked[kind] && inTime
		}
	}
	return wanted, unknown, nil
}

// day is the day of a session; zero for a record without one.
func (s Session) day() (time.Time, error) {
	for _, r := range s.Resources {
		if r.Type != "Procedure" {
			continue
		}
		procedure, err := elementsOf(r.JSON)
		if err != nil {
			return time.Time{}, err
		}
		text := procedure.PerformedPeriod.Start + procedure.PerformedDateTime
		return time.Parse(time.DateOnly, text[:min(len(text), len(time.DateOnly))])
	}
	return time.Time{}, nil
}
