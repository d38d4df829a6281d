//go:build !linux && !darwin

package output

import "errors"

// exchange fails: this system cannot do it.
func exchange(_, _ string) error { return errors.ErrUnsupported }
