package cli

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/report"
)

const fitHelp = `Holds records as this program writes them against every profile of FHIR packages
that is for a type of them, and says which they fit, which not and why, which option
may help, and what cannot be told. The records are the examples of our own package,
or with --records those of an export, one of each role.

Give also the packages on which those are based; no server is asked for them. A
profile whose code or category no record has is counted only (--all lists it): it is
for something else, or asks for a code of its own beside ours (export --codes).
` + exitStatusHelp

type fitFlags struct {
	records, format string
	all             bool
}

func newProfilesFitCmd(io streams) *cobra.Command {
	var flags fitFlags
	cmd := &cobra.Command{
		Use:     "fit PACKAGE.tgz...",
		Short:   "Say which profiles of other packages our records fit",
		Long:    fitHelp,
		Example: "  runsheet profiles fit base.tgz dialysis-guide.tgz\n  runsheet profiles fit guide.tgz --records out --format json",
		Args:    atLeast(1, "one or more FHIR packages (.tgz)"),
		RunE: func(_ *cobra.Command, args []string) error {
			return runFit(args, flags, io)
		},
	}
	f := cmd.Flags()
	f.StringVar(&flags.records, "records", "", "an export folder, in place of the examples")
	f.StringVar(&flags.format, "format", "text", "text or json")
	f.BoolVar(&flags.all, "all", false, "list every error, and profiles whose code or category no record has")
	return cmd
}

func runFit(paths []string, flags fitFlags, io streams) error {
	if flags.format != "text" && flags.format != "json" {
		return wrongUse("unknown format %q: expected text or json", flags.format)
	}
	var packages []*profile.Package
	for _, path := range paths {
		p, err := readPackage(path)
		if err != nil {
			return err
		}
		packages = append(packages, p)
	}
	samples, err := examples()
	if flags.records != "" {
		samples, err = recordsIn(flags.records)
	}
	if err != nil {
		return err
	}
	fits, others := profile.FitAll(packages, samples)
	bare, _ := profile.FitAll(packages, withoutDisplays(samples))
	if flags.format == "json" {
		return report.WriteJSON(io.out, fits)
	}
	counts := map[profile.Verdict]int{}
	for i, fit := range fits {
		counts[fit.Verdict]++
		if fit.Verdict != profile.OtherKind || flags.all {
			printFit(fit, bare[i].Verdict == profile.FitsAll, flags.all, io)
		}
	}
	fmt.Fprintf(io.err, "%s for %d types of our records: %d fit, %d fit some, %d do not, %d are for another code or category, %d cannot be told; %d are for other types.\n",
		issue.Plural(len(fits), "profile", "profiles"), kinds(samples), counts[profile.FitsAll], counts[profile.FitsSome], counts[profile.FitsNone], counts[profile.OtherKind], counts[profile.CannotCheck], others)
	return nil
}

// printFit prints a verdict, the first errors and what may help.
func printFit(fit profile.Fit, withoutDisplay, all bool, io streams) {
	fmt.Fprintf(io.out, "%-14s  %s (%s)\n", fit.Verdict, fit.URL, fit.Type)
	if len(fit.Fits) > 0 {
		fmt.Fprintf(io.out, "    fit: %s\n", strings.Join(fit.Fits, ", "))
	}
	const few = 3
	for i, e := range fit.Errors {
		if i == few && !all {
			fmt.Fprintf(io.out, "    and %d more\n", len(fit.Errors)-few)
			break
		}
		fmt.Fprintf(io.out, "    %s: %s: %s\n", fit.Nearest, e.Expression, issue.English.Text(e.Details))
	}
	for _, text := range fit.NotChecked {
		fmt.Fprintf(io.out, "    not checked: %s\n", text)
	}
	if help := helps(fit, withoutDisplay); help != "" {
		fmt.Fprintf(io.out, "    may help: %s\n", help)
	}
}

// options by the element that an error is about.
var options = []struct{ element, option string }{
	{".code", "--codes FILE, with the codes that the profile asks for"},
	{".meta.tag", "--tag SYSTEM|CODE"},
	{".meta.profile", "--claim-profiles"},
	{".subject", "--patient Patient/ID"},
	{".note", "--no-notes"},
}

func helps(fit profile.Fit, withoutDisplay bool) string {
	if withoutDisplay && fit.Verdict != profile.FitsAll {
		return "--display none (tried: all fit then)"
	}
	for _, o := range options {
		for _, e := range fit.Errors {
			if strings.HasPrefix(strings.TrimPrefix(e.Expression, fit.Type), o.element) {
				return o.option
			}
		}
	}
	return ""
}

func kinds(samples []profile.Sample) int {
	seen := map[string]bool{}
	for _, s := range samples {
		var r struct{ ResourceType string }
		_ = json.Unmarshal(s.JSON, &r) // read before
		seen[r.ResourceType] = true
	}
	return len(seen)
}

// examples are those of our own package.
func examples() (out []profile.Sample, err error) {
	all, err := profiles.Artifacts()
	for _, a := range all {
		if a.Kind != profiles.Example {
			continue
		}
		_, text, err := profiles.Find(a.Name)
		if err != nil {
			return nil, err
		}
		out = append(out, profile.Sample{Name: a.Name, JSON: text})
	}
	return out, err
}

// recordsIn are the Bundles of an export and their resources, one of each role.
func recordsIn(folder string) (out []profile.Sample, err error) {
	text, err := os.ReadFile(filepath.Join(folder, manifest.Name))
	if err != nil {
		return nil, err
	}
	var m manifest.Manifest
	if err := json.Unmarshal(text, &m); err != nil {
		return nil, fmt.Errorf("%s: %w", folder, err)
	}
	seen := map[string]bool{}
	for _, f := range m.Files {
		bundle, err := os.ReadFile(filepath.Join(folder, filepath.Base(f.File)))
		if err != nil {
			return nil, err
		}
		var b struct {
			Entry []struct{ Resource json.RawMessage }
		}
		if err := json.Unmarshal(bundle, &b); err != nil || len(b.Entry) != len(f.Resources) {
			return nil, fmt.Errorf("%s: expected one Bundle for each session, as the manifest names them", f.File)
		}
		for i, r := range f.Resources {
			if name := r.Type + " " + r.Role; !seen[name] {
				seen[name] = true
				out = append(out, profile.Sample{Name: r.Role, JSON: b.Entry[i].Resource})
			}
		}
		if !seen[f.Status] {
			seen[f.Status] = true
			out = append(out, profile.Sample{Name: f.File, JSON: bundle})
		}
	}
	return out, nil
}

// withoutDisplays are the same resources as --display none writes them.
func withoutDisplays(samples []profile.Sample) (out []profile.Sample) {
	var strip func(value any)
	strip = func(value any) {
		switch v := value.(type) {
		case map[string]any:
			if _, coding := v["code"]; coding && v["system"] != nil {
				delete(v, "display")
			}
			for _, inner := range v {
				strip(inner)
			}
		case []any:
			for _, inner := range v {
				strip(inner)
			}
		}
	}
	for _, s := range samples {
		decoder := json.NewDecoder(strings.NewReader(string(s.JSON)))
		decoder.UseNumber()
		var value any
		if decoder.Decode(&value) == nil {
			strip(value)
			if text, err := json.Marshal(value); err == nil {
				s.JSON = text
			}
		}
		out = append(out, s)
	}
	return out
}
