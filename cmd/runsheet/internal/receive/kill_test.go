//go:build unix

package receive

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"runsheet.example/testdata/oracle/servertest"
)

// The program is killed (signal 9) at random moments of receiving and sending,
// and started again: the server has every record once, under its patient, and the
// status is that of a run that nobody stopped. RUNSHEET_KILLS sets how often
// (.ci/kill).
func TestKilledAtRandom(t *testing.T) {
	kills, err := strconv.Atoi(cmp.Or(os.Getenv("RUNSHEET_KILLS"), "3"))
	must(t, err)
	binary := filepath.Join(t.TempDir(), "runsheet")
	if out, err := exec.Command("go", "build", "-o", binary, "runsheet.example/cmd/runsheet").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	s := servertest.Start(t)
	random := rand.New(rand.NewPCG(1, 2))
	var want map[string]int
	for round := 0; round == 0 || kills > 0; round++ {
		u := newUnit(t, rosterOf("N-0", "N-1", "N-2"))
		var patients []map[string]any
		for i := range 3 {
			number := fmt.Sprint("N-", i)
			patients = append(patients, patient(fmt.Sprint("p", i), system, number))
			u.log("first of "+number, files(t, number, 2, number))
		}
		s.Reset(t, nil, patients...)
		run := func() string {
			args := []string{"receive", u.opts.Inbox, "--roster", u.opts.Roster, "-o", u.opts.Work, "--to", s.Base, "--yes"}
			for range min(kills, 3) * min(round, 1) {
				cmd := exec.Command(binary, args...)
				must(t, cmd.Start())
				time.Sleep(time.Duration(random.IntN(1500)) * time.Millisecond)
				_ = cmd.Process.Signal(syscall.SIGKILL)
				var exit *exec.ExitError
				if err := cmd.Wait(); errors.As(err, &exit) && exit.Sys().(syscall.WaitStatus).Signaled() {
					kills--
				}
			}
			out, err := exec.Command(binary, args...).CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			return string(out)
		}
		run()
		corrected := files(t, "N-1", 3, "N-1")
		corrected["sessions.csv"] = strings.Replace(corrected["sessions.csv"], "70.", "71.", 1)
		u.log("second of N-1", corrected)
		run()
		if out := run(); strings.Count(out, "has all of it") != 3 {
			t.Errorf("round %d: %s", round, out)
		}
		got := counts(t, s)
		if round == 0 {
			want = got // of a run that nobody stopped
		}
		delete(got, "") // a Provenance of an amendment for each part that a kill made
		if round == 0 && len(got) != 3 || !maps.Equal(without(want), got) {
			t.Errorf("round %d: %v, expected %v", round, got, want)
		}
	}
}

func without(counts map[string]int) map[string]int {
	out := maps.Clone(counts)
	delete(out, "")
	return out
}
