package calc

import "math"

// Rebound returns the rise of urea after dialysis in percent,
// 100·(Ceq - Cpost)/Cpost, from the sample at the end and one drawn 30 min or
// more later, in the same unit.
func Rebound(ureaAfter, ureaEquilibrated float64) (float64, error) {
	if err := guard(positive("urea after dialysis", ureaAfter), positive("equilibrated urea", ureaEquilibrated)); err != nil {
		return math.NaN(), err
	}
	return 100 * (ureaEquilibrated - ureaAfter) / ureaAfter, nil
}

// SpKtVDaugirdas2Volume is [SpKtVDaugirdas2] with 0.55·UF/V in place of UF/W,
// V being body water in litres (variant from memory).
func SpKtVDaugirdas2Volume(ureaRatio, hours, ufLitres, volumeL, gfacPerHour float64) (float64, error) {
	if err := guard(positive("body water", volumeL)); err != nil {
		return math.NaN(), err
	}
	return SpKtVDaugirdas2(ureaRatio, hours, ufLitres, volumeL/0.55, gfacPerHour)
}
