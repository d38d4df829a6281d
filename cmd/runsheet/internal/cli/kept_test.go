package cli

import (
	"os"
	"path/filepath"
	"testing"

	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate/manifest"
)

// What a receiver does not keep is said, named in the receipt and by --verify,
// and offered again.
func TestSendToReceiverThatKeepsPart(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, servertest.Switches{"refuse": map[string]any{"match": `"resourceType":"MedicationAdministration"`, "status": 422}},
		servertest.Patient("urn:oid:2.25.331383638406541845489215601853980652438", "HHD-00007"))
	out := filepath.Join(t.TempDir(), "out")
	command(t, exitDone, "export", "../../../../fhirmap/testdata/small", "-o", out)
	send := func(code int, more ...string) (table, said string) {
		t.Helper()
		return command(t, code, append([]string{"send", out, "--to", s.Base, "--style", "batch"}, more...)...)
	}
	table, said := send(exitFindings, "--yes")
	contains(t, table, "NOT KEPT", "MedicationAdministration", "422 processing")
	contains(t, said, "The server did not keep ", "the receipt names them")
	table, said = send(exitFindings, "--verify")
	contains(t, table, "NOT KEPT", "422 processing")
	contains(t, said, "Not sent yet: ")
	text, err := os.ReadFile(out + manifest.ReceiptEnding)
	if err != nil {
		t.Fatal(err)
	}
	contains(t, string(text), `"notKept":[{`)
	s.Switch(t, servertest.Switches{"refuse": nil})
	send(exitDone, "--yes")
	send(exitDone, "--verify")
}
