package spill

import (
	"testing"

	"pgregory.net/rapid"
)

// TestTableIsAMap holds a Table to the built-in map, also where keys fall into
// the same slots.
func TestTableIsAMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var table Table[int]
		want := map[uint64]int{}
		keys := rapid.OneOf(rapid.Uint64(), rapid.Uint64Range(0, 300), rapid.Uint64Range(1<<63, 1<<63+50))
		for i := range rapid.IntRange(0, 500).Draw(t, "steps") {
			key := keys.Draw(t, "key")
			if key == 0 {
				key = 1 // the same to a Table
			}
			switch rapid.IntRange(0, 60).Draw(t, "what") {
			case 0:
				table.Clear()
				clear(want)
			default:
				table.Put(key, i)
				want[key] = i
			}
			other := keys.Draw(t, "other")
			value, known := want[max(other, 1)]
			if found := table.Find(other); (found != nil) != known || known && *found != value {
				t.Fatalf("key %d: %v, want %d, %v", other, found, value, known)
			}
		}
		if table.Len() != len(want) {
			t.Fatalf("%d keys, want %d", table.Len(), len(want))
		}
		for key, value := range want {
			if found := table.Find(key); found == nil || *found != value {
				t.Fatalf("key %d is lost", key)
			}
		}
	})
}

func TestValuesCanBeChanged(t *testing.T) {
	var table Table[int]
	table.Put(7, 1)
	*table.Find(7)++
	if *table.Find(7) != 2 {
		t.Error("a value cannot be changed in place")
	}
}
