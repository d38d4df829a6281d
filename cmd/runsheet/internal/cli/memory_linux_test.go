package cli

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// A log beyond the limits is refused with one message before memory rises,
// whatever its size and shape.
func TestTooLargeLogInMemory(t *testing.T) {
	about, err := os.ReadFile("../../../../testdata/month/log.toml")
	if err != nil {
		t.Fatal(err)
	}
	sessions := "session,date,start,end,status,weight_before_kg\ns1,2025-11-03,13:00,21:30,done,72.5\n"
	for _, tt := range []struct {
		rows int
		args []string
		at   string
	}{
		{1_000_000, nil, "log is larger than 16 MiB"}, // 60 MB
		{200_000, nil, "29,000 readings"},             // 12 MB
		{200_000, []string{"--suggest-map"}, "29,000 readings"},
	} {
		dir := t.TempDir()
		var readings strings.Builder
		readings.WriteString("session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,blood_flow_ml_min,arterial_pressure_mmhg,venous_pressure_mmhg,note\n")
		for i := range tt.rows {
			fmt.Fprintf(&readings, "s1,%02d:%02d,%d,%d,%d,%d,-%d,%d,all is well tonight, so far\n", 13+i/60%8, i%60, 130+i%23, 70+i%17, 65+i%13, 300+i%4*10, 140+i%21, 140+i%23)
		}
		for name, text := range map[string]string{"log.toml": string(about), "sessions.csv": sessions, "readings.csv": readings.String()} {
			if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		path := dir
		if tt.args != nil {
			path = filepath.Join(dir, "readings.csv")
		}
		command := exec.Command("runsheet", append([]string{"check", path}, tt.args...)...)
		said, err := command.CombinedOutput()
		var exit *exec.ExitError
		if !errors.As(err, &exit) || strings.Count(string(said), "none of it was read") != 1 || !strings.Contains(string(said), tt.at) || !strings.Contains(string(said), "by years") {
			t.Errorf("%d rows: %v, %s", tt.rows, err, said)
		}
		if used := command.ProcessState.SysUsage().(*syscall.Rusage).Maxrss >> 10; used > 300 {
			t.Errorf("%d rows took %d MB", tt.rows, used)
		}
	}
}
