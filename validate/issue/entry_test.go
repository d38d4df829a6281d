package issue

import "testing"

func TestEntry(t *testing.T) {
	for expression, want := range map[string]int{
		"Bundle.entry[0]": 0, "Bundle.entry[12].resource.code": 12, "Bundle.entry[3].resource.entry[4].resource": 3,
		"": -1, "Bundle": -1, "Bundle.entry": -1, "Bundle.entry[": -1, "Bundle.entry[7": -1, "Bundle.entry[x]": -1,
		"List.entry[2]": -1, "Parameters.parameter[0].resource.entry[1]": -1,
	} {
		f := Finding{Expression: expression}
		at, ok := f.Entry()
		if !ok {
			at = -1
		}
		if at != want {
			t.Errorf("%q: entry %d, want %d", expression, at, want)
		}
	}
}
