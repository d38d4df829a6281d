package month

import (
	"hash/maphash"

	"runsheet.example/validate/issue"
)

// cellTable maps names of resources to log cells, in little memory: the
// manifest of a unit's year names hundreds of thousands. The zero value is an
// empty table.
type cellTable struct {
	seed    maphash.Seed
	byName  map[uint64]cellRange
	cells   []packedCell
	words   []string
	indices map[string]uint32 // of words
}

// cellRange is the range of the cells of one name.
type cellRange struct{ from, to uint32 }

// packedCell is a cell whose texts are indexes into the words of the table.
type packedCell struct {
	file, sheet, heading uint32
	row, column          int32
}

// put stores cells under each name and skips an empty name.
func (t *cellTable) put(cells []issue.Cell, names ...string) {
	if t.indices == nil {
		t.seed, t.indices, t.byName = maphash.MakeSeed(), map[string]uint32{}, map[uint64]cellRange{}
	}
	from := uint32(len(t.cells))
	for _, c := range cells {
		t.cells = append(t.cells, packedCell{
			file: t.word(c.File), sheet: t.word(c.Sheet), heading: t.word(c.Heading), row: int32(c.Row), column: int32(c.Column),
		})
	}
	for _, name := range names {
		if name != "" {
			t.byName[maphash.String(t.seed, name)] = cellRange{from, uint32(len(t.cells))}
		}
	}
}

func (t *cellTable) word(text string) uint32 {
	index, known := t.indices[text]
	if !known {
		index = uint32(len(t.words))
		t.words = append(t.words, text)
		t.indices[text] = index
	}
	return index
}

// get returns the cells of a name, nil if there are none.
func (t *cellTable) get(name string) []issue.Cell {
	if t.indices == nil {
		return nil
	}
	at, known := t.byName[maphash.String(t.seed, name)]
	if !known {
		return nil
	}
	cells := make([]issue.Cell, 0, at.to-at.from)
	for _, c := range t.cells[at.from:at.to] {
		cells = append(cells, issue.Cell{
			File: t.words[c.file], Sheet: t.words[c.sheet], Heading: t.words[c.heading], Row: int(c.row), Column: int(c.column),
		})
	}
	return cells
}
