package recompute

import (
	"strconv"
	"strings"
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
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
		if i == MaxKept/2 && l.values.forgot {
			t.Error("something is said to be forgotten before it was")
		}
	}
	if n := len(l.values.now) + len(l.values.before); n > MaxKept {
		t.Errorf("%d values kept, more than %d", n, MaxKept)
	}
	for _, i := range []int{met - 1, met - MaxKept/2} {
		if got, ok := l.find(l.hash(byIdentity, name(i))); !ok || got.number != float64(i) {
			t.Errorf("value %d of %d: %v, %v", i, met, got, ok)
		}
	}
	if _, ok := l.find(l.hash(byIdentity, name(0))); ok || !l.values.forgot {
		t.Error("the first value is still kept, or nothing says that it is not")
	}
}

// A value computed from one of another document that does not agree is judged
// by what is written there, within its rounding.
func TestRoundedValueOfAnotherDocument(t *testing.T) {
	const identity = `"identifier":[{"system":"` + profiles.RecordIdentifier + `","value":"urn:uuid:1"}],`
	before := strings.Replace(computed("expected", "uf-expected-1", "1.95", "L", "weight_before", "weight_after"), `"status"`, identity+`"status"`, 1)
	documents := [][]string{
		{entered(t, "weight_before", "71.854", "kg"), entered(t, "weight_after", "70.000", "kg"), before},
		{entered(t, "uf_removed", "1.500", "L"), strings.Replace(computed("x", "uf-discrepancy-1", "-0.45", "L", "uf_removed", "expected"),
			`{"reference":"urn:uuid:expected"}`, `{"identifier":{"system":"`+profiles.RecordIdentifier+`","value":"urn:uuid:1"}}`, 1)},
	}
	var l Ledger
	var found []string
	for _, entries := range documents {
		var rec resources.Index
		rec.Read(parse(t, `{"resourceType":"Bundle","type":"collection","entry":[`+strings.Join(entries, ",")+`]}`))
		Check(&rec, 0, &l, func(f issue.Finding) { found = append(found, f.Rule+" "+f.Value) })
	}
	l.Finish(func(f issue.Finding) { found = append(found, f.Rule+" "+f.Value) })
	if len(found) != 1 || found[0] != "calc-value-differs 1.95 L" {
		t.Errorf("%q", found)
	}
}
