package reference

import (
	"slices"

	"runsheet.example/validate/doc"
)

// allowed lists the types an element may refer to, for the types of resource
// a session is made of (FHIR R4 4.0.1, definitions of the elements).
var allowed = map[string][]string{
	"Observation.subject":                      {"Patient", "Group", "Device", "Location"},
	"Observation.partOf":                       {"MedicationAdministration", "MedicationDispense", "MedicationStatement", "Procedure", "Immunization", "ImagingStudy"},
	"Observation.basedOn":                      {"CarePlan", "DeviceRequest", "ImmunizationRecommendation", "MedicationRequest", "NutritionOrder", "ServiceRequest"},
	"Observation.encounter":                    {"Encounter"},
	"Observation.performer":                    {"Practitioner", "PractitionerRole", "Organization", "CareTeam", "Patient", "RelatedPerson"},
	"Observation.specimen":                     {"Specimen"},
	"Observation.device":                       {"Device", "DeviceMetric"},
	"Observation.hasMember":                    {"Observation", "QuestionnaireResponse", "MolecularSequence"},
	"Observation.derivedFrom":                  {"DocumentReference", "ImagingStudy", "Media", "QuestionnaireResponse", "Observation", "MolecularSequence"},
	"Procedure.subject":                        {"Patient", "Group"},
	"Procedure.basedOn":                        {"CarePlan", "ServiceRequest"},
	"Procedure.partOf":                         {"Procedure", "Observation", "MedicationAdministration"},
	"Procedure.encounter":                      {"Encounter"},
	"Procedure.recorder":                       {"Patient", "RelatedPerson", "Practitioner", "PractitionerRole"},
	"Procedure.asserter":                       {"Patient", "RelatedPerson", "Practitioner", "PractitionerRole"},
	"Procedure.performer.actor":                {"Practitioner", "PractitionerRole", "Organization", "Patient", "RelatedPerson", "Device"},
	"Procedure.location":                       {"Location"},
	"Procedure.usedReference":                  {"Device", "Medication", "Substance"},
	"MedicationAdministration.subject":         {"Patient", "Group"},
	"MedicationAdministration.partOf":          {"MedicationAdministration", "Procedure"},
	"MedicationAdministration.context":         {"Encounter", "EpisodeOfCare"},
	"MedicationAdministration.device":          {"Device"},
	"MedicationAdministration.performer.actor": {"Practitioner", "PractitionerRole", "Patient", "RelatedPerson", "Device"},
	"Device.patient":                           {"Patient"},
	"Device.parent":                            {"Device"},
	"Provenance.location":                      {"Location"},
	"Provenance.agent.who":                     {"Practitioner", "PractitionerRole", "RelatedPerson", "Patient", "Device", "Organization"},
	"Provenance.agent.onBehalfOf":              {"Practitioner", "PractitionerRole", "RelatedPerson", "Patient", "Device", "Organization"},
	"Patient.generalPractitioner":              {"Organization", "Practitioner", "PractitionerRole"},
	"Patient.managingOrganization":             {"Organization"},
	"Observation.note.author":                  {"Practitioner", "Patient", "RelatedPerson", "Organization"},
	"Procedure.note.author":                    {"Practitioner", "Patient", "RelatedPerson", "Organization"},
	"Provenance.signature.who":                 {"Practitioner", "PractitionerRole", "RelatedPerson", "Patient", "Device", "Organization"},
}

// maxPath is longer than any path in allowed.
const maxPath = 64

// target checks the type a reference leads to against what its element
// allows; from is the resource the element stands in.
func (c *checker) target(n, element doc.Node, from int, named []byte) {
	var room [maxPath]byte
	path := append(room[:0], c.rec.Resources[from].Type...)
	types, known := allowed[string(c.path(path, element, c.rec.Resources[from].Node))]
	if !known || slices.Contains(types, string(named)) {
		return
	}
	f := c.d.Finding(n, "ref-target-type")
	f.Details, f.Value = "the element does not take this type of resource", string(named)
	f.Expected = listed(types)
	c.add(f)
}

// path appends the names from a resource down to an element, without indices.
func (c *checker) path(room []byte, element, resource doc.Node) []byte {
	if element == resource || element == doc.None {
		return room
	}
	room = c.path(room, c.d.Parent(element), resource)
	if name := c.d.Key(element); len(name) > 0 {
		room = append(append(room, '.'), name...)
	}
	return room
}

func listed(types []string) string {
	text := ""
	for i, t := range types {
		switch {
		case i == 0:
		case i == len(types)-1:
			text += " or "
		default:
			text += ", "
		}
		text += t
	}
	return text
}
