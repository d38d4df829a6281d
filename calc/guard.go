package calc

import "math"

// NotComputable is the error of every function of this package: it explains in
// plain words why a formula has no value for its inputs. It concerns the
// inputs, never the program.
type NotComputable string

// Error returns the reason.
func (n NotComputable) Error() string { return string(n) }

// Guard returns the first non-empty reason as an error, or nil.
func Guard(reasons ...string) error {
	for _, reason := range reasons {
		if reason != "" {
			return NotComputable(reason)
		}
	}
	return nil
}

// given returns a value, or the first reason against it. Its value is then NaN
// rather than 0, so that a caller who ignores the error cannot print a number
// that looks measured.
func given(value float64, reasons ...string) (float64, error) {
	if err := Guard(reasons...); err != nil {
		return math.NaN(), err
	}
	return value, nil
}

// why is the reason of an error, "" for none.
func why(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// Finite returns the reason against a number that is not finite, "" for none.
func Finite(name string, v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return name + " is not a finite number"
	}
	return ""
}

// Positive returns the reason against a number that is not above zero.
func Positive(name string, v float64) string {
	if reason := Finite(name, v); reason != "" {
		return reason
	}
	if v <= 0 {
		return name + " must be above zero"
	}
	return ""
}

// NotNegative returns the reason against a number below zero.
func NotNegative(name string, v float64) string {
	if reason := Finite(name, v); reason != "" {
		return reason
	}
	if v < 0 {
		return name + " must not be negative"
	}
	return ""
}

// When returns reason if the condition holds.
func When(condition bool, reason string) string {
	if condition {
		return reason
	}
	return ""
}
