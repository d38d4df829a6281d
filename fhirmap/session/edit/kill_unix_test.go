//go:build unix

package edit

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"runsheet.example/fhirmap/session"
)

// killedAt is the variable that makes this program one that saves a change and
// ends itself (signal 9: nothing is tidied up) at a step of the way.
const killedAt = "RUNSHEET_TEST_KILLED_AT"

func TestMain(m *testing.M) {
	if at, err := strconv.Atoi(os.Getenv(killedAt)); err == nil {
		os.Exit(saveAndDie(os.Args[1], at))
	}
	os.Exit(m.Run())
}

func saveAndDie(dir string, at int) int {
	l, err := Open(dir)
	if err == nil {
		steps := 0
		l.step = func(string) error {
			if steps++; steps == at {
				_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
				select {} // until it is gone
			}
			return nil
		}
		err = errors.Join(l.Set(session.SheetSessions, 2, "date", "c"), l.SetAbout("patient.sex", "male"), l.Save(""))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// A save killed at any step leaves each file whole, as before or as after; the
// next save succeeds, and undo returns the bytes before.
func TestKilledAtEachStep(t *testing.T) {
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{"sessions.csv": "session,date\na,b\n", "log.toml": about}
	after := map[string]string{"sessions.csv": "session,date\na,c\n", "log.toml": strings.Replace(about, `sex = ""`, `sex = "male"`, 1)}
	for at := 1; ; at++ {
		dir := folder(t, files)
		cmd := exec.Command(program, dir)
		cmd.Env = append(os.Environ(), killedAt+"="+strconv.Itoa(at))
		out, err := cmd.CombinedOutput()
		if err == nil {
			if at < 6 {
				t.Errorf("a save of two files has %d steps", at-1)
			}
			break
		}
		var died *exec.ExitError
		if !errors.As(err, &died) || died.ExitCode() != -1 {
			t.Fatalf("step %d: %v: %s", at, err, out)
		}
		for name := range files {
			if got := read(t, dir, name); got != files[name] && got != after[name] {
				t.Errorf("step %d: %s is %q", at, name, got)
			}
		}
		l := open(t, dir)
		changed := l.Cell(session.SheetSessions, 2, "date") == "c" || l.About("patient.sex") == "male"
		if err := l.Undo(); changed != (err == nil) {
			t.Errorf("step %d: undo: %v", at, err)
		}
		for name := range files {
			if got := read(t, dir, name); got != files[name] {
				t.Errorf("step %d, undone: %s is %q", at, name, got)
			}
		}
		if err := errors.Join(l.Set(session.SheetSessions, 2, "date", "d"), l.Save("")); err != nil {
			t.Errorf("step %d: the next save: %v", at, err)
		}
	}
}
