package fhirmap

import (
	"cmp"
	"strings"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// substances maps names to SNOMED CT substances of the Global Patient Set.
// They apply only if the name is the whole text. Product codes differ from
// country to country and are used only if the log has them.
var substances = map[string]profiles.Coding{
	"heparin": {System: profiles.SNOMED, Code: "372877000"},
}

// routes maps the log's words to verified HL7 v3 routes; other words are sent as written.
var routes = map[string]struct {
	text string
	code *profiles.Coding
}{
	"circuit": {"into the dialysis circuit", &profiles.Coding{System: profiles.RouteOfAdmin, Code: "HEMOPORT", Display: "Injection, hemodialysis port"}},
	"vein":    {"into the vein", nil},
	"skin":    {"under the skin", nil},
	"mouth":   {"by mouth", nil},

	"catheter lock": {"left in the catheter as its lock", nil},
}

// medicine writes an administration; an infusion has a rate and an end.
func (m *mapper) medicine(med *session.Medicine) error {
	id := m.names.name(m.s.ID, "medicine", med.Ordinal)
	who, _ := m.writer()
	resource := &r4.MedicationAdministration{
		Meta: m.meta(), Identifier: identifier(id), PartOf: m.procedureReference(),
		Status: "completed", MedicationCodeableConcept: medicineConcept(med), Subject: m.subject(),
		Performer: []r4.MedicationUser{{Actor: who}},
		Dosage:    dosage(med),
	}
	if m.opts.References == ByTypeID {
		resource.ID = id
	}
	when := m.within(med.At)
	switch {
	case med.Until.OK():
		resource.EffectivePeriod = &r4.Period{End: ptr(r4.DateTime(med.Until.Time))}
		if med.At.OK() {
			resource.EffectivePeriod.Start = &when.at
		}
	default:
		resource.EffectiveDateTime, resource.EffectivePeriod = when.at, when.period
	}
	if med.Dose.Absence == session.NotDone {
		resource.Status = "unknown" // not recorded whether it was given
	}
	resource.Text = narrative(med.Name.Text + ": " + resource.Dosage.Text)
	return m.add("MedicationAdministration", id, "medicine", resource, medicineCells(med)...)
}

func medicineConcept(med *session.Medicine) r4.CodeableConcept {
	var codings []profiles.Coding
	if med.CodeSystem.OK() && med.Code.OK() {
		codings = append(codings, profiles.Coding{System: med.CodeSystem.Text, Code: med.Code.Text})
	}
	if c, ok := substances[strings.ToLower(med.Name.Text)]; ok {
		codings = append(codings, c)
	}
	return concept(med.Name.Text, codings...)
}

func dosage(med *session.Medicine) *r4.Dosage {
	d := &r4.Dosage{}
	var words []string
	d.Dose, d.RateQuantity = amount(med.Dose), amount(med.Rate)
	if d.Dose == nil && d.RateQuantity == nil {
		d.Dose = noAmount(med.Dose.Absence)
	}
	if !med.Dose.OK() && !med.Rate.OK() {
		words = append(words, "dose not written down,")
	}
	if med.Dose.OK() {
		words = append(words, med.Dose.Decimal.String()+" "+unitForPeople(med.Dose.Unit))
	}
	if med.Rate.OK() {
		words = append(words, "at "+med.Rate.Decimal.String()+" "+unitForPeople(med.Rate.Unit))
	}
	if med.Route.OK() {
		route := routes[med.Route.Text]
		text := cmp.Or(route.text, med.Route.Text)
		concepts := concept(text)
		if route.code != nil {
			concepts = concept(text, *route.code)
		}
		d.Route = &concepts
		words = append(words, text)
	}
	d.Text = strings.TrimSuffix(strings.Join(words, " "), ",")
	return d
}

// amount is a dose or a rate, or a recorded absence.
func amount(v session.Value) *r4.Quantity {
	switch {
	case v.OK():
		return quantity(v.Decimal.String(), v.Unit)
	case saysAbsent(v.Absence):
		return noAmount(v.Absence)
	default:
		return nil
	}
}

// noAmount returns the reason of an absent amount: R4 invariant mad-1 requires
// a dose or a rate.
func noAmount(a session.Absence) *r4.Quantity {
	return &r4.Quantity{Extension: []r4.Extension{{
		Url: profiles.AbsentExtension, ValueCode: absent(a).Coding[0].Code,
	}}}
}

func medicineCells(med *session.Medicine) []issue.Cell {
	cells := []issue.Cell{med.Name.Cell}
	cells = append(cells, valueCells(med.Dose, med.Rate)...)
	if med.Route.OK() {
		cells = append(cells, med.Route.Cell)
	}
	return cells
}
