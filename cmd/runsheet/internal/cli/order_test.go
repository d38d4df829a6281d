package cli

import (
	"os"
	"path/filepath"
	"testing"

	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate/manifest"
)

// What a standing order chose is corrected under the same order; without one,
// nothing that it left out is sent.
func TestAmendUnderOrder(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, monthPatient)
	folder := t.TempDir()
	out, order := filepath.Join(folder, "out"), filepath.Join(folder, "order.json")
	text := `{"resourceType":"ServiceRequest","status":"active","intent":"order","subject":{},"extension":[{"url":"http://hl7.org/fhir/uv/cgm/StructureDefinition/data-submission-schedule","extension":[` +
		`{"url":"submissionDataProfile","valueCanonical":"https://clinic.example/fhir/StructureDefinition/runsheet-session"},{"url":"lookbackPeriod","valueQuantity":{"value":1,"code":"d"}}]}]}`
	if err := os.WriteFile(order, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	command(t, exitDone, "export", monthLog, "-o", out)
	_, said := command(t, exitDone, "send", out, "--to", s.Base, "--order", order, "--yes")
	contains(t, said, "The order asks for 1 of the 22 records in the export")
	sent := len(s.State(t).Resources)

	amend := []string{"amend", monthLog, "--receipts", out + manifest.ReceiptEnding, "--to", s.Base}
	_, said = command(t, exitWrongUse, append(amend, "--yes")...)
	contains(t, said, "a standing order chose what was sent")
	command(t, exitWrongUse, "send", out, "--to", s.Base, "--yes")
	_, said = command(t, exitDone, append(amend, "--order", order, "--yes")...)
	contains(t, said, "Nothing has changed")
	if n := len(s.State(t).Resources); n != sent {
		t.Errorf("%d resources at the server, %d were sent", n, sent)
	}
	_, said = command(t, exitFindings, append(amend, "--other-options")...)
	contains(t, said, "To be sent: ")
}
