package cli

import (
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
copied, and no other flag of audit goes with it. Nothing is written if anything of the
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

// given counts the flags of a copy that are set.
func (c *copyFlags) given(cmd *cobra.Command) (n int) {
	for _, name := range []string{"pseudonymous", "key", "new-key", "top-age"} {
		if cmd.Flags().Changed(name) {
			n++
		}
	}
	return n
}

func (c *copyFlags) run(cmd *cobra.Command, dirs []string, io streams) error {
	switch {
	case c.given(cmd) < cmd.Flags().NFlag():
		return wrongUse("a pseudonymous copy is of all of the folder: only --key, --new-key and --top-age go with --pseudonymous")
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
	report, err := pseudonym.Copy(cmd.Context(), dirs[0], c.to, pseudonym.Options{Key: key, TopAge: c.topAge})
	if err != nil {
		if c.newKey {
			_ = os.Remove(c.key) // of no copy
		}
		return err
	}
	report.Print(io.out)
	return nil
}
