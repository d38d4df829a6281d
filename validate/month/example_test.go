package month_test

import (
	"fmt"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
	"runsheet.example/validate/resources"
)

// Two records with one identifier and other content.
func ExampleMonth() {
	var m month.Month
	add := func(f issue.Finding) { fmt.Println(f.Rule, f.Value) }
	for name, value := range []string{"71.5", "72.5"} {
		text := fmt.Sprintf(`{"resourceType":"Observation","status":"final","code":{"text":"weight"},
			"identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:1"}],"valueQuantity":{"value":%s}}`, value)
		var d doc.Doc
		file := fmt.Sprintf("%d.json", name)
		d.Parse([]byte(text), file)
		var index resources.Index
		index.Read(&d)
		var digest month.Digest
		m.Reader().Read(&digest, &index, 0)
		m.Add(&digest, month.Source{File: file}, add)
	}
	m.Finish(100, add)
	// Output:
	// month-record-conflict urn:uuid:1; also at 0.json entry 0
}
