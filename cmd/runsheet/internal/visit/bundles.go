package visit

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"runsheet.example/cmd/runsheet/internal/adequacy"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/recompute"
	"runsheet.example/validate/resources"
)

// FromRecords reads exported records: files and folders of FHIR JSON, and the
// manifests beside them. Records of two patients are an error.
func FromRecords(paths []string) (*Record, error) {
	r := &Record{weekDone: map[time.Time]int{}}
	in := bundles{record: r, at: map[string]int{}}
	for _, path := range paths {
		records, err := adequacy.ReadRecords(path, in.read)
		if err == nil {
			err = in.err
		}
		if err != nil {
			return nil, err
		}
		for _, row := range records.Rows() {
			in.computed(row)
		}
		if !adequacy.IsRecord(path) {
			in.manifest(filepath.Join(path, manifest.Name))
		}
	}
	if r.digest == "" {
		r.digest = digest(in.digests)
	}
	return r, r.usable()
}

// bundles collects the record of documents; at has the treatments by the
// identity of their Procedure.
type bundles struct {
	record  *Record
	at      map[string]int
	digests []string
	err     error
}

func (b *bundles) read(d *doc.Doc, data []byte) {
	var rec resources.Index
	rec.Read(d)
	b.digests = append(b.digests, digest([]string{string(data)})+"\n")
	for i := range rec.Resources {
		if res := &rec.Resources[i]; res.Type == "Procedure" && rec.HasCoding(res.Code, profiles.Haemodialysis) {
			b.procedure(d, res)
		}
	}
	for i := range rec.Resources {
		res := &rec.Resources[i]
		if res.Type == "MedicationAdministration" && res.Hub != resources.Nowhere && !d.Is(res.Status, "entered-in-error") {
			if at, ok := b.at[string(rec.Resources[res.Hub].Identity)]; ok {
				b.record.treatments[at].medicines = append(b.record.treatments[at].medicines, doseIn(d, res.Node))
			}
		}
		if _, computed := rec.IsComputed(res); res.Type != "Observation" || computed || res.Hub == resources.Nowhere || d.Is(res.Status, "entered-in-error") {
			continue
		}
		if at, ok := b.at[string(rec.Resources[res.Hub].Identity)]; ok {
			b.observation(&rec, res, &b.record.treatments[at])
		}
	}
}

// ErrTwoPatients is returned for records of more than one patient.
var ErrTwoPatients = errors.New("these are records of two patients; a report is of one")

func (b *bundles) procedure(d *doc.Doc, res *resources.Resource) {
	if d.Is(res.Status, "entered-in-error") {
		return
	}
	identifier := d.Get(res.Subject, "identifier")
	system, patient := string(d.Str(d.Get(identifier, "system"))), string(d.Str(d.Get(identifier, "value")))
	if patient == "" {
		system, patient = "", string(d.Str(d.Get(res.Subject, "reference")))
	}
	if len(b.at) > 0 && (system != b.record.system || patient != b.record.patient) {
		b.err = ErrTwoPatients
		return
	}
	b.record.system, b.record.patient = system, patient
	text := d.Str(res.Effective)
	if d.Kind(res.Effective) == doc.Object {
		text = d.Str(d.Get(res.Effective, "start"))
	}
	start, ok := moment(string(text))
	if _, twice := b.at[string(res.Identity)]; !ok || twice {
		return
	}
	t := treatment{id: string(res.Identity), start: start, values: map[string]value{}, reason: string(d.Str(d.Get(d.Get(res.Node, "statusReason"), "text")))}
	switch {
	case d.Is(res.Status, "not-done"):
		t.status = notDone
	case d.Is(res.Status, "stopped"):
		t.status = cutShort
	}
	b.at[t.id] = len(b.record.treatments)
	b.record.treatments = append(b.record.treatments, t)
}

// doseIn is the dose of a MedicationAdministration, or its rate.
func doseIn(d *doc.Doc, node doc.Node) dose {
	one := dose{name: string(d.Str(d.Get(d.Get(node, "medicationCodeableConcept"), "text")))}
	dosage := d.Get(node, "dosage")
	for _, name := range [...]string{"dose", "rateQuantity"} {
		amount := d.Get(dosage, name)
		number, err := strconv.ParseFloat(string(d.Raw(d.Get(amount, "value"))), 64)
		if err == nil && one.amount.text == "" {
			one.amount = value{text: string(d.Raw(d.Get(amount, "value"))), unit: string(d.Str(d.Get(amount, "code"))), number: number}
		}
	}
	return one
}

// moment reads a date or a time as the local time that its offset says.
func moment(text string) (time.Time, bool) {
	if at, err := time.Parse(time.RFC3339, text); err == nil {
		return wall(at), true
	}
	at, err := time.Parse(time.DateOnly, text)
	return at, err == nil
}

func (b *bundles) observation(rec *resources.Index, res *resources.Resource, t *treatment) {
	number := func(q resources.Quantity) value {
		return value{text: string(q.Text), unit: string(q.Unit), number: q.Number, preliminary: rec.Doc.Is(res.Status, "preliminary")}
	}
	if p, ok := rec.Pressure(res); ok {
		if rec.Doc.Is(rec.Doc.Get(rec.Doc.FirstChild(res.Extensions), "url"), profiles.BodyPosition) {
			return // standing
		}
		for key, q := range map[string]resources.Quantity{"systolic": p.Systolic, "diastolic": p.Diastolic} {
			switch phase := res.Phase; {
			case q.Text == nil:
			case phase == profiles.PhasePre:
				t.set("bp_before_"+key, number(q))
			case phase == profiles.PhaseIntra && key == "systolic":
				t.readings = append(t.readings, map[string]value{"bp_systolic": number(q)})
				t.lowest()
			}
		}
		return
	}
	if res.Row != nil {
		if kind, ok := strings.CutPrefix(string(res.Row.Field), "event_"); ok {
			t.events = append(t.events, event{kind, string(rec.Doc.Str(rec.Doc.Get(rec.Doc.Get(res.Node, "valueCodeableConcept"), "text")))})
			return
		}
	}
	if !res.HasQuantity || res.Row == nil && !rec.IsLaboratory(res) {
		return
	}
	if rec.IsLaboratory(res) {
		name := issue.Literal(string(rec.Doc.Str(rec.Doc.Get(res.Code, "text"))))
		if res.Row != nil {
			name = nameOf(string(res.Row.Field), map[profiles.Phase]string{profiles.PhasePre: "before", profiles.PhasePost: "after"}[res.Phase])
		}
		if at, ok := moment(string(rec.Doc.Str(res.Effective))); ok {
			b.record.labs = append(b.record.labs, lab{day(at), name, number(res.Quantity)})
		}
		return
	}
	field := string(res.Row.Field)
	if res.Phase == profiles.PhaseIntra && res.Span.HasStart && res.Span.Start == res.Span.End {
		t.addReading(res.Span.Start, field, number(res.Quantity))
		return
	}
	t.set(field, number(res.Quantity))
}

// computed adds the values that the records state.
func (b *bundles) computed(row recompute.Row) {
	v := value{text: row.Value, unit: row.Unit, method: row.Method}
	at, ok := b.at[row.Session]
	if !ok {
		b.record.addWeek(row.Key, row.Start, v)
		return
	}
	b.record.treatments[at].set(row.Key, v)
}

// manifest adds what the manifest of an export says; a folder may have none.
func (b *bundles) manifest(path string) {
	data, err := os.ReadFile(path)
	var m manifest.Manifest
	if err != nil || json.Unmarshal(data, &m) != nil {
		return
	}
	r := b.record
	r.logID, r.rules, r.local = m.Log.ID, m.Rules, m.Log.ForOneself
	r.zones = append(r.zones, m.Log.TimeZone)
	var lines []string
	for _, s := range m.Log.Sources {
		lines = append(lines, s.SHA256+"  "+s.Name+"\n")
	}
	r.digest = digest(lines)
	r.undated += len(m.LeftOut)
	for _, e := range m.Expected {
		if from, ok := moment(e.From); ok && e.SessionsPerWeek != "" {
			one := treatment{values: map[string]value{}}
			one.set("sessions", value{text: string(e.SessionsPerWeek), unit: "/wk"})
			r.plans = append(r.plans, plan{from, one.values})
		}
	}
}

// addReading adds a number to the reading of a moment.
func (t *treatment) addReading(at int64, field string, v value) {
	key := fmt.Sprint(at)
	for _, reading := range t.readings {
		if reading["at"].text == key {
			reading[field] = v
			return
		}
	}
	t.readings = append(t.readings, map[string]value{"at": {text: key}, field: v})
}
