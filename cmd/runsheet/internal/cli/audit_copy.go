package cli

import (
	"context"
	"os"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/pseudonym"
)

const auditCopyHelp = `--pseudonymous OUT audits nothing: it writes a pseudonymous copy of the records of one
folder into an empty one. Names and ids become others by a key, all dates of a patient are
shifted by the same whole weeks, and texts, devices and files of the log are dropped, and
counted. Values, weekdays and the time between two instants stay, so that the copy can be
validated and computed again. It is still personal data, and so is the key: --new-key
writes one (32 random bytes), to be kept apart from the copy. The same key makes the same
copy. Clocks that change within the records show the season. Ages above 89 are kept, and
said; with --top-age 90, what was computed from them is left out. All of the folder is
copied: the other flags of audit have no part in it. Nothing is written if anything of the
source is found in the copy.
`

// copyFlags are those of a pseudonymous copy.
type copyFlags struct {
	to, key string
	newKey  bool
	topAge  int
}

func (c *copyFlags) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&c.to, "pseudonymous", "", "write a pseudonymous copy into this folder instead of an audit")
	f.StringVar(&c.key, "key", "", "file of the key of the copy")
	f.BoolVar(&c.newKey, "new-key", false, "write a new key into that file first")
	f.IntVar(&c.topAge, "top-age", 0, "leave out what was computed from this age or a higher one")
}

// given reports whether a copy is asked for.
func (c *copyFlags) given() bool { return c.to != "" || c.key != "" || c.newKey || c.topAge != 0 }

func (c *copyFlags) run(ctx context.Context, dirs []string, io streams) error {
	switch {
	case c.to == "" || c.key == "" || len(dirs) != 1:
		return wrongUse("a pseudonymous copy needs one DIR, --pseudonymous OUT and --key FILE")
	case c.topAge < 0:
		return wrongUse("--top-age cannot be less than 0")
	case pseudonym.Within(c.key, dirs[0]) || pseudonym.Within(c.key, c.to):
		return wrongUse("the key is in one of the folders: keep it apart from both")
	}
	read := pseudonym.ReadKey
	if c.newKey {
		read = pseudonym.NewKey
	}
	key, err := read(c.key)
	if err != nil {
		return err
	}
	report, err := pseudonym.Copy(ctx, dirs[0], c.to, pseudonym.Options{Key: key, TopAge: c.topAge})
	if err != nil {
		if c.newKey {
			_ = os.Remove(c.key) // of no copy
		}
		return err
	}
	report.Print(io.out)
	return nil
}
