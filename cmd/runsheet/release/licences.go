package main

import (
	"bytes"
	"debug/buildinfo"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// thirdParty returns NOTICE and the licence files of Go and of the modules
// linked into a program that was built from the module in root.
func thirdParty(root, program string) ([]byte, error) {
	notice, err := os.ReadFile(filepath.Join(root, "NOTICE"))
	if err != nil {
		return nil, err
	}
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return nil, err
	}
	var host platform
	goRoot, err := host.goCommand(root, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	out := bytes.NewBuffer(notice)
	if err := addLicences(out, "Go "+info.GoVersion, goRoot, "lib", "misc", "pkg", "src", "test"); err != nil {
		return nil, err
	}
	for _, module := range info.Deps {
		if module.Replace != nil {
			module = module.Replace
		}
		folder, err := host.goCommand(root, "list", "-m", "-f", "{{.Dir}}", module.Path)
		if err != nil {
			return nil, err
		}
		if err := addLicences(out, module.Path+" "+module.Version, folder); err != nil {
			return nil, err
		}
	}
	return out.Bytes(), nil
}

// termsFile matches the names of files that state terms, licenceFile those that
// a module must have.
var (
	termsFile   = regexp.MustCompile(`(?i)^(licen[cs]es?|copying|notice|patents)([_-][a-z0-9_-]+)?(\.(txt|md|rst))?$`)
	licenceFile = regexp.MustCompile(`(?i)^(licen[cs]es?|copying)\b`)
)

// addLicences appends the files of a module that state terms, except those in
// folders of test data, in hidden folders and in the folders named. It is an
// error if there is no licence at the module's root.
func addLicences(out *bytes.Buffer, module, folder string, except ...string) error {
	found := false
	err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, _ := filepath.Rel(folder, path)
		name = filepath.ToSlash(name)
		if entry.IsDir() {
			hidden := strings.HasPrefix(entry.Name(), ".") && path != folder
			if hidden || entry.Name() == "testdata" || slices.Contains(except, name) {
				return fs.SkipDir
			}
			return nil
		}
		if !termsFile.MatchString(entry.Name()) {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		found = found || licenceFile.MatchString(name) && len(bytes.TrimSpace(text)) > 0
		fmt.Fprintf(out, "\n%s\n%s, %s\n\n%s\n", strings.Repeat("-", 79), module, name, bytes.TrimSpace(text))
		return nil
	})
	if err == nil && !found {
		err = fmt.Errorf("%s has no licence file in %s", module, folder)
	}
	return err
}
