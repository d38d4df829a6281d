package doc_test

import (
	"fmt"

	"runsheet.example/validate/doc"
)

func ExampleDoc() {
	var d doc.Doc
	for _, f := range d.Parse([]byte("{\"weight\": 72.50,\n \"weight\": 71}"), "x.json") {
		fmt.Printf("%s:%d:%d %s %s\n", f.File, f.Line, f.Column, f.Rule, f.Value)
	}
	fmt.Printf("%s\n", d.Raw(d.Get(d.Root(), "weight")))
	// Output:
	// x.json:2:12 json-duplicate-key weight
	// 72.50
}
