package cli

import (
	"regexp"
	"testing"

	"github.com/spf13/cobra"

	"runsheet.example/fhirmap"
)

// Every flag that shapes an export is one that an amendment follows: it changes
// what the manifest holds, and following that manifest gives it back.
func TestChoicesAreTheFlags(t *testing.T) {
	known := map[string]choice{}
	for _, c := range choices() {
		known[c.flag] = c
	}
	values := map[string]string{"series": "first-last", "provenance": "put", "claim-profiles": "https://unit.example/fhir"}
	usual := fhirmap.Options{}.Recorded()
	var names []string
	var all mappingFlags
	shape := &cobra.Command{}
	all.add(shape)
	for _, m := range regexp.MustCompile(`(?m)^ +--([a-z-]+)`).FindAllStringSubmatch(shape.Flags().FlagUsages(), -1) {
		names = append(names, m[1])
	}
	if len(names) != len(known) {
		t.Errorf("%d flags, %d choices", len(names), len(known))
	}
	for _, name := range names {
		c, ok := known[name]
		if !ok {
			t.Errorf("--%s is no choice", name)
			continue
		}
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
		flags.complete()
		exported := flags.mapping.Recorded()
		if exported == usual || c.say(exported) == c.say(usual) {
			t.Errorf("--%s leaves no mark in the manifest, or is not said: %s", name, c.say(exported))
		}
		var later mappingFlags
		later.add(&cobra.Command{})
		if err := later.follow(&exported, func(string) bool { return false }, false); err != nil || later.mapping != flags.mapping {
			t.Errorf("--%s: followed as %+v, %v", name, later.mapping, err)
		}
		if err := flags.follow(&usual, cmd.Flags().Changed, false); exitCode(err) != exitWrongUse {
			t.Errorf("--%s against an export without it: %v", name, err)
		}
	}
}
