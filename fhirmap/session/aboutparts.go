package session

import (
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// prescribed are the prescribed numbers of a [[prescription]], by key.
var prescribed = []struct {
	key   string
	field Field
	unit  string
}{
	{"dry_weight_kg", "dry_weight", "kg"},
	{"dry_weight_lb", "dry_weight", "[lb_av]"},
	{"dialysate_l", "dialysate_volume", "L"},
	{"dialysate_flow_ml_min", "dialysate_flow", "mL/min"},
	{"dialysate_flow_l_h", "dialysate_flow", "L/h"},
	{"blood_flow_ml_min", "blood_flow", "mL/min"},
	{"dialyser_koa_ml_min", "dialyser_koa", "mL/min"},
	{"uf_limit_ml_kg_h", "uf_limit", "mL/kg/h"},
}

// The words that access and devices are described by.
var (
	AccessKinds = []string{"fistula", "graft", "catheter"}
	accessSides = []string{"left", "right"}
	deviceKinds = []string{"machine", "scales", "cuff"}
	tableNames  = []string{"log", "patient", "clinic", "prescription", "access", "device"}
)

// firstDay is what is expected where the first day of an entry is missing.
const firstDay = "a date such as 2025-11-03"

// required reads a date that a part cannot do without.
func (a aboutReader) required(key string) Moment {
	m := a.date(key)
	if m.Absence == NotRecorded {
		a.complain(key, "about-required", "the entry does not say from which day on it holds", issue.T(firstDay))
	}
	return m
}

func (a aboutReader) prescription() Prescription {
	p := Prescription{
		Name:                  a.words("name"),
		ValidFrom:             a.required("valid_from"),
		SessionsPerWeek:       a.number("sessions_per_week", "/wk"),
		DurationMin:           a.number("duration_min", "min"),
		Values:                map[Field]Value{},
		Dialyser:              a.words("dialyser"),
		Anticoagulant:         a.words("anticoagulant"),
		OrderSystem:           a.uri("order_system"),
		OrderValue:            a.words("order_value"),
		ResidualUreaClearance: a.number("residual_urea_clearance_ml_min", "mL/min"),
		ResidualDate:          a.date("residual_date"),
	}
	a.weekdays(&p)
	for _, one := range prescribed {
		v := a.number(one.key, one.unit)
		if first := p.Values[one.field]; first.OK() && v.OK() {
			a.complain(one.key, "about-value", "the same thing is prescribed twice, in two units", issue.T("one of the two"))
			continue
		} else if !first.OK() && v.Absence != NotRecorded {
			p.Values[one.field] = v
		}
	}
	return p
}

// weekdays reads the planned days, as an array of their names.
func (a aboutReader) weekdays(p *Prescription) {
	v, ok := a.get("weekdays")
	if !ok {
		return
	}
	if v.kind != unstable.Array {
		a.complain("weekdays", "about-value", "the planned days must be a list", issue.T(`["mon", "wed", "fri"]`))
		return
	}
	p.WeekdaysCell = a.place("weekdays").cell
	days := dayNames()
	for _, name := range v.items {
		day, known := days[strings.ToLower(strings.TrimSpace(name))]
		if !known || slices.Contains(p.Weekdays, day) {
			a.complain("weekdays", "about-value", "a planned day is not a day of the week, or stands there twice", issue.T(`["mon", "wed", "fri"]`))
			return
		}
		p.Weekdays = append(p.Weekdays, day)
	}
	slices.Sort(p.Weekdays)
}

// access reads an access; ok is false when it is left out. The only access of
// a log can be left out without its first day: the record then names none.
// Beside others its day decides which one a session used, so that is an error.
func (a aboutReader) access(only bool) (access Access, ok bool) {
	access = Access{
		ValidFrom:   a.date("valid_from"),
		Kind:        a.oneOf("kind", AccessKinds),
		Side:        a.oneOf("side", accessSides),
		Site:        a.words("site"),
		Needling:    a.oneOf("needling", profiles.Needlings),
		NeedleGauge: a.number("needle_gauge", ""),
	}
	switch {
	case access.ValidFrom.Absence != NotRecorded:
		return access, true
	case !only:
		a.required("valid_from")
		return access, true
	}
	f := a.place("valid_from").finding("about-required", "the access does not say from which day on it is in use, so it is left out")
	f.Severity, f.Expected = issue.Warning, issue.T(firstDay)
	a.about(f)
	return access, false
}

func (a aboutReader) device() Device {
	kind := a.oneOf("kind", deviceKinds)
	if kind.Absence == NotRecorded {
		a.complain("kind", "about-required", "the entry does not say what kind of device it is", issue.Literal(strings.Join(deviceKinds, ", ")))
	}
	return Device{Kind: kind.Text, Name: a.words("name"), Serial: a.words("serial")}
}
