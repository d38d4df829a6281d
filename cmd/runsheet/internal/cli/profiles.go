package cli

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/profiles"
	"runsheet.example/validate/report"
)

const profilesHelp = `The profiles that exported records fit: list them, read one, or write the FHIR
package that a server or validator loads.

Exported records do not claim them unless 'runsheet export --claim-profiles' says
so, because a server that does not know a profile may refuse the record. They fit
them all the same.
` + exitStatusHelp

func newProfilesCmd(io streams) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "profiles",
		Short: "List, read or pack the FHIR profiles of the record",
		Long:  profilesHelp,
		Example: `  runsheet profiles list
  runsheet profiles show weight
  runsheet profiles show runsheet-codes-to-receiver --format csv
  runsheet profiles pack -o package.tgz --canonical https://fhir.clinic.example/dialysis`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newProfilesListCmd(io), newProfilesShowCmd(io), newProfilesPackCmd(io), newProfilesFitCmd(io))
	return cmd
}

func newProfilesListCmd(io streams) *cobra.Command {
	var format string
	var all bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the definitions of the package",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			return listProfiles(format, all, io)
		},
	}
	cmd.Flags().StringVar(&format, "format", "text", "text or json")
	cmd.Flags().BoolVar(&all, "all", false, "list the examples too, valid and invalid")
	return cmd
}

func listProfiles(format string, all bool, io streams) error {
	artifacts, err := profiles.Artifacts()
	if err != nil {
		return err
	}
	var listed []profiles.Artifact
	for _, a := range artifacts {
		if all || a.Kind == profiles.Definition || a.Kind == profiles.View {
			listed = append(listed, a)
		}
	}
	switch format {
	case "json":
		return report.WriteJSON(io.out, listed)
	case "text":
		for _, a := range listed {
			if _, err := fmt.Fprintf(io.out, "%-36s %-24s %s\n", a.Name, a.Type, a.Title); err != nil {
				return err
			}
		}
		return nil
	default:
		return wrongUse("unknown format %q: expected text or json", format)
	}
}

func newProfilesShowCmd(io streams) *cobra.Command {
	var format string
	cmd := &cobra.Command{
		Use:   "show NAME",
		Short: "Print one definition or example, as a page or as JSON",
		Args:  exactly(1, "one name; 'runsheet profiles list --all' prints them"),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return profileNames(), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(_ *cobra.Command, args []string) error {
			return showProfile(args[0], format, io)
		},
	}
	cmd.Flags().StringVar(&format, "format", "markdown", "markdown or json; csv for "+profiles.EmptyMap)
	return cmd
}

func profileNames() []string {
	artifacts, err := profiles.Artifacts()
	if err != nil {
		return nil // completion offers nothing; the command reports it
	}
	var names []string
	for _, a := range artifacts {
		names = append(names, a.Name+"\t"+a.Title)
	}
	return names
}

func showProfile(name, format string, io streams) error {
	_, text, err := profiles.Find(name)
	if errors.Is(err, fs.ErrNotExist) {
		return wrongUse("no profile or example %q; 'runsheet profiles list --all' prints their names", name)
	}
	if err != nil {
		return err
	}
	switch format {
	case "json":
		_, err = io.out.Write(text)
		return err
	case "markdown":
		return profiles.Page(io.out, name)
	case "csv":
		if name != profiles.EmptyMap {
			return wrongUse("only %s can be written as CSV", profiles.EmptyMap)
		}
		return profiles.WriteEmptyMap(io.out)
	default:
		return wrongUse("unknown format %q: expected markdown or json", format)
	}
}

func newProfilesPackCmd(io streams) *cobra.Command {
	var out, canonical string
	var force bool
	cmd := &cobra.Command{
		Use:   "pack -o package.tgz",
		Short: "Write the FHIR package that servers and validators load",
		Args:  exactly(0, "no argument but the flag -o FILE"),
		RunE: func(*cobra.Command, []string) error {
			return packProfiles(out, canonical, force, io)
		},
	}
	f := cmd.Flags()
	f.StringVarP(&out, "output", "o", "", "file to write, or - for standard output")
	f.StringVar(&canonical, "canonical", profiles.DefaultCanonical, "base of the canonical URLs: a domain of the publisher's own")
	f.BoolVar(&force, "force", false, "replace an older file")
	return cmd
}

func packProfiles(out, canonical string, force bool, io streams) error {
	if out == "" {
		return wrongUse("pack needs a file to write to: -o package.tgz")
	}
	if err := profiles.CheckCanonical(canonical); err != nil {
		return usageError{err}
	}
	var archive bytes.Buffer
	if err := profiles.Pack(&archive, canonical); err != nil {
		return err
	}
	if out == "-" {
		_, err := raw(io.out).Write(archive.Bytes())
		return err
	}
	outcome, err := output.Single(out, archive.Bytes(), force, isPackage)
	if err != nil {
		return err
	}
	if outcome == output.Unchanged {
		fmt.Fprintf(io.err, "Nothing has changed: %s holds the same bytes already.\n", out)
		return nil
	}
	fmt.Fprintf(io.err, "Wrote %s, under %s.\n", out, canonical)
	return nil
}

// isPackage recognises an older FHIR package by its first bytes: a tar whose
// files are below package/, compressed.
func isPackage(head []byte) bool {
	plain, err := gzip.NewReader(bytes.NewReader(head))
	if err != nil {
		return false
	}
	first, err := tar.NewReader(plain).Next()
	return err == nil && strings.HasPrefix(first.Name, "package/")
}
