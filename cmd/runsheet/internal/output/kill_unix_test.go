//go:build unix

package output

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
)

// killedAt is the variable that makes this program one that replaces a folder
// and ends itself (signal 9: nothing is tidied up) at a step of the way.
const killedAt = "RUNSHEET_TEST_KILLED_AT"

func TestMain(m *testing.M) {
	if at, err := strconv.Atoi(os.Getenv(killedAt)); err == nil {
		os.Exit(replaceAndDie(os.Args[1], os.Args[2] == "aside", at))
	}
	os.Exit(m.Run())
}

// replaceAndDie replaces the older folder and dies at the given step; with
// fewer steps than that it lives.
func replaceAndDie(dir string, moveAside bool, at int) int {
	_, err := folder(dir, newer, true, func(f *Folder) {
		if moveAside {
			withoutExchange(f)
		}
		steps := 0
		f.step = func() {
			if steps++; steps == at {
				_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
				select {} // until it is gone
			}
		}
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// A run killed at any step leaves the older or the newer folder, whole; where
// folders cannot be exchanged the next run puts it back. The run after it
// succeeds, and nothing is left beside it.
func TestKilledAtEachStep(t *testing.T) {
	times := 1 // .ci/replace sets more
	if text := os.Getenv("RUNSHEET_KILLS"); text != "" {
		var err error
		if times, err = strconv.Atoi(text); err != nil {
			t.Fatal(err)
		}
	}
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	kills := map[string]int{}
	for round := 0; round == 0 || kills["exchange"]+kills["aside"] < times; round++ {
		for _, how := range []string{"exchange", "aside"} {
			for at := 1; killedOnce(t, program, how, at); at++ {
				kills[how]++
			}
		}
	}
	// Each file, the flush and the end are steps; moving aside has two more.
	if least := len(newer) + 2; kills["exchange"] < least || kills["aside"] < least+2 {
		t.Errorf("killed only %v times", kills)
	}
	t.Logf("killed %v times", kills)
}

// killedOnce reports whether the program was killed before its end.
func killedOnce(t *testing.T, program, how string, at int) bool {
	t.Helper()
	parent := t.TempDir()
	dir := filepath.Join(parent, "out")
	if _, err := folder(dir, older, false, nil); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, dir, how)
	cmd.Env = append(os.Environ(), killedAt+"="+strconv.Itoa(at))
	out, err := cmd.CombinedOutput()
	status, ok := cmd.ProcessState.Sys().(syscall.WaitStatus)
	killed := ok && status.Signaled() && status.Signal() == syscall.SIGKILL
	if err != nil && !killed {
		t.Fatalf("%s, step %d: %v\n%s", how, at, err, out)
	}
	if how == "exchange" && !holds(dir, older) && !holds(dir, newer) {
		t.Errorf("killed at step %d: neither the older nor the newer folder is there", at)
	}
	if f, err := NewFolder(dir, true, ours); err != nil { // the beginning of the next run
		t.Errorf("%s, killed at step %d: %v", how, at, err)
	} else {
		if !holds(dir, older) && !holds(dir, newer) {
			t.Errorf("%s, killed at step %d: neither folder is there at the next run", how, at)
		}
		f.Close()
	}
	if _, err := folder(dir, newer, true, nil); err != nil || !holds(dir, newer) {
		t.Errorf("%s, after a kill at step %d: %v", how, at, err)
	}
	if left, err := os.ReadDir(parent); err != nil || len(left) != 1 {
		t.Errorf("%s, after a kill at step %d: left behind: %v, %v", how, at, left, err)
	}
	return killed
}
