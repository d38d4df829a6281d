package session

import (
	"bytes"
	"errors"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"runsheet.example/validate/issue"
)

// ParseAbout splits the text of log.toml into its parts, for one who changes
// it. ok is false for a text that is no TOML.
func ParseAbout(text []byte) (parts []*AboutPart, ok bool) {
	parts, findings := parseTOML(aboutFile, text)
	return parts, len(findings) == 0
}

// parseTOML splits a document into its tables, each [table] and each element of
// a [[table]]. Numbers and dates keep their written text, which the decoder of
// the library would turn into binary numbers and times. A document that is no TOML, or
// that names a thing twice, gives one finding.
func parseTOML(file string, data []byte) ([]*AboutPart, []issue.Finding) {
	var whole map[string]any
	if err := toml.Unmarshal(data, &whole); err != nil {
		f := spot{cell: issue.Cell{File: file}}.finding("about-syntax", "the file cannot be read as TOML")
		var at *toml.DecodeError
		if errors.As(err, &at) {
			f.Line, f.Column = at.Position()
			f.Cells[0].Row = f.Line
			f.Details = issue.T("the file cannot be read as TOML from here on")
			f.Value = lineOf(data, f.Line)
		}
		return nil, []issue.Finding{f}
	}
	w := tomlWalk{file: file, data: data}
	w.parser.Reset(data)
	current := w.table("", spot{cell: issue.Cell{File: file}, line: 1})
	for w.parser.NextExpression() {
		node := w.parser.Expression()
		switch node.Kind {
		case unstable.Table, unstable.ArrayTable:
			name, at := w.key(node.Key())
			current = w.table(name, at)
			current.End = w.afterLine(endOfKey(node))
		case unstable.KeyValue:
			w.keyValue(current, node)
		}
	}
	return w.tables, w.findings
}

// lineOf is a line as written, counted from 1, or "" when there is none or it
// is longer than a person writes.
func lineOf(data []byte, number int) string {
	lines := bytes.Split(data, []byte("\n"))
	if number < 1 || number > len(lines) || len(lines[number-1]) > maxCell {
		return ""
	}
	return strings.TrimSpace(string(lines[number-1]))
}

type tomlWalk struct {
	file     string
	data     []byte
	parser   unstable.Parser
	tables   []*AboutPart
	findings []issue.Finding
}

func (w *tomlWalk) table(name string, at spot) *AboutPart {
	t := &AboutPart{Name: name, Cell: at.cell, line: at.line, column: at.column}
	w.tables = append(w.tables, t)
	return t
}

// key joins a dotted key and finds its place.
func (w *tomlWalk) key(parts unstable.Iterator) (string, spot) {
	var names []string
	var at spot
	for parts.Next() {
		node := parts.Node()
		if len(names) == 0 {
			at = w.place(int(node.Raw.Offset))
		}
		names = append(names, string(node.Data))
	}
	name := strings.Join(names, ".")
	at.cell = issue.Cell{File: w.file, Row: at.line, Heading: name}
	return name, at
}

func (w *tomlWalk) place(offset int) spot {
	before := w.data[:min(offset, len(w.data))]
	return spot{
		line:   1 + bytes.Count(before, []byte("\n")),
		column: offset - bytes.LastIndexByte(before, '\n'),
	}
}

func (w *tomlWalk) keyValue(t *AboutPart, node *unstable.Node) {
	name, at := w.key(node.Key())
	if t.Name != "" {
		at.cell.Heading = t.Name + "." + name
	}
	value := node.Value()
	e := &AboutEntry{Key: name, Text: string(value.Data), Cell: at.cell, kind: value.Kind, line: at.line, column: at.column}
	e.Bare = value.Kind == unstable.Integer || value.Kind == unstable.Float
	if value.Kind == unstable.Array {
		for items := value.Children(); items.Next(); {
			item := items.Node()
			if item.Kind != unstable.Comment {
				e.items = append(e.items, string(item.Data))
			}
		}
		e.Text = strings.Join(e.items, ", ")
	}
	e.From, e.To = w.valueOf(node)
	t.Entries, t.End = append(t.Entries, e), w.afterLine(e.To)
}

// valueOf is where the value of an entry is written.
func (w *tomlWalk) valueOf(entry *unstable.Node) (from, to int) {
	from = endOfKey(entry)
	from += bytes.IndexByte(w.data[from:], '=') + 1
	from += len(w.data[from:]) - len(bytes.TrimLeft(w.data[from:], " \t"))
	return from, int(entry.Raw.Offset + entry.Raw.Length)
}

// endOfKey is the byte after the key of an entry or the name of a table.
func endOfKey(node *unstable.Node) (end int) {
	for parts := node.Key(); parts.Next(); {
		raw := parts.Node().Raw
		end = int(raw.Offset + raw.Length)
	}
	return end
}

// afterLine is the first byte of the line after the one that a byte is in.
func (w *tomlWalk) afterLine(at int) int {
	if n := bytes.IndexByte(w.data[at:], '\n'); n >= 0 {
		return at + n + 1
	}
	return len(w.data)
}
