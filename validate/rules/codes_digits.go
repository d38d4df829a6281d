package rules

import "bytes"

// loincOK reports whether a code has the form of LOINC: a number, a hyphen and
// a check digit by the Luhn algorithm (mod 10, LOINC Users' Guide), or, for
// parts, answers and groups, the same after a prefix of letters. No common
// check digit rule for codes with letters was verified here, so only their
// form is checked.
func loincOK(code []byte) bool {
	number, digit, ok := bytes.Cut(code, []byte("-"))
	if !ok || len(digit) != 1 || !isDigit(digit[0]) {
		return false
	}
	letters := bytes.TrimLeft(number, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
	prefixed := len(letters) < len(number)
	if len(letters) == 0 || len(letters) > 9 || !allDigits(letters) {
		return false
	}
	return prefixed || luhn(letters) == digit[0]-'0'
}

// luhn returns the mod 10 check digit of a number.
func luhn(number []byte) byte {
	sum := 0
	for i, c := range number {
		d := int(c - '0')
		if (len(number)-i)%2 == 1 {
			if d *= 2; d > 9 {
				d -= 9
			}
		}
		sum += d
	}
	return byte((10 - sum%10) % 10)
}

// snomedOK reports whether a code has the form of a SNOMED CT identifier: 6 to
// 18 digits without leading zero, the last a check digit by Verhoeff's
// dihedral scheme (SNOMED CT Technical Implementation Guide). A
// post-coordinated expression is not checked.
func snomedOK(code []byte) bool {
	if bytes.ContainsAny(code, ":+{=|") {
		return true
	}
	return len(code) >= 6 && len(code) <= 18 && code[0] != '0' && allDigits(code) && verhoeff(code)
}

// Multiplication in the dihedral group D5 and the permutation of Verhoeff
// (Verhoeff 1969).
var (
	dihedral = [10][10]byte{
		{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, {1, 2, 3, 4, 0, 6, 7, 8, 9, 5},
		{2, 3, 4, 0, 1, 7, 8, 9, 5, 6}, {3, 4, 0, 1, 2, 8, 9, 5, 6, 7},
		{4, 0, 1, 2, 3, 9, 5, 6, 7, 8}, {5, 9, 8, 7, 6, 0, 4, 3, 2, 1},
		{6, 5, 9, 8, 7, 1, 0, 4, 3, 2}, {7, 6, 5, 9, 8, 2, 1, 0, 4, 3},
		{8, 7, 6, 5, 9, 3, 2, 1, 0, 4}, {9, 8, 7, 6, 5, 4, 3, 2, 1, 0},
	}
	permuted = [8][10]byte{
		{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, {1, 5, 7, 6, 2, 8, 3, 0, 9, 4},
		{5, 8, 0, 3, 7, 9, 6, 1, 4, 2}, {8, 9, 1, 6, 0, 4, 3, 5, 2, 7},
		{9, 4, 5, 3, 1, 2, 6, 8, 7, 0}, {4, 2, 8, 6, 5, 7, 3, 9, 0, 1},
		{2, 7, 9, 3, 8, 0, 6, 4, 1, 5}, {7, 0, 4, 6, 9, 1, 3, 2, 5, 8},
	}
)

// verhoeff reports whether the check digit at the end of a number is correct.
func verhoeff(number []byte) bool {
	var c byte
	for i := range number {
		c = dihedral[c][permuted[i%8][number[len(number)-1-i]-'0']]
	}
	return c == 0
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func allDigits(text []byte) bool {
	for _, c := range text {
		if !isDigit(c) {
			return false
		}
	}
	return true
}
