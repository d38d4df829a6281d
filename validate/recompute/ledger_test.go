package recompute

import (
	"strconv"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// However many values are met, a Ledger keeps so many and no more, the last
// ones.
func TestLedgerKeepsTheLast(t *testing.T) {
	var l Ledger
	l.start()
	name := func(i int) []byte { return strconv.AppendInt(nil, int64(i), 10) }
	const met = MaxKept * 2
	for i := range met {
		l.put(&resources.Resource{Identity: name(i), Entry: doc.None}, taken{number: float64(i)})
		if i == MaxKept/2 && l.forgot {
			t.Error("something is said to be forgotten before it was")
		}
	}
	if n := l.values.Len() + l.before.Len(); n > MaxKept {
		t.Errorf("%d values kept, more than %d", n, MaxKept)
	}
	for _, i := range []int{met - 1, met - MaxKept/2} {
		if got, ok := l.find([]uint64{l.hash(byIdentity, name(i))}); !ok || got.number != float64(i) {
			t.Errorf("value %d of %d: %v, %v", i, met, got, ok)
		}
	}
	if _, ok := l.find([]uint64{l.hash(byIdentity, name(0))}); ok || !l.forgot {
		t.Error("the first value is still kept, or nothing says that it is not")
	}
}
