package month

import (
	"bytes"
	"encoding/json"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// wholeSize is the most bytes of a manifest that is read as one document. A larger
// one is read entry by entry, in a fraction of the memory.
const wholeSize = 1 << 20

// mark is a place in the file that another is counted from.
type mark struct{ lines, columns int }

// move counts a finding in a piece of the file from the beginning of the file.
func (m mark) move(f *issue.Finding) {
	if f.Line == 1 {
		f.Column += m.columns
	}
	if f.Line > 0 {
		f.Line += m.lines
	}
}

// stretch is a part of the bytes.
type stretch struct{ from, to int }

// apart takes a manifest apart: the entries of its list of files, and the rest, in
// which white space stands for them, so that all else keeps its place. ok is
// false where the bytes have not this form; then reading them as a whole says
// why.
func apart(data []byte) (rest []byte, entries []stretch, ok bool) {
	decoder := json.NewDecoder(bytes.NewReader(data))
	if t, err := decoder.Token(); err != nil || t != json.Delim('{') {
		return nil, nil, false
	}
	var list stretch
	var raw json.RawMessage
	for decoder.More() {
		key, err := decoder.Token()
		if err != nil || key == "bundles" && list.to > 0 {
			return nil, nil, false
		}
		if key != "bundles" {
			if decoder.Decode(&raw) != nil {
				return nil, nil, false
			}
			continue
		}
		if list, entries, ok = takeList(decoder); !ok {
			return nil, nil, false
		}
	}
	if list.to == 0 {
		return nil, nil, false
	}
	return without(data, list), entries, true
}

// takeList reads a list up to its end.
func takeList(decoder *json.Decoder) (list stretch, entries []stretch, ok bool) {
	if t, err := decoder.Token(); err != nil || t != json.Delim('[') {
		return list, nil, false
	}
	list.from = int(decoder.InputOffset())
	var raw json.RawMessage
	for decoder.More() {
		if decoder.Decode(&raw) != nil {
			return list, nil, false
		}
		end := int(decoder.InputOffset())
		entries = append(entries, stretch{end - len(raw), end})
	}
	if _, err := decoder.Token(); err != nil {
		return list, nil, false
	}
	list.to = int(decoder.InputOffset()) - len("]")
	return list, entries, true
}

// without is the data with only the line ends of a stretch, and with spaces for
// what stands in its last line.
func without(data []byte, s stretch) []byte {
	inner := data[s.from:s.to]
	last := bytes.LastIndexByte(inner, '\n') + 1
	rest := append([]byte(nil), data[:s.from]...)
	rest = append(rest, bytes.Repeat([]byte{'\n'}, bytes.Count(inner, []byte{'\n'}))...)
	rest = append(rest, bytes.Repeat([]byte{' '}, len(inner)-last)...)
	return append(rest, data[s.to:]...)
}

// entries reads the entries of the list of files, one after the other.
func (r *manifestReader) entries(data []byte, entries []stretch) {
	var d doc.Doc
	r.d = &d
	lines, start, counted := 0, 0, 0
	for _, e := range entries {
		since := data[counted:e.from]
		if last := bytes.LastIndexByte(since, '\n'); last >= 0 {
			lines += bytes.Count(since, []byte{'\n'})
			start = counted + last + 1
		}
		counted = e.from
		r.base = mark{lines, e.from - start}
		for _, f := range d.Parse(data[e.from:e.to], r.m.File) {
			f.Expression = ""
			r.base.move(&f)
			r.findings = append(r.findings, f)
		}
		r.bundle(d.Root())
	}
}
