package validate

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"runsheet.example/validate/doc"
)

// stream cuts input that can be read only once: as lines if the first one is a
// whole JSON value and more follows. what is its name in an error.
func (s *source) stream(in io.Reader, name, what string) error {
	one := part{name: name, isNew: true}
	reader := bufio.NewReaderSize(in, partSize)
	first, err := readLine(nil, reader, s.opts.most(doc.DefaultMaxBytes))
	if err != nil && !errors.Is(err, io.EOF) {
		return fmt.Errorf("reading %s: %w", what, err)
	}
	if err == nil && isWhole(first) {
		if blank, more := moreFollows(reader); more {
			one.kind, one.line, one.data = ofLines, 1, first
			one.room = roomFor(int64(len(first)))
			if err := s.fill(one); err != nil {
				return err
			}
			one.isNew, one.data = false, nil
			return s.lines(reader, one, 2+blank)
		}
	}
	if one.data, err = s.all(first, reader); err != nil {
		return fmt.Errorf("reading %s: %w", what, err)
	}
	one.kind, one.room = ofDocument, roomFor(int64(len(one.data)))
	return s.fill(one)
}

// isWhole reports whether a line is a complete JSON value. It allocates
// nothing, however long the line is.
func isWhole(line []byte) bool {
	return json.Valid(bytes.TrimPrefix(line, []byte("\ufeff")))
}

// moreFollows skips white space, counts its lines and reports whether anything
// follows.
func moreFollows(reader *bufio.Reader) (blank int, more bool) {
	for {
		c, err := reader.ReadByte()
		switch {
		case err != nil:
			return blank, false
		case c == '\n':
			blank++
		case c != ' ' && c != '\t' && c != '\r':
			return blank, reader.UnreadByte() == nil
		}
	}
}

// all reads the rest, up to one byte beyond the document limit, so that the
// parser reports the excess.
func (s *source) all(first []byte, reader io.Reader) ([]byte, error) {
	room := s.opts.most(doc.DefaultMaxBytes) + 1 - len(first)
	rest, err := io.ReadAll(io.LimitReader(reader, int64(room)))
	return append(first, rest...), err
}

// maxLine is the limit of an NDJSON line if Options sets none.
const maxLine = 64 << 20
