package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"runsheet.example/validate"
	"runsheet.example/validate/profile"
)

// withProfiles reads the packages and checks that the requested profiles
// exist: a check against an unknown profile would pass everything.
func withProfiles(opts *validate.Options, packages []string) error {
	for _, path := range packages {
		p, err := readPackage(path)
		if err != nil {
			return err
		}
		opts.Packages = append(opts.Packages, p)
	}
	if len(opts.Profiles) == 0 {
		return nil
	}
	library := profile.NewLibrary(opts.Packages...)
	for _, url := range opts.Profiles {
		switch err := library.Check(url); {
		case errors.Is(err, fs.ErrNotExist):
			return wrongUse("--profile %s: no such profile in the packages given, in ours or in R4", url)
		case err != nil:
			return fmt.Errorf("--profile %s: %w", url, err)
		}
	}
	return nil
}

func readPackage(path string) (*profile.Package, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	p, err := profile.ReadPackage(file)
	if err = errors.Join(err, file.Close()); err != nil {
		return nil, fmt.Errorf("--package %s: %w", path, err)
	}
	return p, nil
}
