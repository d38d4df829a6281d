// Package cli is the command line of runsheet: one file for each command,
// which reads its flags, calls a package and prints. Results go to standard
// output, everything else to standard error, and one place ([exitCode]) turns
// what happened into the exit code.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/output"
)

// Version is the program's version: part of the software's identity in every
// record, so raised with every release.
const Version = "0.1.0"

// Exit codes. More may be added; these do not change.
const (
	exitDone        = 0
	exitCouldNotRun = 1
	exitWrongUse    = 2
	exitFindings    = 3
	exitInterrupted = 130
)

// gcPercent trades memory for time: a month is small and a command short, so
// collecting garbage less often makes the wait shorter.
const gcPercent = 400

// gcPercentLong is for checks of any amount, whose memory is to stay small.
const gcPercentLong = 100

// gcPercentSending is for commands that wait for a server more than they work,
// and keep a receipt in memory that may be of years.
const gcPercentSending = 100

// boundMemory keeps a command that reads a log below 300 MB: the limits of a log
// leave the collector room below this bound, and code and stacks come on top.
func boundMemory() { debug.SetMemoryLimit(220 << 20) }

// streams are where a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// Main runs the command line and returns the exit code.
func Main() int {
	debug.SetGCPercent(gcPercent)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	return run(ctx, os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr})
}

func run(ctx context.Context, args []string, io streams) int {
	out, errs := &shown{raw: io.out}, &shown{raw: io.err}
	defer out.flush()
	defer errs.flush()
	io.out, io.err = out, errs
	root := newRootCmd(io)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	if ctx.Err() != nil {
		err = ctx.Err()
	}
	if err != nil && !errors.Is(err, errFindings) && !errors.Is(err, errIncomplete) {
		fmt.Fprintln(io.err, "runsheet: "+message(err))
	}
	return exitCode(err)
}

// message is the error in the user's terms; a missing file or a forbidden
// folder gets its path and what to do.
func message(err error) string {
	var path *fs.PathError
	switch {
	case errors.Is(err, context.Canceled):
		return "interrupted"
	case errors.As(err, &path) && errors.Is(err, fs.ErrPermission):
		return path.Path + ": no permission to open this; ask for access, or copy it to a folder of your own"
	case errors.As(err, &path) && errors.Is(err, fs.ErrNotExist):
		return path.Path + ": no such file or folder"
	default:
		return plain(err)
	}
}

// plain leaves out what the system adds behind a message that says it all.
func plain(err error) string {
	text := err.Error()
	for _, of := range []error{fs.ErrNotExist, fs.ErrExist, fs.ErrPermission} {
		text = strings.TrimSuffix(text, ": "+of.Error())
	}
	return text
}

// usageError marks a wrong use of the command line.
type usageError struct{ err error }

func (e usageError) Error() string { return e.err.Error() }
func (e usageError) Unwrap() error { return e.err }

func wrongUse(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// errFindings ends a command that did its work and found errors in the data.
// The findings are printed already.
var errFindings = errors.New("findings at error level")

// errIncomplete ends a command that did its work and left the server without
// some of the record. What is missing is said already.
var errIncomplete = errors.New("the server does not hold the whole record")

// incomplete reports whether a delivery did what it could and the record is not
// whole at the server.
func incomplete(err error) bool {
	var conflicts *deliver.ErrConflicts
	var emptied *deliver.ErrEmptied
	return errors.Is(err, errIncomplete) || errors.As(err, &conflicts) || errors.As(err, &emptied) && emptied.Partly()
}

// exitCode maps what happened to the exit code, for every command.
func exitCode(err error) int {
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, context.Canceled):
		return exitInterrupted
	case errors.Is(err, errFindings), incomplete(err):
		return exitFindings
	case errors.As(err, &usage), errors.Is(err, output.ErrExists), errors.Is(err, fs.ErrExist), strings.HasPrefix(err.Error(), "unknown command"):
		return exitWrongUse
	default:
		return exitCouldNotRun
	}
}

const exitStatusHelp = `
Exit status: 0 done (warnings allowed), 1 could not run, 2 wrong use,
3 findings at error level, or records that are missing or other at the server,
130 interrupted.`

const rootHelp = `Runsheet carries a home dialysis patient's treatment log into the hospital's
record system: log in, FHIR R4 out, every number computed, checked and traceable.

Values were entered by the patient and calculated by software; they are not
verified by a clinician. This is not a medical device and not for changing
treatment: follow the prescription, local policy and the care team.
` + exitStatusHelp

func newRootCmd(io streams) *cobra.Command {
	root := &cobra.Command{
		Use:           "runsheet",
		Short:         "Home dialysis log in, checked FHIR R4 out",
		Long:          rootHelp,
		Version:       Version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return cmd.Help()
		},
	}
	root.SetIn(io.in)
	root.SetOut(io.out)
	root.SetErr(io.err)
	root.SetVersionTemplate("runsheet {{.Version}}\n")
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return wrongUse("%w; see 'runsheet %s --help'", err, cmd.Name())
	})
	root.AddCommand(
		newNewCmd(io), newCheckCmd(io), newExportCmd(io),
		newValidateCmd(io), newAdequacyCmd(io), newRulesCmd(io), newProfilesCmd(io), newMapCmd(io),
		newSendCmd(io), newAmendCmd(io),
	)
	return root
}

// exactly and atLeast check the number of arguments and say what was wanted.
func exactly(n int, wanted string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) != n {
			return wrongUse("%s takes %s, not %d arguments; see 'runsheet %s --help'", cmd.Name(), wanted, len(args), cmd.Name())
		}
		return nil
	}
}

func atLeast(n int, wanted string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) < n {
			return wrongUse("%s takes %s; see 'runsheet %s --help'", cmd.Name(), wanted, cmd.Name())
		}
		return nil
	}
}
