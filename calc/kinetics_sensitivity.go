package calc

// Sensitivity shows how firm a kinetic result is: the weekly standard Kt/V
// and EKR when one uncertain input takes other values.
type Sensitivity struct {
	Input  string // what was changed, in words
	Unit   string // UCUM
	Cases  []SensitivityCase
	Spread float64 // largest less smallest standard Kt/V, 0 when fewer than two cases came out
}

// SensitivityCase is the result for one value of the uncertain input.
type SensitivityCase struct {
	Label  string
	Value  float64
	StdKtV float64
	EKR    float64
	WhyNot string // "" when computed
}
