//go:build unix

package deliver

import (
	"errors"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
)

// The program is killed (signal 9: nothing is tidied up) at random moments of
// a send, and of an amendment, and started again: the end is the log, nothing
// twice, nothing lost, and the receipt true.
func TestKilledAtRandom(t *testing.T) {
	s := servertest.Start(t)
	binary := build(t)
	tool := fhirmap.Tool{Name: "runsheet", Version: version(t, binary)}
	before := mappedAll(t, smallLog, fhirmap.Options{Tool: tool})
	changedLog := edited(t, smallLog, "sessions.csv", "63.40,142", "63.50,142")
	after := mappedAll(t, changedLog, fhirmap.Options{Tool: tool})
	export := filepath.Join(t.TempDir(), "out")
	must(t, exec.Command(binary, "export", smallLog, "-o", export).Run())

	random := rand.New(rand.NewPCG(1, 2))
	left := number(t, "RUNSHEET_KILLS", 20) // .ci/kill sets more
	styles := []string{"transaction", "batch", "single", "put"}
	for round := 0; left > 0; round++ {
		style := styles[round%len(styles)]
		s.Reset(t, nil, smallPatient)
		d := newDelivery(t, s, Style(style))
		run := func(args ...string) {
			left -= killed(t, random, min(left, 3), binary, append(args, "--to", s.Base, "--style", style, "--yes")...)
		}
		run("send", export, "--receipt", d.receipt)
		d.same(before)
		run("amend", changedLog, "--receipts", d.receipt)
		d.same(after, "Provenance ")
		if t.Failed() {
			t.Fatalf("in round %d, style %s", round, style)
		}
	}
}

// killed starts the program and kills it at random, as often as said, then
// lets it come to its end. It gives how often it was killed while it ran.
func killed(t *testing.T, random *rand.Rand, times int, binary string, args ...string) int {
	t.Helper()
	count := 0
	for tries := 0; count < times && tries < 2*times; tries++ {
		cmd := exec.Command(binary, args...)
		must(t, cmd.Start())
		time.Sleep(time.Duration(random.IntN(250)) * time.Millisecond)
		_ = cmd.Process.Signal(syscall.SIGKILL)
		var exit *exec.ExitError
		if err := cmd.Wait(); errors.As(err, &exit) && exit.Sys().(syscall.WaitStatus).Signaled() {
			count++
		}
	}
	if out, err := exec.Command(binary, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s after %d kills: %v\n%s", args[0], count, err, out)
	}
	return count
}

func version(t *testing.T, binary string) string {
	t.Helper()
	out, err := exec.Command(binary, "--version").Output()
	must(t, err)
	return strings.TrimSpace(strings.TrimPrefix(string(out), "runsheet "))
}
