package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/fhirmap/session/columnmap"
	"runsheet.example/validate/issue"
)

// mapFlags are the flags of every command that reads a log: how to read a
// sheet of another shape.
type mapFlags struct{ path, about string }

func (f *mapFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.path, "map", "", "read a sheet of another shape by this column map (see runsheet map --help)")
	cmd.Flags().StringVar(&f.about, "about", "", "with --map: the log.toml that says whose log it is")
	for _, name := range []string{"map", "about"} {
		_ = cmd.RegisterFlagCompletionFunc(name, cobra.FixedCompletions([]string{"toml"}, cobra.ShellCompDirectiveFilterFileExt))
	}
}

// readLog reads and checks a log in our format, or one in another shape
// through the column map.
func (f mapFlags) readLog(ctx context.Context, path string) (*session.Log, []issue.Finding, error) {
	var log *session.Log
	var findings []issue.Finding
	boundMemory()
	if err := interruptible(ctx, func() (err error) {
		log, findings, err = f.readWhole(path)
		return err
	}); err != nil {
		return nil, nil, err
	}
	return log, findings, nil
}

func (f mapFlags) readWhole(path string) (*session.Log, []issue.Finding, error) {
	if f.path == "" {
		if f.about != "" {
			return nil, nil, wrongUse("--about is for a sheet that is read by --map")
		}
		return readLog(path)
	}
	m, err := loadMap(f.path)
	if err != nil {
		return nil, nil, err
	}
	var about *columnmap.About
	if f.about != "" {
		text, err := os.ReadFile(f.about)
		if err != nil {
			return nil, nil, err
		}
		about = &columnmap.About{Name: filepath.Base(f.about), Text: text}
	}
	log, findings, err := columnmap.Read(path, m, about, readToday())
	if err != nil {
		return nil, nil, err
	}
	findings = check.Check(log, findings)
	return log, findings, nil
}

// loadMap reads a column map; an error in it is a usage error.
func loadMap(path string) (*columnmap.Map, error) {
	m, err := columnmap.Load(path)
	var file *os.PathError
	if err != nil && !errors.As(err, &file) {
		return nil, usageError{err}
	}
	return m, err
}

const mapExample = `  runsheet check old-sheet.xlsx --suggest-map > map.toml
  runsheet map map.toml
  runsheet check old-sheet.xlsx --map map.toml --about log.toml`

func newMapCmd(io streams) *cobra.Command {
	return &cobra.Command{
		Use:     "map MAP.toml",
		Short:   "Check a column map, by which sheets of another shape are read",
		Long:    columnmap.Help + "\n\n" + columnmap.Names() + "\n" + exitStatusHelp,
		Example: mapExample,
		Args:    exactly(1, "one column map"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return interruptible(cmd.Context(), func() error {
				m, err := loadMap(args[0])
				if err == nil {
					fmt.Fprint(io.out, m.Describe())
				}
				return err
			})
		},
	}
}

// suggestMap drafts a column map for a sheet.
func suggestMap(path string, io streams) error {
	draft, err := columnmap.Suggest(path)
	if err != nil {
		return err
	}
	first, err := draft.FirstSession(path, session.Options{})
	if err != nil {
		return err
	}
	fmt.Fprint(io.out, draft.Text)
	fmt.Fprint(io.err, first)
	fmt.Fprintln(io.err, draft.Summary())
	return nil
}
