package open

import (
	"encoding/json"
	"strings"
	"time"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// bundle and the types below are as much of FHIR R4 as the preview puts into
// words. Numbers keep the digits that they are written with.
type bundle struct {
	Entry []struct {
		Resource resource `json:"resource"`
	} `json:"entry"`
}

type concept struct {
	Coding []struct {
		System  string `json:"system"`
		Code    string `json:"code"`
		Display string `json:"display"`
	} `json:"coding"`
	Text string `json:"text"`
}

type quantity struct {
	Comparator string      `json:"comparator"`
	Value      json.Number `json:"value"`
	Unit       string      `json:"unit"`
}

type period struct {
	Start string `json:"start"`
	End   string `json:"end"`
}

type component struct {
	Code     concept   `json:"code"`
	Quantity *quantity `json:"valueQuantity"`
	Text     string    `json:"valueString"`
	Concept  *concept  `json:"valueCodeableConcept"`
	Date     string    `json:"valueDateTime"`
	Absent   *concept  `json:"dataAbsentReason"`
}

type resource struct {
	Type string `json:"resourceType"`
	component
	Status     string      `json:"status"`
	Components []component `json:"component"`
	Effective  string      `json:"effectiveDateTime"`
	Period     *period     `json:"effectivePeriod"`
	Performed  *period     `json:"performedPeriod"`
	Planned    string      `json:"performedDateTime"` // the day of one that was not done
	Medication *concept    `json:"medicationCodeableConcept"`
	Kind       *concept    `json:"type"`
	Dosage     *struct {
		Dose  *quantity `json:"dose"`
		Route *concept  `json:"route"`
	} `json:"dosage"`
	Names []struct {
		Name string `json:"name"`
	} `json:"deviceName"`
	Notes []struct {
		Text string `json:"text"`
	} `json:"note"`
}

func (c *concept) words() string {
	switch {
	case c == nil:
		return ""
	case c.Text != "":
		return c.Text
	case len(c.Coding) > 0:
		return c.Coding[0].Display
	}
	return ""
}

// codes are the codes of a concept for people who read them.
func (c *concept) codes() (out []string) {
	if c == nil {
		return nil
	}
	for _, one := range c.Coding {
		out = append(out, strings.TrimSpace(one.System+" "+one.Code+" "+one.Display))
	}
	return out
}

func (q *quantity) words() string {
	if q == nil {
		return ""
	}
	return strings.TrimSpace(q.Comparator + q.Value.String() + " " + q.Unit)
}

func (c component) value() string {
	for _, text := range []string{c.Quantity.words(), c.Text, c.Concept.words(), c.Date, c.Absent.words()} {
		if text != "" {
			return text
		}
	}
	return ""
}

// kinds are the words for types of resources, by the group of the page.
var kinds = map[string]string{
	"Observation": "Values", "Procedure": "The treatment itself", "MedicationAdministration": "Medicines",
	"Device": "Devices and supplies", "Provenance": "Where it comes from", "Patient": "You", "Composition": "The treatment itself",
}

// shown puts a resource into words.
func (r resource) shown(l issue.Language) sentValue {
	v := sentValue{Kind: kinds[r.Type], Name: r.Code.words(), Value: r.value(), When: r.when(), Codes: r.Code.codes()}
	switch r.Type {
	case "MedicationAdministration":
		v.Name, v.Codes = r.Medication.words(), r.Medication.codes()
		if r.Dosage != nil {
			v.Value = strings.TrimSpace(r.Dosage.Dose.words() + " " + r.Dosage.Route.words())
		}
	case "Device":
		v.Name, v.Codes = r.Kind.words(), r.Kind.codes()
		if len(r.Names) > 0 {
			v.Value = r.Names[0].Name
		}
	case "Procedure":
		v.Value = l.Text(issue.T(r.Status))
	case "Provenance":
		v.Name = l.Text(issue.T("entered by you, calculated by this program; not verified by a clinician"))
	}
	v.Name = inLanguage(l, v.Name)
	for _, c := range r.Components {
		if text := c.value(); text != "" {
			v.Value = strings.TrimPrefix(v.Value+"; "+inLanguage(l, c.Code.words())+" "+text, "; ")
		}
	}
	for _, n := range r.Notes {
		if r.Type == "Observation" { // how it was come by
			v.Codes = append(v.Codes, n.Text)
			continue
		}
		v.Value = strings.TrimPrefix(v.Value+"; "+n.Text, "; ")
	}
	return v
}

// inLanguage is the name of a measured value in a language, by its English text
// in a record.
func inLanguage(l issue.Language, text string) string {
	if l == issue.English {
		return text
	}
	for _, row := range profiles.Rows() {
		for _, m := range row.Codes {
			if m.Text == text && row.Name.English() != "" {
				return l.Text(issue.T(row.Name.English()))
			}
		}
	}
	return text
}

func (r resource) when() string {
	at := r.Effective
	for _, p := range []*period{r.Period, r.Performed} {
		if p != nil && at == "" {
			at = p.Start
		}
	}
	if t, err := time.Parse(time.RFC3339, at); err == nil {
		return t.Format("15:04")
	}
	return ""
}

// day is the day on which a treatment began or was planned.
func (r resource) day() time.Time {
	at := r.Planned
	if r.Performed != nil {
		at = r.Performed.Start
	}
	t, _ := time.Parse(time.DateOnly, at[:min(len(at), len(time.DateOnly))])
	return t
}
