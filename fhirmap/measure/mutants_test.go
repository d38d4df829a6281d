//go:build mutants

package measure

import "flag"

// Twenty draws kill what a hundred do, and there are many mutants.
func init() {
	if err := flag.Set("rapid.checks", "20"); err != nil {
		panic(err)
	}
}
