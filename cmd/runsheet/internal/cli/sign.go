package cli

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/cmd/runsheet/internal/seal"
	"runsheet.example/validate/manifest"
)

const signHelp = `Signs the manifest of an export, or a list of manifests that 'runsheet seal' wrote,
with a private SSH key: an SSH signature in FILE.sig beside it. A key with a
passphrase, in an agent or on a token signs the same with

  ssh-keygen -Y sign -f KEY -n ` + seal.Namespace + ` FILE

and anybody verifies either with

  ssh-keygen -Y verify -f allowed_signers -I NAME -n ` + seal.Namespace + ` -s FILE.sig < FILE

The manifest has the digest of each file; whoever signs it vouches for all of them.
A signature does not say when it was made.
` + exitStatusHelp

const sealHelp = `Writes a small list of all manifests below a folder, with path, SHA-256, root, days and
counts of each: sign it for a unit's year in place of every manifest.
` + exitStatusHelp

func newSignCmd(io streams) *cobra.Command {
	var key string
	var force bool
	cmd := &cobra.Command{
		Use:     "sign OUT|FILE --key FILE",
		Short:   "Sign the manifest of an export, or a list of manifests",
		Long:    signHelp,
		Example: "  runsheet sign out --key ~/.ssh/id_ed25519\n  runsheet sign year.json --key unit-key",
		Args:    exactly(1, "one export folder or file"),
		RunE: func(_ *cobra.Command, args []string) error {
			if key == "" {
				return wrongUse("sign needs a private key: --key FILE")
			}
			return runSign(args[0], key, force, io)
		},
	}
	cmd.Flags().StringVar(&key, "key", "", "private key in the format of OpenSSH")
	cmd.Flags().BoolVar(&force, "force", false, "replace an older signature")
	return cmd
}

func runSign(path, key string, force bool, io streams) error {
	if info, err := os.Stat(path); err != nil {
		return err
	} else if info.IsDir() {
		path = filepath.Join(path, manifest.Name)
	}
	secret, err := os.ReadFile(key)
	if err != nil {
		return err
	}
	message, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	signature, err := seal.Sign(bytes.NewReader(message), secret)
	if err != nil {
		return fmt.Errorf("%s: %w", key, err)
	}
	return writeSeal(path+seal.Ending, signature, force, io)
}

func newSealCmd(io streams) *cobra.Command {
	var out string
	var force bool
	cmd := &cobra.Command{
		Use:     "seal DIR -o FILE",
		Short:   "List the manifests of a unit's year, to be signed as one",
		Long:    sealHelp,
		Example: "  runsheet seal work -o year.json && runsheet sign year.json --key unit-key",
		Args:    exactly(1, "one folder with exports"),
		RunE: func(_ *cobra.Command, args []string) error {
			if out == "" {
				return wrongUse("seal needs a file to write: -o FILE")
			}
			text, err := seal.Make(args[0])
			if err != nil {
				return err
			}
			return writeSeal(out, text, force, io)
		},
	}
	cmd.Flags().StringVarP(&out, "output", "o", "", "file to write")
	cmd.Flags().BoolVar(&force, "force", false, "replace an older list")
	return cmd
}

func writeSeal(path string, text []byte, force bool, io streams) error {
	if _, err := output.Single(path, text, force, seal.Ours); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "Wrote %s.\n", path)
	return nil
}
