package session

import (
	"maps"
	"strings"
	"time"

	"runsheet.example/validate/issue"
)

// About is the content of log.toml, about the log as a whole.
type About struct {
	// LogID is the UUID written once by the template.
	LogID    string
	TimeZone string // IANA name
	// DateStyle is "iso" (2025-11-03), "dmy" (3/11/2025) or "mdy".
	DateStyle string
	// TimeForm is how times of day are written beside 18:30.
	TimeForm ClockForm
	// DecimalMark is '.' or ',', zero when the log does not declare one.
	DecimalMark rune
	// Language is the one findings are written in, "" when the log has none.
	Language string

	// PatientSystem and PatientValue identify the patient. Where the log does
	// not give both, Local is set and they are made of the log's id: enough to
	// check and export a log for oneself, and never to be sent.
	PatientSystem string
	PatientValue  string
	Local         bool
	// PatientName is optional and never exported unless asked for.
	PatientName string
	Sex         Text // male or female, for body water only
	BirthDate   Moment
	HeightCm    Value
	Clinic      Text
	// EncryptTo is the clinic's public key (age-encryption.org/v1), for which what
	// the pages hand over is encrypted.
	EncryptTo Text
	// Questions are what the patient wants to ask at the next visit, in the
	// words of the log; they are printed and never exported.
	Questions []string

	Prescriptions []Prescription // sorted by ValidFrom
	Accesses      []Access       // sorted by ValidFrom
	Devices       []Device       // in file order
}

// Prescription is what the clinic ordered from a date on.
type Prescription struct {
	// Name is given to a prescription other than the usual one. It is
	// followed by the sessions that name it and never comes in force by its
	// day.
	Name            Text
	ValidFrom       Moment
	SessionsPerWeek Value // /wk; absent when Weekdays are given
	Weekdays        []time.Weekday
	WeekdaysCell    issue.Cell
	DurationMin     Value // min
	Values          map[Field]Value
	Dialyser        Text
	Anticoagulant   Text
	// OrderSystem and OrderValue identify the order in the clinic's system.
	OrderSystem Text
	OrderValue  Text
	// ResidualUreaClearance is in mL/min, measured on ResidualDate.
	ResidualUreaClearance Value
	ResidualDate          Moment
}

// Access is the vascular access in use from a date on.
type Access struct {
	ValidFrom   Moment
	Kind        Text // fistula, graft, catheter
	Side        Text // left, right
	Site        Text
	Needling    Text // ladder, buttonhole, area
	NeedleGauge Value
}

// Device is a machine, scales or cuff the person uses.
type Device struct {
	Kind   string // machine, scales, cuff
	Name   Text
	Serial Text
}

// PrescriptionOn returns the usual prescription in force on a day.
func (a *About) PrescriptionOn(day time.Time) (Prescription, bool) { return a.prescription("", day) }

// PrescriptionFor returns the prescription that a session followed: the one
// it names, or else the usual one in force on its day. The schedule, the dry
// weight, the UF limit and the residual clearance are those of the usual one where the named
// one does not state them.
func (a *About) PrescriptionFor(s *Session) (Prescription, bool) {
	usual, ok := a.PrescriptionOn(s.Date.Time)
	named := s.Texts["prescription"]
	if !named.OK() {
		return usual, ok
	}
	p, ok := a.prescription(named.Text, s.Date.Time)
	if !ok {
		return p, false
	}
	if !p.SessionsPerWeek.OK() && len(p.Weekdays) == 0 {
		p.SessionsPerWeek, p.Weekdays = usual.SessionsPerWeek, usual.Weekdays
	}
	if !p.ResidualUreaClearance.OK() {
		p.ResidualUreaClearance, p.ResidualDate = usual.ResidualUreaClearance, usual.ResidualDate
	}
	p.Values = maps.Clone(p.Values)
	for _, own := range []Field{"dry_weight", "uf_limit"} {
		if !p.Values[own].OK() {
			p.Values[own] = usual.Values[own]
		}
	}
	return p, true
}

// prescription finds the last prescription of a name up to a day.
func (a *About) prescription(name string, day time.Time) (Prescription, bool) {
	for i := len(a.Prescriptions) - 1; i >= 0; i-- {
		p := a.Prescriptions[i]
		if strings.EqualFold(p.Name.Text, name) && !p.ValidFrom.Time.After(day) {
			return p, true
		}
	}
	return Prescription{}, false
}

// AccessOn returns the access in use on a day.
func (a *About) AccessOn(day time.Time) (Access, bool) {
	for i := len(a.Accesses) - 1; i >= 0; i-- {
		if !a.Accesses[i].ValidFrom.Time.After(day) {
			return a.Accesses[i], true
		}
	}
	return Access{}, false
}

// AgeOn returns the age in whole years on a day; ok is false if it is not known.
func (a *About) AgeOn(day Moment) (years int, ok bool) {
	if !a.BirthDate.OK() || !day.OK() || day.Time.Before(a.BirthDate.Time) {
		return 0, false
	}
	birth := a.BirthDate.Time
	years = day.Time.Year() - birth.Year()
	if day.Time.Month() < birth.Month() || day.Time.Month() == birth.Month() && day.Time.Day() < birth.Day() {
		years--
	}
	return years, true
}
