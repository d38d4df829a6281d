package calc

import "math"

// NotComputable is the error of every function of this package: it explains in
// plain words why a formula has no value for its inputs. It concerns the
// inputs, never the program.
type NotComputable string

// Error returns the reason.
func (n NotComputable) Error() string { return string(n) }

// undefined is the value of a formula without a result. It is NaN rather than
// 0, so that a caller who ignores the error cannot print a number that looks
// measured.
func undefined(why string) (float64, error) { return math.NaN(), NotComputable(why) }

// Guard returns the first non-empty reason as an error, or nil.
func Guard(reasons ...string) error {
	for _, reason := range reasons {
		if reason != "" {
			return NotComputable(reason)
		}
	}
	return nil
}

func Finite(name string, v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return name + " is not a finite number"
	}
	return ""
}

func Positive(name string, v float64) string {
	if reason := Finite(name, v); reason != "" {
		return reason
	}
	if v <= 0 {
		return name + " must be above zero"
	}
	return ""
}

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
