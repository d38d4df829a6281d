package month

import (
	"cmp"
	"maps"
	"slices"

	"runsheet.example/validate/issue"
)

// late gathers findings that are made at the end and in another order than that
// of the documents, and tells them in this order. It keeps little more than
// there is room for.
type late struct {
	room   int
	list   []lateFinding
	beyond map[string]int // by rule, of those there is no room for
}

type lateFinding struct {
	seq uint64 // number of the resource among all
	issue.Finding
}

// spare is how many more are kept before those beyond the room are left out.
const spare = 1000

func (l *late) add(seq uint64, f issue.Finding) {
	l.list = append(l.list, lateFinding{seq, f})
	if len(l.list) >= l.room+l.room/4+spare {
		l.cut()
	}
}

// cut brings the findings into order and leaves out those there is no room for.
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

// tell hands on what is kept, and of the rest, as often as there was one, the rule.
func (l *late) tell(add func(issue.Finding)) {
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
