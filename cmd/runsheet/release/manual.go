package main

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/cli"
)

// manual returns a manual page of each command and the completions for the usual
// shells.
func manual(root *cobra.Command) ([]file, error) {
	files := pages(root)
	var failed []error
	for _, shell := range []struct {
		name  string
		write func(*bytes.Buffer) error
	}{
		{"runsheet.bash", func(w *bytes.Buffer) error { return root.GenBashCompletionV2(w, true) }},
		{"_runsheet", func(w *bytes.Buffer) error { return root.GenZshCompletion(w) }},
		{"runsheet.fish", func(w *bytes.Buffer) error { return root.GenFishCompletion(w, true) }},
		{"runsheet.ps1", func(w *bytes.Buffer) error { return root.GenPowerShellCompletionWithDesc(w) }},
	} {
		var out bytes.Buffer
		failed = append(failed, shell.write(&out))
		files = append(files, file{name: "completions/" + shell.name, text: out.Bytes()})
	}
	return files, errors.Join(failed...)
}

// pages returns the manual pages of a command and those below it. The help keeps
// its lines, tables and examples: cobra/doc would read it as Markdown and run them
// together, and brings three modules.
func pages(cmd *cobra.Command) []file {
	name := strings.ReplaceAll(cmd.CommandPath(), " ", "-")
	var out strings.Builder
	fmt.Fprintf(&out, ".TH %s 1 \"\" \"runsheet %s\"\n.SH NAME\n%s \\- %s\n", roff(strings.ToUpper(name)), cli.Version, roff(name), roff(cmd.Short))
	section := func(title, text string) {
		if text = strings.Trim(text, "\n"); text != "" {
			fmt.Fprintf(&out, ".SH %s\n.nf\n%s\n.fi\n", title, roff(text))
		}
	}
	section("SYNOPSIS", cmd.UseLine())
	section("DESCRIPTION", cmd.Long)
	section("OPTIONS", cmd.LocalFlags().FlagUsagesWrapped(72))
	section("EXAMPLES", cmd.Example)
	files := []file{{name: "man/" + name + ".1"}}
	var below []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			files = append(files, pages(c)...)
			below = append(below, strings.ReplaceAll(c.CommandPath(), " ", "-")+"(1)  "+c.Short)
		}
	}
	section("COMMANDS", strings.Join(below, "\n"))
	files[0].text = []byte(out.String())
	return files
}

// roff escapes a text for a manual page: backslashes, hyphens, and full stops and
// apostrophes at the start of a line, which would begin a request.
func roff(text string) string {
	text = strings.NewReplacer(`\`, `\e`, `-`, `\-`, "\n.", "\n\\&.", "\n'", "\n\\&'").Replace("\n" + text)
	return text[1:]
}
