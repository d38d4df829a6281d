package month

import (
	"cmp"
	"maps"
	"slices"

	"runsheet.example/validate/issue"
)

// late collects findings that are made at the end in another order than that
// of the documents, and reports them in document order. Its memory is bounded
// by the room.
type late struct {
	room   int
	list   []lateFinding
	beyond map[string]int // by rule, of the findings beyond the room
}

type lateFinding struct {
	seq uint64 // number of the resource among all resources
	issue.Finding
}

// spare is the number of findings kept beyond the room before cut discards
// them.
const spare = 1000

func (l *late) add(seq uint64, f issue.Finding) {
	l.list = append(l.list, lateFinding{seq, f})
	if len(l.list) >= l.room+l.room/4+spare {
		l.cut()
	}
}

// cut sorts the findings and discards those beyond the room.
func (l *late) cut() {
	slices.SortStableFunc(l.list, func(x, y lateFinding) int { return cmp.Compare(x.seq, y.seq) })
	if len(l.list) <= l.room {
		return
	}
	if l.beyond == nil {
		l.beyond = map[string]int{}
	}
	for _, f := range l.list[l.room:] {
		l.beyond[f.Rule]++
	}
	clear(l.list[l.room:])
	l.list = l.list[:l.room]
}

// report reports the kept findings and, for each discarded one, its rule.
func (l *late) report(add func(issue.Finding)) {
	l.cut()
	for i := range l.list {
		add(l.list[i].Finding)
	}
	for _, rule := range slices.Sorted(maps.Keys(l.beyond)) {
		for range l.beyond[rule] {
			add(issue.At(rule))
		}
	}
}
