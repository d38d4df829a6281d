//go:build examples

package schema_test

import (
	"path/filepath"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/schema"
)

// TestPartsOfExamples holds that asking about the parts changes nothing on the
// examples that HL7 publishes with R4 (npm hl7.fhir.r4.examples 4.0.1, CC0),
// and that nearly all of them are known to be valid by their parts. Run
// bash .ci/examples, which gets them.
func TestPartsOfExamples(t *testing.T) {
	files, err := filepath.Glob("../../testdata/oracle/examples/node_modules/hl7.fhir.r4.examples/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no examples (%v): run bash .ci/examples", err)
	}
	checker, certified := schema.New(), 0
	var d doc.Doc
	for _, file := range files {
		data := read(t, file)
		sameVerdict(t, checker, data)
		if d.Parse(data, ""); schema.Certifies(checker, &d) {
			certified++
		}
	}
	t.Logf("table: JSON Schema by parts: %d of %d documents known to be valid by their parts", certified, len(files))
	if certified < len(files)*98/100 {
		t.Error("too many had to be looked at as a whole")
	}
}
