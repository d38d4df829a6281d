package workbook

import (
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"
)

// rawCell is a cell as a sheet's part has it.
type rawCell struct {
	column  int    // from 1
	kind    string // the t attribute
	style   int
	value   string
	filled  bool // it has a value, which may be an empty text
	formula bool
	struck  bool   // a part of its own text is struck through
	code    string // the formula's text, where it has one of its own
}

// rawRow is one row with its filled cells.
type rawRow struct {
	number int
	hidden bool
	cells  []rawCell
}

// rowReader reads a sheet row by row, in the order of the part, without
// keeping them.
type rowReader struct {
	part   io.ReadCloser
	xml    *xml.Decoder
	row    rawRow
	last   int
	inData bool
	ended  bool // the end of the data was seen
	merged []string
}

func (b *book) rows(t tab) (*rowReader, error) {
	part, err := b.open(t.part, maxSheetBytes)
	if err != nil {
		return nil, err
	}
	return &rowReader{part: part, xml: newDecoder(part)}, nil
}

// next reads the next row that has cells. It returns io.EOF after the last
// one; then merged holds the merged ranges.
func (r *rowReader) next() (*rawRow, error) {
	for {
		token, err := r.xml.RawToken()
		if errors.Is(err, io.EOF) && r.ended {
			r.part.Close()
			return nil, io.EOF
		}
		if err != nil {
			r.part.Close()
			return nil, fault(err)
		}
		switch t := token.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "sheetData":
				r.inData = true
			case "row":
				if r.inData {
					r.startRow(t)
				}
				if r.last > maxRow {
					r.part.Close()
					return nil, errDamaged
				}
			case "c":
				if r.inData {
					if err := r.cell(t); err != nil {
						r.part.Close()
						return nil, fault(err)
					}
				}
			case "mergeCell":
				r.merged = append(r.merged, attribute(t, "ref"))
			}
		case xml.EndElement:
			switch t.Name.Local {
			case "sheetData":
				r.inData, r.ended = false, true
			case "row":
				if len(r.row.cells) > 0 {
					return &r.row, nil
				}
			}
		}
	}
}

func (r *rowReader) startRow(t xml.StartElement) {
	number, err := strconv.Atoi(attribute(t, "r"))
	if err != nil || number < 1 {
		number = r.last + 1
	}
	r.last = number
	r.row = rawRow{number: number, hidden: isTrue(attribute(t, "hidden")), cells: r.row.cells[:0]}
}

func attribute(t xml.StartElement, name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// cell reads one cell up to its end; empty ones are left out.
func (r *rowReader) cell(t xml.StartElement) error {
	c := rawCell{kind: attribute(t, "t"), column: r.columnOf(attribute(t, "r"))}
	c.style, _ = strconv.Atoi(attribute(t, "s"))
	inside := ""
	var value, code strings.Builder
	for {
		token, err := r.xml.RawToken()
		if err != nil {
			return err
		}
		switch t := token.(type) {
		case xml.StartElement:
			inside = t.Name.Local
			switch inside {
			case "f":
				c.formula = true
			case "v":
				c.filled = true
			case "is":
				if c.value, c.struck, err = richText(r.xml, "is"); err != nil {
					return err
				}
				c.filled, inside = true, ""
			}
		case xml.CharData:
			switch inside {
			case "v":
				value.Write(t)
			case "f":
				code.Write(t)
			}
		case xml.EndElement:
			inside = ""
			if t.Name.Local == "c" {
				if c.kind != "inlineStr" {
					c.value = value.String()
				}
				c.code = code.String()
				if c.filled || c.formula {
					r.row.cells = append(r.row.cells, c)
				}
				return nil
			}
		}
	}
}

// columnOf is the column of a cell's reference; cells without one follow each
// other.
func (r *rowReader) columnOf(reference string) int {
	column := 0
	for i := 0; i < len(reference) && column < maxColumn; i++ {
		letter := reference[i] | 0x20
		if letter < 'a' || letter > 'z' {
			break
		}
		column = column*26 + int(letter-'a') + 1
	}
	if column == 0 && len(r.row.cells) > 0 {
		column = r.row.cells[len(r.row.cells)-1].column + 1
	}
	return min(max(column, 1), maxColumn)
}

// The last column, XFD, and the last row of a sheet (common practice of the
// programs that write them).
const (
	maxColumn = 16_384
	maxRow    = 1_048_576
)
