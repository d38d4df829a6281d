//go:build !unix

package validate_test

import "time"

// cpuTime is not known here.
func cpuTime() time.Duration { return 0 }
