package session

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// RawText is a file of a log as text with what is needed to write it back:
// [RawText.Bytes] of an unchanged one are the bytes it was read from.
type RawText struct {
	// Text is UTF-8 without byte order mark; its only line ends may have been
	// single carriage returns.
	Text     []byte
	encoding string
	marked   bool // has a byte order mark
	returns  bool // ends its lines with single carriage returns
}

// NewRawText is an empty file as an empty log has it.
func NewRawText() RawText { return RawText{encoding: "utf-8", marked: true} }

// ReadRawText decodes a file as [ReadFS] does. It returns an error for one that
// is no text, or that could not be written back byte by byte.
func ReadRawText(name string, data []byte) (RawText, error) {
	var c collector
	d, ok := decode(name, data, &c)
	if !ok {
		return RawText{}, fmt.Errorf("%s: %s", name, c.found[0].Details)
	}
	t := RawText{Text: d.text, encoding: d.encoding, marked: bytes.HasPrefix(data, bomUTF8)}
	t.returns = bytes.IndexByte(data, '\n') < 0 && bytes.IndexByte(data, '\r') >= 0
	if back, err := t.encoded(); err != nil || !bytes.Equal(back, data) {
		return RawText{}, fmt.Errorf("%s: some letters of the file cannot be read, so it is not changed here", name)
	}
	return t, nil
}

// Bytes writes the text in the encoding that the file had, or in UTF-8 with a
// byte order mark where that encoding cannot hold the text.
func (t RawText) Bytes() ([]byte, error) {
	for _, as := range []RawText{t, {Text: t.Text, encoding: "utf-8", marked: true}} {
		data, err := as.encoded()
		if err != nil {
			continue
		}
		if d, ok := decode("", data, new(collector)); ok && bytes.Equal(d.text, t.Text) {
			return data, nil
		}
	}
	return nil, errors.New("the text holds a character that no file of a log can hold")
}

func (t RawText) encoded() ([]byte, error) {
	text := t.Text
	if t.returns {
		text = bytes.ReplaceAll(text, []byte("\n"), []byte("\r"))
	}
	switch t.encoding {
	case "utf-16le":
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().Bytes(text)
	case "utf-16be":
		return unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder().Bytes(text)
	case "windows-1252":
		return charmap.Windows1252.NewEncoder().Bytes(text)
	}
	if t.marked {
		return slices.Concat(bomUTF8, text), nil
	}
	return slices.Clone(text), nil
}

// RawRow is a row of a CSV file, the headings included, with its bytes.
type RawRow struct {
	Number int // as findings name it
	Cells  []string
	// Lead is what stands before the row and after the one before it: lines
	// without anything.
	Lead []byte
	// Raw is the row with its line end, and Starts the first byte of each cell
	// in it.
	Raw    []byte
	Starts []int
	// Broken is a row that cannot be split into cells to its end.
	Broken bool
}

// SplitRaw splits the text of a CSV file into rows as [ReadFS] does; tail is
// what stands after the last one.
func SplitRaw(sheet Sheet, text []byte) (rows []RawRow, delimiter rune, tail []byte) {
	delimiter, rest, skipped := delimiterOf(text, func(text []byte) rune { return headedDelimiter(sheet, text) })
	lines := []int{0} // where each begins
	for i, b := range text {
		if b == '\n' {
			lines = append(lines, i+1)
		}
	}
	base, after := len(text)-len(rest), 0
	for row := range csvRows(rest, delimiter, skipped) {
		raw := RawRow{Number: row.Number, Cells: row.Texts(), Broken: row.fault != nil}
		start := lines[min(row.line, len(lines))-1]
		raw.Lead, raw.Raw = text[after:start:start], text[start:base+row.end:base+row.end]
		for _, c := range row.Cells {
			raw.Starts = append(raw.Starts, lines[c.Line-1]+c.Byte-1-start)
		}
		rows, after = append(rows, raw), base+row.end
	}
	return rows, delimiter, text[after:len(text):len(text)]
}

// HeadingName is the name of the column that a heading means, in the unit that
// it names; "" for a heading that the log does not know.
func HeadingName(sheet Sheet, heading string) string {
	if h, ok := columnHeaded(sheet, heading); ok {
		return h.Name
	}
	return ""
}
