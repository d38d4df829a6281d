package recompute

import (
	"math"
	"strconv"

	"runsheet.example/calc"
	"runsheet.example/validate/issue"
)

// claim is the weight after the previous session as a component states it, which
// must be that of the Observation that it was taken from. Values are computed from
// the component, so that nothing else compares the two.
type claim struct {
	from   []uint64 // names of the Observation
	number float64  // in kg
	file   string
	at     spot
}

// claimed is the key of what a claim is about.
const claimed = "weight_after"

// claim stores a claim if the limit allows it.
func (l *Ledger) claim(c claim, line int) {
	switch {
	case l.share != nil:
		l.share.claims = append(l.share.claims, c)
		return
	case len(l.claims) >= MaxWaiting:
		l.full = true
		return
	}
	c.at.inFile(line)
	l.claims = append(l.claims, c)
}

// settleClaims compares the claims with what they were taken from, as far as it
// is there.
func (l *Ledger) settleClaims(add func(issue.Finding)) {
	const noise = 1e-9 // of a conversion of units
	for _, c := range l.claims {
		t, ok := l.find(c.from...)
		if !ok || t.key >= uint16(len(keys().list)) || keys().list[t.key] != claimed || math.Abs(t.number-c.number) <= noise*c.number {
			continue
		}
		f := c.at.finding(c.file, "calc-input-differs", "the weight after the previous session is not that of the Observation it is taken from")
		f.Value, f.Expected = number(c.number)+" "+calc.Spec(claimed).Unit, issue.T("{} {}", number(t.number), calc.Spec(claimed).Unit)
		add(f)
	}
	l.claims = nil
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
