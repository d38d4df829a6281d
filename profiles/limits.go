package profiles

import "strings"

// Limit is what values of one field can be (hard) and usually are (soft).
// Outside the hard limits a value is impossible or a slip of the pen; outside
// the soft ones it is worth a second look. The limits are inclusive. They
// judge plausibility only and say nothing about treatment.
type Limit struct {
	// Field is the name shared with the log's columns and the code table.
	Field string
	// Unit is the UCUM code the limits are in.
	Unit              string
	HardLow, HardHigh float64
	SoftLow, SoftHigh float64
	// Source is the paper or data set, or "common practice".
	Source string
}

// Impossible reports whether a value in the limit's unit is outside the hard
// limits.
func (l Limit) Impossible(value float64) bool { return value < l.HardLow || value > l.HardHigh }

// Unusual reports whether a value in the limit's unit is outside the soft
// limits.
func (l Limit) Unusual(value float64) bool { return value < l.SoftLow || value > l.SoftHigh }

// Circumstances are what is known of the person and the session a value is
// from. A zero field is not known, and limits are then as wide as the widest
// that may hold.
type Circumstances struct {
	// AgeYears is the age in whole years, where AgeKnown.
	AgeYears float64
	AgeKnown bool
	// WeightKg is a body weight of the session, or the dry weight.
	WeightKg float64
	// Minutes is the length of the session.
	Minutes float64
	// Days are the days since the session before.
	Days float64
}

// Adult is what is known of a sheet whose person is not: most are adults.
var Adult = Circumstances{AgeYears: 18, AgeKnown: true}

// scope is the circumstances that a row of the table is for. A zero bound is
// none.
type scope struct {
	age, minutes, days band
	// perKg makes the upper limits those for one kilogram of body weight; the
	// row is for a known weight only.
	perKg bool
}

// band is what is at least from and below the other bound.
type band struct{ from, below float64 }

// holds reports whether a number may be in the band, and whether it certainly is.
func (b band) holds(number float64, known bool) (may, must bool) {
	if b == (band{}) || !known {
		return true, b == (band{})
	}
	in := number >= b.from && (b.below == 0 || number < b.below)
	return in, in
}

func (s scope) holds(c Circumstances) (may, must bool) {
	may, must = !s.perKg || c.WeightKg > 0, true
	for _, test := range [...]struct {
		band   band
		number float64
		known  bool
	}{{s.age, c.AgeYears, c.AgeKnown}, {s.minutes, c.Minutes, c.Minutes > 0}, {s.days, c.Days, c.Days > 0}} {
		in, certain := test.band.holds(test.number, test.known)
		may, must = may && in, must && certain
	}
	return may, must
}

// LimitOf returns the limits of a field: those of the first row for the
// circumstances, or all that rows up to it allow where it is not known which
// of them holds. A field before or after dialysis without a row of its own has
// the limits of the field without the phase.
func (c Circumstances) LimitOf(field string) (Limit, bool) {
	governs := limitRows(field)
	found := false
	limit := Limit{}
	for _, row := range governs.all {
		may, must := row.scope.holds(c)
		if !may {
			continue
		}
		next := Limit{field, governs.unit, row.hardLow, row.hardHigh, row.softLow, row.softHigh, row.source}
		if row.scope.perKg {
			next.HardHigh *= c.WeightKg
			next.SoftHigh *= c.WeightKg
		}
		if found {
			next = next.or(limit)
		}
		limit, found = next, true
		if must {
			break
		}
	}
	return limit, found
}

// or is what either limit allows.
func (l Limit) or(other Limit) Limit {
	l.HardLow, l.HardHigh = min(l.HardLow, other.HardLow), max(l.HardHigh, other.HardHigh)
	l.SoftLow, l.SoftHigh = min(l.SoftLow, other.SoftLow), max(l.SoftHigh, other.SoftHigh)
	return l
}

// limitRows returns the rows of a field, or of the field without the phase.
func limitRows(field string) limits {
	if rows, ok := limitsOf[field]; ok {
		return rows
	}
	return limitsOf[strings.TrimSuffix(strings.TrimSuffix(field, "_before"), "_after")]
}

// LimitUnit returns the UCUM code of the unit that the limits of a field are in,
// "" for a field without limits.
func LimitUnit(field string) string { return limitRows(field).unit }

// LimitOf returns the limits of a field for whomever it may be.
func LimitOf(field string) (Limit, bool) { return Circumstances{}.LimitOf(field) }
