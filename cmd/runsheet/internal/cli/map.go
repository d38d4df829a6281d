package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/adequacy"
	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/cmd/runsheet/internal/questionnaire"
	"runsheet.example/fhirmap/session"
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
func (f mapFlags) readLog(ctx context.Context, path string) (log *session.Log, findings []issue.Finding, err error) {
	boundMemory()
	export.WatchOf(ctx)(export.Progress{})
	err = interruptible(ctx, func() error {
		in, err := f.input(path)
		if err == nil {
			log, findings, err = in.Read()
		}
		return err
	})
	return log, findings, err
}

// logOrRecords reads one log in any of its shapes, like readLog; log is nil where
// the paths are those of exported records.
func (f mapFlags) logOrRecords(ctx context.Context, paths []string) (log *session.Log, findings []issue.Finding, err error) {
	if len(paths) > 1 || adequacy.IsRecord(paths[0]) && !questionnaire.IsResponse(paths[0]) {
		return nil, nil, nil
	}
	log, findings, err = f.readLog(ctx, paths[0])
	if errors.Is(err, session.ErrNoLog) && adequacy.HasRecords(paths[0]) {
		return nil, nil, nil
	}
	return log, findings, err
}

func (f mapFlags) input(path string) (in export.Input, err error) {
	in.Path = path
	if f.path == "" {
		if f.about != "" {
			return in, wrongUse("--about is for a sheet that is read by --map")
		}
		return in, nil
	}
	if in.Map, err = loadMap(f.path); err != nil || f.about == "" {
		return in, err
	}
	text, err := os.ReadFile(f.about)
	in.About = &columnmap.About{Name: filepath.Base(f.about), Text: text}
	return in, err
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
