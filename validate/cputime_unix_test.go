//go:build unix

package validate_test

import (
	"syscall"
	"time"
)

// cpuTime is how long the processors have worked for this process.
func cpuTime() time.Duration {
	var used syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &used) != nil {
		return 0
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
