package validate

import (
	"bufio"
	"errors"
	"io"
)

// lineReader cuts NDJSON into parts of whole lines. The cuts depend on the
// bytes alone, not on the sizes of reads.
type lineReader struct {
	in    *bufio.Reader
	limit int // of one line in bytes
	line  int // number of the next line
}

// next appends the next lines to room and returns them with the number of the
// first. At the end it returns no bytes.
func (l *lineReader) next(room []byte) (data []byte, first int, err error) {
	data, first = room, l.line
	for len(data) < partSize && l.line < first+partLines && err == nil {
		if data, err = readLine(data, l.in, l.limit); err == nil {
			l.line++
		}
	}
	if errors.Is(err, io.EOF) {
		err = nil
	}
	return data, first, err
}

// readLine appends one line with its end. It skips what is beyond the limit
// but for one byte, so that the parser reports the excess. An error is that of
// reading; io.EOF comes with the last line, which needs no end.
func readLine(data []byte, reader *bufio.Reader, limit int) ([]byte, error) {
	for left := limit + 1; ; {
		part, err := reader.ReadSlice('\n')
		data = append(data, part[:min(len(part), left)]...)
		left -= min(len(part), left)
		if err == nil && data[len(data)-1] != '\n' {
			data = append(data, '\n')
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return data, err
		}
	}
}
