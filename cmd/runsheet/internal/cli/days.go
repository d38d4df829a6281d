package cli

import (
	"time"

	"github.com/spf13/cobra"
)

// daysFlags are the first and the last day of what is asked for.
type daysFlags struct{ from, to string }

func (f *daysFlags) add(cmd *cobra.Command, from, to string) {
	cmd.Flags().StringVar(&f.from, "from", "", from)
	cmd.Flags().StringVar(&f.to, "to", "", to)
}

// parse returns the days, zero where none is given.
func (f daysFlags) parse() (from, to time.Time, err error) {
	for i, text := range []string{f.from, f.to} {
		if text == "" {
			continue
		}
		day := [...]*time.Time{&from, &to}[i]
		if *day, err = time.Parse(time.DateOnly, text); err != nil {
			return from, to, wrongUse("%q is no day: --from and --to take one such as 2025-11-01", text)
		}
	}
	if !from.IsZero() && !to.IsZero() && to.Before(from) {
		return from, to, wrongUse("--to %s is before --from %s", f.to, f.from)
	}
	return from, to, nil
}
