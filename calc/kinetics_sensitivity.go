package calc

// Sensitivity is the change of a kinetic result with one uncertain input: the
// weekly standard Kt/V and EKR for several of its values.
type Sensitivity struct {
	Input  string // the varied input, in words
	Unit   string // UCUM
	Cases  []SensitivityCase
	Spread float64 // largest minus smallest standard Kt/V, 0 with fewer than two computed cases
}

// SensitivityCase is the result for one value of the uncertain input.
type SensitivityCase struct {
	Label  string
	Value  float64
	StdKtV float64
	EKR    float64
	WhyNot string // "" if computed
}
