package session

import (
	"io"
)

// The limits of a log, over all its files and sheets. A log within them is
// checked in less than 300 MB; one beyond them is refused as a whole, since
// the rows after a limit may belong to any session.
//
// A filled cell takes about 180 bytes in memory, and a row as much as sixteen
// cells before it has any (measured with 29,000 readings). A year of nightly
// treatment with half-hourly readings is about 6,000 rows, so that a log of
// four years is read.
const (
	// MaxBytes is how large the files of a log may be together.
	MaxBytes = 16 << 20
	maxCells = 750_000
	rowCells = 16
)

// TooManyRows and TooManyBytes are the details of log-too-large.
const TooManyRows = "the log is larger than what is read at once, which is about 29,000 readings, so none of it was read"

// TooManyBytes is TooManyRows for a file that was not split into rows; it names
// MaxBytes.
const TooManyBytes = "the log is larger than 16 MiB, so none of it was read"

// Size counts what was read of a log. The zero Size is that of an empty log.
type Size struct{ bytes, cells int }

// Read reads a file of the log. ok is false when the log is too large with it.
func (s *Size) Read(file io.Reader) (data []byte, ok bool, err error) {
	left := MaxBytes - s.bytes
	data, err = io.ReadAll(io.LimitReader(file, int64(left)+1))
	s.bytes += len(data)
	return data, !s.Over(), err
}

// Over reports whether the log is too large.
func (s *Size) Over() bool { return s.bytes > MaxBytes || s.cells > maxCells }

// Row counts a row with so many cells. It reports false when the log is too
// large with it.
func (s *Size) Row(cells int) bool {
	s.cells += rowCells + cells
	return !s.Over()
}
