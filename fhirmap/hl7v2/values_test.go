package hl7v2

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"runsheet.example/fhirmap"
)

// valuesOf are the values of a record, each as [row.value] has it, read from the
// JSON without the types of the package.
func valuesOf(t *testing.T, record fhirmap.SessionRecord) []string {
	t.Helper()
	var out []string
	for _, r := range record.Resources {
		var v any
		decoder := json.NewDecoder(bytes.NewReader(r.JSON))
		decoder.UseNumber()
		if err := decoder.Decode(&v); err != nil {
			t.Fatal(err)
		}
		e := expected{r: r, json: v.(map[string]any)}
		switch r.Type {
		case "Observation":
			e.observation()
		case "MedicationAdministration":
			e.medicine(record)
		case "DiagnosticReport":
			form := e.json["presentedForm"].([]any)[0].(map[string]any)
			e.add("visit-report", "ED", "^application^PDF^Base64^"+form["data"].(string), "", "F")
		}
		out = append(out, e.out...)
	}
	return out
}

// notesOf are the notes of a record, and the words of its Procedure.
func notesOf(record fhirmap.SessionRecord) []string {
	var out []string
	for _, r := range record.Resources {
		var v map[string]any
		_ = json.Unmarshal(r.JSON, &v) // valuesOf has read it
		for _, n := range list(v["note"]) {
			if r.Type != "Device" {
				out = append(out, text(dig(n, "text")))
			}
		}
		for what, path := range map[string][]string{"Reason: ": {"statusReason", "text"}, "Access: ": {"bodySite", "text"}, "": {"usedCode", "text"}} {
			if words := text(dig(v, path...)); words != "" {
				out = append(out, what+words)
			}
		}
		if r.Type == "Observation" {
			if words := text(dig(v, "method", "text")); words != "" {
				out = append(out, "Method: "+words)
			}
		}
	}
	return out
}

// expected are the values of a resource.
type expected struct {
	r    fhirmap.Resource
	json map[string]any
	out  []string
}

// dig follows members and the first items of lists.
func dig(v any, path ...string) any {
	for _, name := range path {
		if list, ok := v.([]any); ok && len(list) > 0 {
			v = list[0]
		}
		object, _ := v.(map[string]any)
		v = object[name]
	}
	return v
}

func text(v any) string {
	if v == nil {
		return ""
	}
	return asRead.Replace(strings.ReplaceAll(fmt.Sprint(v), "\r\n", "\n"))
}

// asRead replaces what HAPI leaves escaped, where RUNSHEET_HL7_READER is its reader.
var asRead = func() *strings.Replacer {
	if !strings.Contains(os.Getenv("RUNSHEET_HL7_READER"), "MessageRows") {
		return strings.NewReplacer()
	}
	return strings.NewReplacer("\n", `\.br\`, "\t", `\X09\`)
}()

func compactTime(fhir string) string {
	out := strings.NewReplacer("T", "", ":", "").Replace(strings.Replace(fhir, "Z", "+0000", 1))
	return strings.Replace(strings.Replace(out, "-", "", 1), "-", "", 1)
}

func (e *expected) add(code, kind, value, unit, letter string) {
	sub := strings.ReplaceAll(e.r.Identity, "-", "")[:16]
	if e.r.Reading > 0 {
		sub = fmt.Sprint(e.r.Reading)
	}
	at := text(e.json["effectiveDateTime"])
	if at == "" {
		at = text(dig(e.json, "effectivePeriod", "start"))
	}
	if at == "" {
		at = text(dig(e.json, "effectivePeriod", "end"))
	}
	e.out = append(e.out, fmt.Sprintf("%s %s %s %q %s %s %s", code, sub, kind, value, unit, letter, compactTime(at)))
}

func (e *expected) observation() {
	for i, holder := range append([]any{e.json}, list(e.json["component"])...) {
		code := text(dig(holder, "code", "coding", "code"))
		if code == "" {
			code = e.r.Role
		}
		letter := map[string]string{"preliminary": "P"}[text(e.json["status"])]
		if letter == "" {
			letter = "F"
		}
		quantity := dig(holder, "valueQuantity")
		number, unit := text(dig(quantity, "value")), text(dig(quantity, "code"))
		comparator, words := text(dig(quantity, "comparator")), text(dig(holder, "valueString"))
		switch concept := dig(holder, "valueCodeableConcept"); {
		case comparator != "":
			e.add(code, "SN", comparator+"^"+number, unit, letter)
		case number != "":
			e.add(code, "NM", number, unit, letter)
		case dig(holder, "valueInteger") != nil:
			e.add(code, "NM", text(dig(holder, "valueInteger")), "", letter)
		case concept != nil:
			e.add(code, "CWE", text(dig(concept, "coding", "code"))+"^"+conceptText(concept), "", letter)
		case strings.Contains(fmt.Sprint(dig(holder, "valueString")), "\n"):
			e.add(code, "FT", words, "", letter)
		case words != "":
			e.add(code, "ST", words, "", letter)
		case dig(holder, "dataAbsentReason") != nil:
			e.add(code, "", "", "", "X")
		case i > 0:
			e.add(code, "a component without a value", "", "", "")
		}
	}
}

// conceptText is the display with the text, as [row.value] joins CWE-2 and 9.
func conceptText(concept any) string {
	if list(dig(concept, "coding")) == nil {
		return text(dig(concept, "text"))
	}
	return text(dig(concept, "coding", "display")) + text(dig(concept, "text"))
}

func list(v any) []any {
	out, _ := v.([]any)
	return out
}

func (e *expected) medicine(record fhirmap.SessionRecord) {
	concept := dig(e.json, "medicationCodeableConcept")
	letter := map[string]string{"completed": "F", "unknown": "P"}[text(e.json["status"])]
	e.add("medicine", "CWE", text(dig(concept, "coding", "code"))+"^"+conceptText(concept), "", letter)
	for _, part := range []string{"dose", "rateQuantity"} {
		name := map[string]string{"dose": "medicine-dose", "rateQuantity": "medicine-rate"}[part]
		switch amount := dig(e.json, "dosage", part); {
		case dig(amount, "value") != nil:
			e.add(name, "NM", text(dig(amount, "value")), text(dig(amount, "code")), letter)
		case amount != nil:
			e.add(name, "", "", "", "X")
		}
	}
	if route := dig(e.json, "dosage", "route"); route != nil {
		e.add("medicine-route", "CWE", text(dig(route, "coding", "code"))+"^"+conceptText(route), "", letter)
	}
	if end := text(dig(e.json, "effectivePeriod", "end")); end != "" && !record.Session.End.Time.Equal(mustTime(end)) {
		e.add("medicine-end", "TS", compactTime(end), "", letter)
	}
}

func mustTime(fhir string) time.Time {
	at, _ := time.Parse(time.RFC3339, fhir)
	return at
}
