package month

import (
	"bytes"
	"encoding/binary"
	"os"
	"testing"

	"pgregory.net/rapid"
)

// TestRecordsComeBack holds that every record comes back once, in its group and
// in order, whether it was written or is still in memory.
func TestRecordsComeBack(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	rapid.Check(t, func(t *rapid.T) {
		var f scratch
		defer f.close()
		var want [scratchGroups][][]byte
		keys := rapid.SampledFrom([]uint64{0, 1, 63, 64, 1 << 40, 1<<40 + 1})
		for i := range rapid.IntRange(0, 200).Draw(t, "records") {
			key := keys.Draw(t, "key")
			record := make([]byte, rapid.SampledFrom([]int{8, 90, 1000, maxRecord}).Draw(t, "length"))
			binary.LittleEndian.PutUint64(record, uint64(i))
			if err := f.add(key, record); err != nil {
				t.Fatal(err)
			}
			want[key%scratchGroups] = append(want[key%scratchGroups], record)
		}
		for of := range scratchGroups {
			if f.groups[of].records != len(want[of]) {
				t.Fatalf("group %d has %d records, want %d", of, f.groups[of].records, len(want[of]))
			}
			at := 0
			err := f.each(of, func(record []byte) {
				if at >= len(want[of]) || !bytes.Equal(record, want[of][at]) {
					t.Fatalf("group %d, record %d is another one", of, at)
				}
				at++
			})
			if err != nil || at != len(want[of]) {
				t.Fatalf("group %d: %d records, error %v", of, at, err)
			}
		}
	})
	left, err := os.ReadDir(os.Getenv("TMPDIR"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, error %v", left, err)
	}
}

// TestNowhereToWrite holds that a missing folder is an error that names no path.
func TestNowhereToWrite(t *testing.T) {
	t.Setenv("TMPDIR", "/nowhere/at/all")
	var f scratch
	defer f.close()
	var err error
	for range 3 {
		if err = f.add(0, make([]byte, maxRecord)); err != nil {
			break
		}
	}
	if err == nil || bytes.Contains([]byte(err.Error()), []byte("nowhere")) {
		t.Errorf("error %v", err)
	}
}

func TestRecordsHaveASize(t *testing.T) {
	var f scratch
	defer f.close()
	for _, size := range []int{0, maxRecord + 1} {
		if f.add(0, make([]byte, size)) == nil {
			t.Errorf("a record of %d bytes is taken", size)
		}
	}
}
