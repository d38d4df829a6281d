package cli

import (
	"io"
	"sync"
	"unicode/utf8"

	"runsheet.example/validate/issue"
)

// shown writes text for a person, a table or a pipeline. It escapes control
// characters and those that change the direction of writing: texts of a log or
// a server must not control a terminal (see [issue.Escape]). A write may end
// within a character or a line end, so such an end waits for the next write or
// for flush.
type shown struct {
	raw      io.Writer
	progress *progressLine // removed before anything is written
	mu       sync.Mutex    // an interrupted command may still be writing
	held     []byte
}

func (s *shown) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.progress.clear()
	text := append(s.held, p...)
	end := completeTo(text)
	s.held = append([]byte(nil), text[end:]...)
	if _, err := s.raw.Write(issue.Escape(text[:end])); err != nil {
		return 0, err
	}
	return len(p), nil
}

// flush writes the pending end.
func (s *shown) flush() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.progress.clear()
	_, _ = s.raw.Write(issue.Escape(s.held)) // the last output; there is nobody to report an error to
	s.held = nil
}

// completeTo is the length of a text without a carriage return or a part of a
// character at its end.
func completeTo(text []byte) int {
	end := len(text)
	if end > 0 && text[end-1] == '\r' {
		return end - 1
	}
	for back := 1; back < utf8.UTFMax && back <= end; back++ {
		if b := text[end-back]; utf8.RuneStart(b) {
			if !utf8.FullRune(text[end-back:]) {
				return end - back
			}
			break
		}
	}
	return end
}

// raw returns the underlying writer, for binary data and for writers that
// escape their own texts.
func raw(w io.Writer) io.Writer {
	if s, ok := w.(*shown); ok {
		s.flush()
		return s.raw
	}
	return w
}
