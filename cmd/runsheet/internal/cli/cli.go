// Package cli is the command line of runsheet: one file per command, which
// parses flags, calls a package and prints. Results go to standard output,
// everything else to standard error, and one place ([exitCode]) maps the
// result to the exit code.
package cli

import (
	"bufio"
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

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/cmd/runsheet/internal/output"
)

// Version is the program's version. It is part of the software's identity in
// every record, so every release raises it.
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
// less frequent garbage collection shortens the wait.
const gcPercent = 400

// gcPercentLong is for checks of any size, whose memory must stay small, and
// for commands that mostly wait for a server.
const gcPercentLong = 100

// boundMemory keeps a command that reads a log below 300 MB: the limits of a
// log leave the collector room below this limit, and code and stacks are
// extra.
func boundMemory() { debug.SetMemoryLimit(220 << 20) }

// streams are the input and output of a command.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// Main runs the command line and returns the exit code.
func Main() int {
	debug.SetGCPercent(gcPercent)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	io := streams{os.Stdin, os.Stdout, os.Stderr}
	if cobra.MousetrapHelpText = ""; mousetrap.StartedByExplorer() {
		return runClicked(ctx, os.Args[1:], io)
	}
	return run(ctx, os.Args[1:], io)
}

// runClicked runs the program for Windows Explorer, which closes the window when
// the program ends: a failure waits until it is read.
func runClicked(ctx context.Context, args []string, io streams) int {
	code := run(ctx, clicked(args), io)
	if code != exitDone && ctx.Err() == nil {
		fmt.Fprintln(io.err, "Press Enter to close this window.")
		_, _ = bufio.NewReader(io.in).ReadString('\n')
	}
	return code
}

// clicked is the command line that a double click in Windows Explorer, or a folder
// dropped on the program, stands for: opening the page. On macOS a file beside the
// program does so (see cmd/runsheet/release).
func clicked(args []string) []string {
	if len(args) > 0 {
		if _, err := os.Stat(args[0]); err != nil {
			return args
		}
	}
	return append([]string{"open"}, args...)
}

func run(ctx context.Context, args []string, io streams) int {
	progress := newProgressLine(io.err)
	ctx = export.WithWatch(ctx, progress.log)
	out, errs := &shown{raw: io.out, progress: progress}, &shown{raw: io.err, progress: progress}
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

// message explains an error to the user; a missing file or a forbidden folder
// gets its path and what to do.
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

// plain removes what the system appends to a complete message.
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

// errFindings ends a command that succeeded and found errors in the data. The
// findings are already printed.
var errFindings = errors.New("findings at error level")

// errIncomplete ends a command that succeeded except that the server lacks
// some of the record. The missing part is already reported.
var errIncomplete = errors.New("the server does not hold the whole record")

// incomplete reports whether a delivery did what it could but the record at
// the server is incomplete.
func incomplete(err error) bool {
	var conflicts *deliver.ErrConflicts
	var emptied *deliver.ErrEmptied
	return errors.Is(err, errIncomplete) || errors.As(err, &conflicts) || errors.As(err, &emptied) && emptied.Partly()
}

// exitCode maps the result of every command to its exit code.
func exitCode(err error) int {
	var usage usageError
	var contradiction *deliver.Contradiction
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, context.Canceled):
		return exitInterrupted
	case errors.Is(err, errFindings), incomplete(err):
		return exitFindings
	case errors.As(err, &usage), errors.As(err, &contradiction), errors.Is(err, output.ErrExists), errors.Is(err, fs.ErrExist), strings.HasPrefix(err.Error(), "unknown command"):
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

// Root is the tree of commands on the standard streams.
func Root() *cobra.Command { return newRootCmd(streams{os.Stdin, os.Stdout, os.Stderr}) }

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
		newValidateCmd(io), newAdequacyCmd(io), newReportCmd(io), newRulesCmd(io), newProfilesCmd(io), newMapCmd(io),
		newSendCmd(io), newAmendCmd(io), newReceiveCmd(io), newAuditCmd(io), newSealCmd(io), newSignCmd(io), newOpenCmd(io),
	)
	return root
}

// exactly and atLeast check the number of arguments and state what is
// required.
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

// interruptible runs work that may block forever, such as reading a pipe
// without a writer, until the person interrupts it. Abandoned work must leave
// nothing when the program ends.
func interruptible(ctx context.Context, work func() error) error {
	done := make(chan error, 1)
	go func() { done <- work() }()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case err := <-done:
		return err
	}
}
