package deliver

import (
	"encoding/json"
	"fmt"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
)

// serviceRequest is a standing order with one list.
func serviceRequest(status, subject, lookback string, profiles ...string) string {
	var parts []string
	for _, p := range profiles {
		parts = append(parts, `{"url":"submissionDataProfile","valueCanonical":"`+p+`"}`)
	}
	if lookback != "" {
		value, code, _ := strings.Cut(lookback, " ")
		parts = append(parts, fmt.Sprintf(`{"url":"lookbackPeriod","valueQuantity":{"value":%s,"code":%q}}`, value, code))
	}
	return `{"resourceType":"ServiceRequest","status":"` + status + `","intent":"order","subject":` + subject + `,"extension":[{"url":"` + scheduleURL + `","extension":[` + strings.Join(parts, ",") + `]}]}`
}

// An order decides which records of an export are sent.
func TestOrder(t *testing.T) {
	export := filepath.Join(t.TempDir(), "out")
	must(t, exec.Command(build(t), "export", "../../../../testdata/month", "-o", export).Run())
	const (
		base  = "https://clinic.example/fhir/StructureDefinition/"
		owner = `{"identifier":{"system":"urn:oid:2.25.331383638406541845489215601853980652438","value":"HHD-00042"}}`
	)
	// The month has 21 sessions from 20 October to 16 November, and its weeks.
	for _, test := range []struct {
		name, order string
		sent        int
		unknown     []string
		refused     string
	}{
		{"sessions", serviceRequest("active", owner, "", base+"runsheet-session"), 21, nil, ""},
		{"by version", serviceRequest("active", owner, "", base+"runsheet-weeks|0.1.0"), 1, nil, ""},
		{"a value goes with its session", serviceRequest("active", owner, "", base+"runsheet-weight", base+"runsheet-week"), 22, nil, ""},
		{"a report that is not there", serviceRequest("active", owner, "", base+"runsheet-report"), 0, nil, ""},
		{"the last day", serviceRequest("active", owner, "1 d", base+"runsheet-session"), 1, nil, ""},
		{"two weeks: 3 to 16 November", serviceRequest("active", owner, "2 wk", base+"runsheet-session"), 11, nil, ""},
		{"a month: 17 October on", serviceRequest("active", owner, "1 mo", base+"runsheet-session"), 21, nil, ""},
		{"unknown", serviceRequest("active", owner, "", base+"runsheet-session", base+"session", base+"glucose", base+"glucose"), 21, []string{base + "session", base + "glucose"}, ""},
		{"revoked", serviceRequest("revoked", owner, "", base+"runsheet-session"), 0, nil, "not in force"},
		{"another number", serviceRequest("active", strings.Replace(owner, "00042", "00043", 1), "", base+"runsheet-session"), 0, nil, "for another patient"},
		{"another reference", serviceRequest("active", `{"reference":"Patient/2"}`, "", base+"runsheet-session"), 0, nil, "for another patient"},
		{"half a day", serviceRequest("active", owner, "12 h", base+"runsheet-session"), 0, nil, "expected d, wk, mo or a"},
		{"none", serviceRequest("active", owner, "0 d", base+"runsheet-session"), 0, nil, "above 0"},
		{"part of a week", serviceRequest("active", owner, "1.5 wk", base+"runsheet-session"), 0, nil, "a whole number"},
		{"no schedule", `{"resourceType":"ServiceRequest","status":"active"}`, 0, nil, "does not say what to send"},
		{"something else", `{"resourceType":"Patient"}`, 0, nil, "no ServiceRequest"},
	} {
		t.Run(test.name, func(t *testing.T) {
			folder, err := OpenFolder(export)
			must(t, err)
			order, err := ParseOrder([]byte(test.order))
			var unknown []string
			if err == nil {
				unknown, err = folder.Narrow(order, "Patient/1")
			}
			if test.refused != "" {
				if err == nil || !strings.Contains(err.Error(), test.refused) {
					t.Errorf("%v", err)
				}
				return
			}
			must(t, err)
			if len(folder.Files) != test.sent || !slices.Equal(unknown, test.unknown) {
				t.Errorf("%d records, unknown %v", len(folder.Files), unknown)
			}
		})
	}
}

// The orders in force that the server has for a patient are one order; one that
// is revoked, or another patient's, does not count.
func TestOrderAtServer(t *testing.T) {
	s := servertest.Start(t)
	base := "https://clinic.example/fhir/StructureDefinition/"
	s.Reset(t, nil, smallPatient, map[string]any{"resourceType": "Patient", "id": "other"})
	for i, order := range []string{
		serviceRequest("active", `{"reference":"Patient/known"}`, "", base+"runsheet-session"),
		serviceRequest("active", `{"reference":"Patient/known"}`, "2 wk", base+"runsheet-weeks"),
		serviceRequest("revoked", `{"reference":"Patient/known"}`, "", base+"runsheet-report"),
		serviceRequest("active", `{"reference":"Patient/other"}`, "", base+"runsheet-report"),
	} {
		var resource map[string]any
		must(t, json.Unmarshal([]byte(order), &resource))
		resource["id"] = fmt.Sprint("order", i)
		s.Edit(t, resource)
	}
	d := newDelivery(t, s, "")
	sender, err := d.sender(t.Context(), d.open())
	must(t, err)
	order, err := sender.Order(t.Context(), "Patient/known")
	must(t, err)
	if len(order.Schedules) != 2 {
		t.Errorf("%+v", order)
	}
	if _, err := sender.Order(t.Context(), "Patient/nobody"); err == nil || !strings.Contains(err.Error(), "no standing order in force") {
		t.Errorf("%v", err)
	}
}

// An amendment creates of what is new only what the order asks for, and keeps what
// was sent though the order no longer covers it.
func TestNarrowAmendment(t *testing.T) {
	sessions := mappedAll(t, smallLog, fhirmap.Options{}) // 3 sessions, the weeks
	order, err := ParseOrder([]byte(serviceRequest("active", `{"reference":"Patient/1"}`, "1 d", "https://clinic.example/fhir/StructureDefinition/runsheet-session")))
	must(t, err)
	r, err := receipt.Open(t.TempDir()+"/receipt.json", "https://fhir.example", "")
	must(t, err)
	kept, unknown, err := Narrow(sessions, r, order, "Patient/1")
	must(t, err)
	if len(kept) != 1 || kept[0].Label != "c" || unknown != nil {
		t.Errorf("%d kept, first %s, unknown %v", len(kept), kept[0].Label, unknown)
	}
	first := sessions[0].Resources[len(sessions[0].Resources)-1]
	r.Put(receipt.Entry{Identity: first.Identity, Type: first.Type, ID: "1", Session: sessions[0].Identity, Label: sessions[0].Label})
	if kept, _, err = Narrow(sessions, r, order, "Patient/1"); err != nil || len(kept) != 2 || kept[0].Label != sessions[0].Label {
		t.Errorf("%d kept: %v", len(kept), err)
	}
	if _, _, err = Narrow(sessions, r, order, "Patient/2"); err == nil {
		t.Error("an order for another patient is followed")
	}
}

func build(t *testing.T) string {
	t.Helper()
	binary := filepath.Join(t.TempDir(), "runsheet")
	if out, err := exec.Command("go", "build", "-o", binary, "runsheet.example/cmd/runsheet").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return binary
}
