package resources_test

import (
	"fmt"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// Resources of a Bundle, and the target of a reference.
func ExampleIndex_Resolve() {
	const bundle = `{"resourceType":"Bundle","type":"collection","entry":[
		{"fullUrl":"urn:uuid:a","resource":{"resourceType":"Procedure","status":"completed"}},
		{"fullUrl":"urn:uuid:b","resource":{"resourceType":"Observation","partOf":[{"reference":"urn:uuid:a"}]}}]}`
	var d doc.Doc
	d.Parse([]byte(bundle), "bundle.json")
	var index resources.Index
	index.Read(&d)
	target, outcome := index.Resolve(d.FirstChild(index.Resources[2].PartOf), 2)
	fmt.Println(len(index.Resources), index.Resources[target].Type, outcome == resources.Found)
	// Output:
	// 3 Procedure true
}
