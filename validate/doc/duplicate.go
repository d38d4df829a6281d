package doc

import (
	"bytes"
	"cmp"
	"slices"
)

// manyMembers is the number of members above which duplicates are found by one
// sort at the end of the object: comparing each name with all earlier ones
// would be quadratic.
const manyMembers = 40

// checkTwice reports a member whose name is already in the object. One bit of
// a small filter excludes most names.
func (d *Doc) checkTwice(n Node, in *level) {
	nd := &d.nodes[n]
	bit := uint64(1) << (nd.hash() & 63)
	if in.seen&bit == 0 {
		in.seen |= bit
		return
	}
	if nd.index >= manyMembers {
		return
	}
	for c := nd.parent + 1; c != n; c = d.nodes[c].next {
		if d.nodes[c].hash() == nd.hash() && bytes.Equal(d.Key(c), d.Key(n)) {
			d.reportTwice(n)
			return
		}
	}
}

// reportDuplicates compares all names of a large object. Duplicates among the
// first manyMembers are already reported.
func (d *Doc) reportDuplicates(object Node) {
	d.sorted = d.sorted[:0]
	for c := d.FirstChild(object); c >= 0; c = d.nodes[c].next {
		d.sorted = append(d.sorted, c)
	}
	slices.SortFunc(d.sorted, func(a, b Node) int {
		return cmp.Or(
			cmp.Compare(d.nodes[a].hash(), d.nodes[b].hash()),
			bytes.Compare(d.Key(a), d.Key(b)),
			cmp.Compare(a, b))
	})
	twice := d.sorted[:0]
	for i := 1; i < len(d.sorted); i++ {
		a, b := d.sorted[i-1], d.sorted[i]
		if d.nodes[b].index >= manyMembers && d.nodes[a].hash() == d.nodes[b].hash() && bytes.Equal(d.Key(a), d.Key(b)) {
			twice = append(twice, b)
		}
	}
	slices.Sort(twice)
	for _, n := range twice {
		d.reportTwice(n)
	}
}

func (d *Doc) reportTwice(n Node) {
	d.report(int(d.nodes[n].off), n, "json-duplicate-key", "the member name stands more than once in the object")
}
