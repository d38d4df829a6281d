package session

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"runsheet.example/validate/issue"
)

var (
	bomUTF8    = []byte("\xEF\xBB\xBF")
	bomUTF16LE = []byte("\xFF\xFE")
	bomUTF16BE = []byte("\xFE\xFF")
)

// foreignStarts are the first bytes of files that are no text, with what they
// are in words.
var foreignStarts = []struct{ start, what string }{
	{"PK\x03\x04", "a workbook or zip file"},
	{"PK\x05\x06", "an empty zip file"},
	{"\xD0\xCF\x11\xE0", "a workbook or document in an old format"},
	{"%PDF", "a PDF document"},
	{"{\\rtf", "a word processor document"},
	{"\x1F\x8B", "a compressed file"},
	{"\x89PNG", "a picture"},
	{"\xFF\xD8\xFF", "a picture"},
	{"<?xml", "an XML document"},
	{"<!DOCTYPE", "a web page"},
	{"<html", "a web page"},
}

// decoded is a file's text as UTF-8 without byte order mark.
type decoded struct {
	text     []byte
	encoding string
}

// decode turns a file's bytes into text. The byte order mark decides; without
// one, text that is valid UTF-8 is UTF-8 and anything else is Windows-1252,
// with a finding. ok is false when the file is no text at all; the finding
// then says why.
func decode(name string, data []byte, findings *collector) (d decoded, ok bool) {
	at := spot{cell: issue.Cell{File: name}}
	for _, foreign := range foreignStarts {
		if bytes.HasPrefix(data, []byte(foreign.start)) {
			findings.add(at.finding("log-not-csv", "the file is {}, not a text file of rows and columns", issue.T(foreign.what)), nil)
			return decoded{}, false
		}
	}
	switch {
	case bytes.HasPrefix(data, bomUTF8):
		d = decoded{data[len(bomUTF8):], "utf-8"}
	case bytes.HasPrefix(data, bomUTF16LE):
		d = decoded{transcode(unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM), data), "utf-16le"}
	case bytes.HasPrefix(data, bomUTF16BE):
		d = decoded{transcode(unicode.UTF16(unicode.BigEndian, unicode.ExpectBOM), data), "utf-16be"}
	case utf8.Valid(data):
		d = decoded{data, "utf-8"}
	case bytes.IndexByte(data, 0) < 0:
		d = decoded{transcode(charmap.Windows1252, data), "windows-1252"}
		findings.add(at.finding("log-encoding", "the file is not UTF-8 and was read as Windows-1252"), nil)
	default:
		d = decoded{data, ""}
	}
	if bytes.IndexByte(d.text, 0) >= 0 {
		findings.add(at.finding("log-not-csv", "the file has zero bytes in it and is no plain text file"), nil)
		return decoded{}, false
	}
	if !utf8.Valid(d.text) || bytes.ContainsRune(d.text, utf8.RuneError) || hasC1(d.text) {
		findings.add(at.finding("log-encoding-broken", "some letters of the file cannot be read"), nil)
		d.text = bytes.ToValidUTF8(d.text, []byte(string(utf8.RuneError)))
	}
	if bytes.IndexByte(d.text, '\n') < 0 {
		// A single carriage return was once a line end of its own.
		d.text = bytes.ReplaceAll(d.text, []byte("\r"), []byte("\n"))
	}
	return d, true
}

func transcode(e encoding.Encoding, data []byte) []byte {
	// The decoders of x/text replace what they cannot read by U+FFFD and
	// report no error for it; decode looks for it.
	text, err := e.NewDecoder().Bytes(data)
	if err != nil {
		return []byte(string(utf8.RuneError))
	}
	return text
}

// hasC1 reports control characters that the five unused bytes of Windows-1252
// turn into; no log has them on purpose.
func hasC1(text []byte) bool {
	for i := 0; i+1 < len(text); i++ {
		if text[i] == 0xC2 && text[i+1] >= 0x80 && text[i+1] <= 0x9F && text[i+1] != 0x85 {
			return true
		}
	}
	return false
}
