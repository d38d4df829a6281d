package cli

import (
	"regexp"
	"testing"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
)

// Every flag that shapes an export is one that an amendment follows: it changes
// what the manifest holds, and following that manifest gives it back.
func TestChoicesAreTheFlags(t *testing.T) {
	values := map[string]string{"series": "first-last", "provenance": "put", "claim-profiles": "https://unit.example/fhir", "codes": "testdata/codes.csv", "display": "none", "tag": "urn:oid:2.25.1|home"}
	usual := fhirmap.Options{}.Recorded()
	var names []string
	var all mappingFlags
	shape := &cobra.Command{}
	all.add(shape)
	for _, m := range regexp.MustCompile(`(?m)^ +--([a-z-]+)`).FindAllStringSubmatch(shape.Flags().FlagUsages(), -1) {
		names = append(names, m[1])
	}
	if len(names) < len(values) {
		t.Errorf("flags %s", names)
	}
	for _, name := range names {
		value := values[name]
		if value == "" {
			value = "true"
		}
		var flags mappingFlags
		cmd := &cobra.Command{}
		flags.add(cmd)
		if err := cmd.Flags().Set(name, value); err != nil {
			t.Fatal(err)
		}
		exported := flags.mapping.Recorded()
		if exported == usual {
			t.Errorf("--%s leaves no mark in the manifest", name)
		}
		none := func(string) bool { return false }
		if later, err := deliver.Follow(new(receipt.Receipt), &exported, usual, none, "", false); err != nil || later != exported {
			t.Errorf("--%s: followed as %+v, %v", name, later, err)
		}
		if _, err := deliver.Follow(new(receipt.Receipt), &usual, exported, cmd.Flags().Changed, "", false); exitCode(err) != exitWrongUse {
			t.Errorf("--%s against an export without it: %v", name, err)
		}
		if later, err := deliver.Follow(new(receipt.Receipt), &usual, exported, cmd.Flags().Changed, "", true); err != nil || later != exported {
			t.Errorf("--%s in place of the export's: %+v, %v", name, later, err)
		}
	}
}
