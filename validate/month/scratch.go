package month

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// scratchGroups is how many groups there are. The lowest bits of a key choose
// its group.
const scratchGroups = 64

// blockSize is how much of a group is written at once; scratchGroups times as
// much is kept in memory.
const blockSize = 16 << 10

// maxRecord is the most bytes of one record.
const maxRecord = blockSize - binary.MaxVarintLen16

// scratch keeps records that memory has no room for in a file that is removed
// with the process, and returns them by group: records of one key are in one
// group, in the order in which they were added. The zero value is empty and
// ready; close ends its use.
type scratch struct {
	file   *os.File
	path   string // to remove at the end, "" when it has no name any more
	groups [scratchGroups]group
	used   bool
	blocks uint32 // written
	room   []byte // for one of them
}

type group struct {
	buffer  []byte // of records not written yet, each after its length
	blocks  []uint32
	records int
}

// add keeps a record, of at least one byte and at most maxRecord, in the group
// of its key. After an error the file is of no use.
func (f *scratch) add(key uint64, record []byte) error {
	if len(record) == 0 || len(record) > maxRecord {
		return fmt.Errorf("a record of %d bytes", len(record))
	}
	g := &f.groups[key%scratchGroups]
	if len(g.buffer)+binary.MaxVarintLen16+len(record) > blockSize {
		if err := f.flush(g); err != nil {
			return err
		}
	}
	if g.buffer == nil {
		g.buffer = make([]byte, 0, blockSize)
	}
	g.buffer = binary.AppendUvarint(g.buffer, uint64(len(record)))
	g.buffer = append(g.buffer, record...)
	g.records++
	f.used = true
	return nil
}

// flush writes what a group has in memory as one block, filled up with zeros: a
// length of zero ends it.
func (f *scratch) flush(g *group) error {
	if f.file == nil {
		if err := f.open(); err != nil {
			return err
		}
	}
	block := g.buffer[:blockSize]
	clear(block[len(g.buffer):])
	if _, err := f.file.Write(block); err != nil {
		return reason(err)
	}
	g.blocks = append(g.blocks, f.blocks)
	f.blocks++
	g.buffer = g.buffer[:0]
	return nil
}

// open makes the file, and takes its name away where a system lets it, so that
// nothing is left however the process ends.
func (f *scratch) open() error {
	file, err := os.CreateTemp("", "runsheet-*")
	if err != nil {
		return reason(err)
	}
	f.file = file
	if os.Remove(file.Name()) != nil {
		f.path = file.Name()
	}
	return nil
}

// reason is an error without the path of a file that has no name.
func reason(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// each hands on the records of a group, in the order in which they were added.
// A record is valid until take returns.
func (f *scratch) each(of int, take func(record []byte)) error {
	g := &f.groups[of]
	if f.room == nil && len(g.blocks) > 0 {
		f.room = make([]byte, blockSize)
	}
	for _, at := range g.blocks {
		if _, err := f.file.ReadAt(f.room, int64(at)*blockSize); err != nil {
			return reason(err)
		}
		records(f.room, take)
	}
	records(g.buffer, take)
	return nil
}

func records(block []byte, take func([]byte)) {
	for len(block) > 0 {
		length, n := binary.Uvarint(block)
		if length == 0 {
			return
		}
		take(block[n : n+int(length)])
		block = block[n+int(length):]
	}
}

// close forgets everything and removes the file.
func (f *scratch) close() {
	if f.file != nil {
		_ = f.file.Close() // nothing of it is wanted any more
	}
	if f.path != "" {
		_ = os.Remove(f.path)
	}
	if f.used {
		*f = scratch{}
	}
}
