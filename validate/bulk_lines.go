package validate

import (
	"bytes"
	"errors"
	"io"
)

// lineReader cuts NDJSON into parts of whole lines. The cuts depend on the
// bytes alone, not on the sizes of reads.
type lineReader struct {
	in    io.Reader
	limit int    // of one line in bytes
	rest  []byte // read, but not yet in a part
	ended bool
	line  int // number of the next line
}

// next appends the next lines to room and returns them with the number of the
// first. It truncates a line at one byte beyond the limit, so that the parser
// reports the excess. At the end it returns no bytes.
func (l *lineReader) next(room []byte) (data []byte, first int, err error) {
	data, first = append(room, l.rest...), l.line
	l.rest = l.rest[:0]
	if data, err = l.fill(data, partSize); err != nil {
		return nil, first, err
	}
	isLast := len(data) < partSize
	end, lines := wholeLines(data)
	for checked := 0; end == 0 && !l.ended && len(data) <= l.limit; {
		checked = len(data)
		if data, err = l.fill(data, checked+partSize); err != nil {
			return nil, first, err
		}
		if at := bytes.IndexByte(data[checked:], '\n'); at >= 0 {
			end, lines = checked+at+1, 1
		}
	}
	if end == 0 && !l.ended {
		l.line++
		data, err = l.skip(data[:l.limit+1])
		return data, first, err
	}
	if end == 0 || isLast && lines < partLines {
		end = len(data) // the last line needs no line end
	}
	l.rest = append(l.rest, data[end:]...)
	l.line += lines
	return data[:end], first, nil
}

// fill reads until it has that many bytes or reaches the end.
func (l *lineReader) fill(data []byte, size int) ([]byte, error) {
	for len(data) < size && !l.ended {
		if cap(data) < size {
			data = append(make([]byte, 0, max(size, 2*cap(data))), data...)
		}
		n, err := l.in.Read(data[len(data):size])
		data = data[:len(data)+n]
		if errors.Is(err, io.EOF) {
			l.ended = true
		} else if err != nil {
			return nil, err
		}
	}
	return data, nil
}

// skip discards the rest of a line that is too long; data is the part that is
// kept.
func (l *lineReader) skip(data []byte) ([]byte, error) {
	room := make([]byte, partSize)
	for !l.ended {
		read, err := l.fill(room[:0], partSize)
		if err != nil {
			return nil, err
		}
		if at := bytes.IndexByte(read, '\n'); at >= 0 {
			l.rest = append(l.rest, read[at+1:]...)
			break
		}
	}
	return data, nil
}

// wholeLines returns the end of the last whole line of a part, and the number
// of lines up to there.
func wholeLines(data []byte) (end, lines int) {
	for lines < partLines {
		at := bytes.IndexByte(data[end:], '\n')
		if at < 0 {
			break
		}
		end += at + 1
		lines++
	}
	return end, lines
}
