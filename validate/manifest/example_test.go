package manifest_test

import (
	"fmt"
	"strings"

	"runsheet.example/validate/manifest"
)

// A manifest read part by part.
func ExampleScan() {
	const text = `{"format":1,"bundles":[{"file":"session-1.json"},{"file":"session-2.json"}],"root":"12ab"}`
	err := manifest.Scan(strings.NewReader(text), func(p manifest.Part) error {
		fmt.Printf("%s %t %q\n", p.Member, p.Element, p.Value)
		return nil
	})
	fmt.Println(err)
	// Output:
	// format false "1"
	// bundles false ""
	// bundles true "{\"file\":\"session-1.json\"}"
	// bundles true "{\"file\":\"session-2.json\"}"
	// root false "\"12ab\""
	// <nil>
}
