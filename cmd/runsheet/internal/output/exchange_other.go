//go:build !linux && !darwin

package output

import "errors"

// exchange cannot be done on this system.
func exchange(_, _ string) error { return errors.ErrUnsupported }
