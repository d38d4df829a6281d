package check

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// exchangedDigits is the number with two digits beside each other exchanged
// that fits, when exactly one does.
func exchangedDigits(v session.Value, fits func(float64) bool) (text string, ok bool) {
	if foreignUnit(v) {
		return "", false
	}
	for i := range len(v.Text) - 1 {
		digits := []byte(v.Text)
		j := i + 1
		if strings.ContainsAny(v.Text[j:j+1], ".,") {
			j++
		}
		if j >= len(digits) || digits[i] == digits[j] {
			continue
		}
		digits[i], digits[j] = digits[j], digits[i]
		d, err := session.ParseDecimal(strings.Replace(string(digits), ",", ".", 1), '.')
		if err != nil || len(digits) > 1 && digits[0] == '0' && !strings.ContainsAny(string(digits[1:2]), ".,") || !fits(d.Float64()) {
			continue
		}
		if ok {
			return "", false
		}
		text, ok = string(digits), true
	}
	return text, ok
}

// oneSlip reports two numbers that differ by one slip of the pen: two digits
// exchanged, one digit lost or too many, or one digit wrong.
func oneSlip(a, b string) bool {
	if len(a) < len(b) {
		a, b = b, a
	}
	first := 0
	for first < len(b) && a[first] == b[first] {
		first++
	}
	switch rest := a[first:]; {
	case len(a) == len(b)+1:
		return rest[1:] == b[first:]
	case len(a) != len(b) || first == len(b):
		return false
	case len(rest) > 1 && rest[0] == b[first+1] && rest[1] == b[first]:
		return rest[2:] == b[first+2:]
	default:
		return rest[1:] == b[first+1:]
	}
}

// inFinerSteps reports a number that one slip of the pen makes of another, and that is
// written in steps at least five times as fine: 2300 beside 2000, 141 beside 140. What is
// set for a day is about as round as what is set always (common practice).
func inFinerSteps(number, usual float64) bool {
	const finer, digits = 5, 3
	step := func(v float64) int { // in thousandths
		n, tens := int(math.Round(v*math.Pow10(digits))), 1
		for ; n != 0 && n%10 == 0; n /= 10 {
			tens *= 10
		}
		if n%5 == 0 {
			return 5 * tens
		}
		return tens
	}
	return oneSlip(short(number), short(usual)) && step(number)*finer <= step(usual)
}

// slipNear is the number within room of the expected one that is one slip of the pen
// from a value, in its decimals, and much nearer than any other; "" for none.
func slipNear(v session.Value, expected, room float64) (meant string) {
	text := strings.Replace(v.Text, ",", ".", 1)
	_, decimals, _ := strings.Cut(text, ".")
	step := math.Pow10(-len(decimals))
	const much = 3 // times (common practice)
	best, next := math.Inf(1), math.Inf(1)
	for n := math.Ceil((expected - room) / step); n <= (expected+room)/step && !foreignUnit(v); n++ {
		other := strconv.FormatFloat(n*step, 'f', len(decimals), 64)
		if other == text || !oneSlip(text, other) {
			continue
		}
		off := math.Abs(n*step - expected)
		if off < best {
			meant, best, next = other, off, best
		} else {
			next = min(next, off)
		}
	}
	if next < much*max(best, step/2) {
		return ""
	}
	if v.Text != text {
		meant = strings.Replace(meant, ".", ",", 1)
	}
	return meant
}

// slipsOfNumber are the numbers that a slip of the decimal point, or one wrong
// digit, may have made of a value.
func slipsOfNumber(v session.Value) (all []float64) {
	for _, slip := range decimalSlips {
		all = append(all, v.Decimal.Float64()*slip.factor)
	}
	text := strings.Replace(v.Text, ",", ".", 1)
	for i := range text {
		for digit := byte('0'); digit <= '9' && text[i] != '.' && !foreignUnit(v); digit++ {
			if d, err := session.ParseDecimal(text[:i]+string(digit)+text[i+1:], '.'); err == nil {
				all = append(all, d.Float64())
			}
		}
	}
	return all
}

// setOnce are the flows that a session and its readings both have.
var setOnce = []session.Field{"blood_flow", "dialysate_flow"}

// unlikeReadings finds a flow of a session that all its readings and most other
// rows have otherwise, one slip of the pen apart.
func (c *checker) unlikeReadings(row ownRow, n tally) {
	const least, near = 2, 0.05 // readings; of the number (common practice)
	for _, field := range setOnce {
		v := row.session.Value(field)
		own, ok := c.good(v)
		text := row.numbers[string(field)].text
		if !ok || n[string(field)][text] > 1 {
			continue
		}
		read := map[string]int{}
		var other session.Value
		around := true
		for _, r := range row.session.Readings {
			if one := r.Value(field); one.OK() && one.Unit == v.Unit {
				read[one.Decimal.String()]++
				other = one
				around = around && !within(own, one.Decimal.Float64(), near)
			}
		}
		meant := other.Decimal.String()
		digits, exchanged := exchangedDigits(v, func(one float64) bool { return within(one, other.Decimal.Float64(), near) })
		if len(read) > 1 && around && exchanged { // what the machine shows moves a little
			meant, read[digits] = digits, len(read)
		} else if len(read) != 1 {
			continue
		}
		if read[meant] < least || other.Decimal.Float64() == own || !oneSlip(v.Decimal.String(), meant) ||
			n[string(field)][meant+" "+spoken(v.Unit)] < fewest {
			continue
		}
		f := atValue("clin-unlike-own", "the {} differs from the readings, the prescription and your other rows", v, name(field))
		f.Expected, f.Mend = issue.T("perhaps {}", quantity(meant, v.Unit)), issue.T("look at the number; if it is right, leave it")
		f.Cells = append(f.Cells, other.Cell)
		c.doubt(f, row.session)
	}
}

// ownFlow is the flow that the other readings of a session have, else the
// session itself or the prescription; 0 when none is known.
func (c *checker) ownFlow(s *session.Session, field session.Field, v session.Value) float64 {
	if s == nil {
		return 0
	}
	var others []float64
	for _, r := range s.Readings {
		if one := r.Value(field); one.OK() && one.Cell != v.Cell && one.Unit == v.Unit {
			others = append(others, one.Decimal.Float64())
		}
	}
	if len(others) > 1 {
		return median(others)
	}
	p, _ := c.log.About.PrescriptionFor(s)
	for _, one := range []session.Value{s.Value(field), p.Values[field]} {
		if one.OK() && one.Cell != v.Cell && one.Unit == v.Unit {
			return one.Decimal.Float64()
		}
	}
	return 0
}

// weightDigits finds the weight that would fit the other one and the fluid
// removed with two digits exchanged.
func (c *checker) weightDigits(s *session.Session) (f issue.Finding, ok bool) {
	const close = 0.3 // L
	usual, weighed := c.usual(slices.Index(c.log.Sessions, s))
	for _, field := range weightFields {
		v := s.Value(field)
		number, good := c.good(v)
		if !good || !weighed {
			continue
		}
		text, found := exchangedDigits(v, func(meant float64) bool {
			known := *c.known(s)
			known.Values = mapWith(known.Values, string(field), meant)
			expected, _, _ := known.FluidByWeights()
			removed, measured := known.Values["uf_removed"]
			return measured && math.Abs(meant-usual) < math.Abs(number-usual) && removed > plausible.Unexplained && math.Abs(removed-expected) <= close && math.Abs(meant-number) > close
		})
		if !found {
			continue
		}
		if ok {
			return f, false
		}
		f, ok = atValue("clin-weights-swapped", "the {} would fit with two digits exchanged", v, name(field)), true
		f.Expected = issue.T("perhaps {}", quantity(text, v.Unit))
	}
	return f, ok
}
