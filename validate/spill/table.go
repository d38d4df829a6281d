package spill

import "math/bits"

// Table is a map from hashes to values in one piece of memory without pointers:
// half the size of a built-in map, and faster where most keys are absent. The hashes must be well spread; two
// things of the same hash are one to it. The zero value is empty and ready.
type Table[V any] struct {
	slots []slot[V] // as many as a power of two, or none
	used  int
}

// slot holds a value; its key is 0 when it is empty.
type slot[V any] struct {
	key   uint64
	value V
}

const fewest = 64

// Len is the number of keys.
func (t *Table[V]) Len() int { return t.used }

// Find returns the value of a key, nil when there is none. It may be changed in
// place until the next Put.
func (t *Table[V]) Find(key uint64) *V {
	if t.used == 0 {
		return nil
	}
	if one := t.slot(filled(key)); one.key != 0 {
		return &one.value
	}
	return nil
}

// Put gives a key a value, in place of the one it has.
func (t *Table[V]) Put(key uint64, value V) {
	// Beyond three quarters the way to an empty slot becomes long.
	if t.used >= len(t.slots)/4*3 {
		t.grow()
	}
	one := t.slot(filled(key))
	if one.key == 0 {
		t.used++
	}
	*one = slot[V]{filled(key), value}
}

// filled is a key as it is kept: 0 marks an empty slot.
func filled(key uint64) uint64 { return max(key, 1) }

// slot returns where a key is or would be. The way begins with the upper bits of
// the key, so that keys chosen by their lower ones are spread too.
func (t *Table[V]) slot(key uint64) *slot[V] {
	mask := len(t.slots) - 1
	at := int(key >> (64 - bits.Len(uint(mask))))
	for t.slots[at].key != key && t.slots[at].key != 0 {
		at = (at + 1) & mask
	}
	return &t.slots[at]
}

func (t *Table[V]) grow() {
	before := t.slots
	t.slots = make([]slot[V], max(fewest, 2*len(before)))
	for i := range before {
		if before[i].key != 0 {
			*t.slot(before[i].key) = before[i]
		}
	}
}

// Clear takes all keys out and keeps the memory.
func (t *Table[V]) Clear() {
	if t.used > 0 {
		clear(t.slots)
		t.used = 0
	}
}
