package plausible

import (
	"math"
	"slices"

	"runsheet.example/calc"
)

// Account is the minutes of treatment that follow from one part of a session, and
// the interval that this part allows.
type Account struct{ Minutes, Low, High float64 }

// Fits reports whether two accounts can both be true.
func (a Account) Fits(b Account) bool { return a.Low <= b.High && b.Low <= a.High }

// How exact each account is, as a share of its amount (common practice).
const (
	DialysateWithin = 0.10
	BloodWithin     = 0.15 // displayed blood flow is above the real one
	ufWithin        = 0.15 // rates read off by hand
	ufLeast         = 0.25 // L
	fewestRates     = 2    // one says nothing of the rest of the session
	ufSteady        = 0.10 // among the rates read off
	displayMinutes  = 3.0  // of a treatment time
	ClockMinutes    = 5.0  // between the machine's clock and the wall's
	PauseMinutes    = 40.0 // without treatment, beyond the person's usual ones
	unknownPauses   = 0.30 // share without treatment when what is usual is not known
)

// ByVolume is a volume in litres over a flow in mL/min.
func ByVolume(litres, mLPerMin, within float64) Account {
	minutes := litres * 1000 / mLPerMin
	return Account{minutes, minutes / (1 + within), minutes / (1 - within)}
}

// ByRates is the fluid removed in litres over two or more UF rates in L/h
// that hardly change; a changing rate cannot be averaged from a few readings.
func ByRates(removed float64, rates []float64) (a Account, ok bool) {
	if len(rates) < fewestRates {
		return a, false
	}
	mid := calc.Median(rates)
	if mid <= 0 || slices.ContainsFunc(rates, func(rate float64) bool { return math.Abs(rate-mid) > ufSteady*mid }) {
		return a, false
	}
	slack := max(ufWithin*removed, ufLeast)
	return Account{removed / mid * 60, (removed - slack) / mid * 60, (removed + slack) / mid * 60}, true
}

// ByMachine is the machine's treatment time.
func ByMachine(minutes float64) Account {
	return Account{minutes, minutes - displayMinutes, minutes + displayMinutes}
}

// ByClock is the time from start to end, where the usual pauses are not known.
func ByClock(minutes float64) Account {
	return Account{minutes, minutes - max(PauseMinutes, unknownPauses*minutes), minutes + ClockMinutes}
}

// MostAtOdds is the account that contradicts most others, -1 when all agree.
// Of equals, the one furthest from the median of all and of what is usual.
func MostAtOdds(all []Account, usually []float64) int {
	for _, a := range all {
		usually = append(usually, a.Minutes)
	}
	mid := calc.Median(usually)
	worst, most, furthest := -1, 0, 0.0
	for i, a := range all {
		odds := 0
		for j, b := range all {
			if i != j && !a.Fits(b) {
				odds++
			}
		}
		if off := math.Abs(a.Minutes - mid); odds > most || odds == most && odds > 0 && off > furthest {
			worst, most, furthest = i, odds, off
		}
	}
	return worst
}

// lengths are the accounts of a session by the field each rests on, in the
// order in which they are compared; "" is start and end.
var lengths = [...]string{"uf_removed", "blood_processed", "dialysate_volume", "treated_time", ""}

// Lengths compares all that the session says of its length and returns the
// fields of the accounts without which the others agree, each with the
// interval in minutes that the others leave.
func (s *Session) Lengths() []Disagreement {
	var accounts []Account
	var fields []string
	for _, field := range lengths {
		if a, ok := s.account(field); ok {
			accounts, fields = append(accounts, a), append(fields, field)
		}
	}
	var found []Disagreement
	for len(accounts) > 1 {
		worst := MostAtOdds(accounts, nil)
		if worst < 0 {
			break
		}
		d := Disagreement{Fields: []string{fields[worst]}, Value: accounts[worst].Minutes, Low: math.Inf(1), Unit: "min"}
		accounts, fields = slices.Delete(accounts, worst, worst+1), slices.Delete(fields, worst, worst+1)
		for _, a := range accounts {
			d.Low, d.High = min(d.Low, a.Low), max(d.High, a.High)
		}
		found = append(found, d)
	}
	return found
}

func (s *Session) account(field string) (a Account, ok bool) {
	if field == "" {
		return ByClock(s.ElapsedMin), s.ElapsedMin > 0
	}
	v, ok := s.Values[field]
	flow, within := "dialysate_flow", DialysateWithin
	switch {
	case !ok:
		return a, false
	case field == "uf_removed":
		return ByRates(v, s.Readings["uf_rate"])
	case field == "treated_time":
		return ByMachine(v), true
	case field == "blood_processed":
		flow, within = "blood_flow", BloodWithin
	}
	perMinute, known := s.Flow(flow)
	return ByVolume(v, perMinute, within), known && perMinute > 0
}
