package spill

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
		var f File
		defer f.Close()
		var want [Groups][][]byte
		keys := rapid.SampledFrom([]uint64{0, 1, 63, 64, 1 << 40, 1<<40 + 1})
		for i := range rapid.IntRange(0, 200).Draw(t, "records") {
			key := keys.Draw(t, "key")
			record := make([]byte, rapid.SampledFrom([]int{8, 90, 1000, MaxRecord}).Draw(t, "length"))
			binary.LittleEndian.PutUint64(record, uint64(i))
			if err := f.Add(key, record); err != nil {
				t.Fatal(err)
			}
			want[key%Groups] = append(want[key%Groups], record)
		}
		for of := range Groups {
			if f.Len(of) != len(want[of]) {
				t.Fatalf("group %d has %d records, want %d", of, f.Len(of), len(want[of]))
			}
			at := 0
			err := f.Each(of, func(record []byte) {
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
	var f File
	defer f.Close()
	var err error
	for range 3 {
		if err = f.Add(0, make([]byte, MaxRecord)); err != nil {
			break
		}
	}
	if err == nil || bytes.Contains([]byte(err.Error()), []byte("nowhere")) {
		t.Errorf("error %v", err)
	}
}

func TestRecordsHaveASize(t *testing.T) {
	var f File
	defer f.Close()
	for _, size := range []int{0, MaxRecord + 1} {
		if f.Add(0, make([]byte, size)) == nil {
			t.Errorf("a record of %d bytes is taken", size)
		}
	}
}
