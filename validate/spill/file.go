// Package spill keeps records by 64-bit hashes where there may be millions: small
// values in memory ([Table]), and what memory has no room for in a file that is
// removed with the process ([File]), which returns records by group: records of
// one key are in one group, in the order in which they were added.
package spill

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// Groups is how many groups there are. The lowest bits of a key choose its
// group.
const Groups = 64

// blockSize is how much of a group is written at once; Groups times as much is
// what a File keeps in memory.
const blockSize = 16 << 10

// MaxRecord is the most bytes of one record.
const MaxRecord = blockSize - binary.MaxVarintLen16

// File holds records. The zero value is empty and ready; [File.Close] ends its
// use.
type File struct {
	file   *os.File
	path   string // to remove at the end, "" when it has no name any more
	groups [Groups]group
	used   bool
	blocks uint32 // written
	room   []byte // for one of them
}

type group struct {
	buffer  []byte // of records not written yet, each after its length
	blocks  []uint32
	records int
}

// Empty reports whether there is no record.
func (f *File) Empty() bool { return !f.used }

// Len is the number of records of a group.
func (f *File) Len(of int) int { return f.groups[of].records }

// Add keeps a record, of at least one byte and at most MaxRecord, in the group
// of its key. After an error the File is of no use.
func (f *File) Add(key uint64, record []byte) error {
	if len(record) == 0 || len(record) > MaxRecord {
		return fmt.Errorf("a record of %d bytes", len(record))
	}
	g := &f.groups[key%Groups]
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
func (f *File) flush(g *group) error {
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
// nothing is left behind however the process ends.
func (f *File) open() error {
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

// Each hands on the records of a group, in the order in which they were added.
// A record is valid until take returns.
func (f *File) Each(of int, take func(record []byte)) error {
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

// Close forgets everything and removes the file.
func (f *File) Close() {
	if f.file != nil {
		_ = f.file.Close() // nothing of it is wanted any more
	}
	if f.path != "" {
		_ = os.Remove(f.path)
	}
	if f.used {
		*f = File{}
	}
}
